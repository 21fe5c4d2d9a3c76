"""The planner's public contract, with a deck that is not about music."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler import CardSpec, Grade, Planner, Review, TeachingRules
from scheduler.errors import CardError, ReviewError
from scheduler.planning.catch_up import days_between_sessions

START = datetime(2026, 1, 5, 18, 0, tzinfo=UTC)
VERBS = ("sing", "ring", "drink", "keep", "sleep", "feel", "teach", "catch")
PATTERNS = {"sing": "i-a-u", "ring": "i-a-u", "drink": "i-a-u", "keep": "ee-e-e", "sleep": "ee-e-e", "feel": "ee-e-e",
            "teach": "aught", "catch": "aught"}  # fmt: skip
TENSES = ("past", "perfect", "future")


def deck() -> list[CardSpec]:
    return [
        CardSpec(
            f"{verb}/{tense}",
            (f"pattern:{PATTERNS[verb]}", f"tense:{tense}"),
            stage=TENSES.index(tense),
            seconds=10.0,
            apart=(verb,),
        )
        for tense in TENSES
        for verb in VERBS
    ]


RULES = TeachingRules(
    new_per_session={"pattern": 2, "tense": 1},
    blame={"shape": "pattern", "root": "tense", "time": "card"},
    return_weight=3.0,
    again_weight=3.0,
    longest_gap_kinds=("pattern",),
)


def play(planner, at, count, rng, session="s", miss=0.2):
    """Plays cards as the planner asks them; the reviews given."""
    given = []
    for _ in range(count):
        card = planner.next(at)
        if card is None:
            break
        grade = Grade.LOOKED if rng.random() < miss else Grade.CLEAN
        skills = next(c.skills for c in planner.cards if c.id == card)
        review = Review(card, grade, at, 4.0, skills=skills, spent=10.0, session=session)
        planner.record(review)
        given.append(review)
        at += timedelta(seconds=10)
    return given


def test_asking_changes_nothing():
    """`next`, `recall`, `plan`, `why`, `state` and `catch_up` are pure: asked twice they answer alike."""
    planner = Planner(deck(), seed=3, rules=RULES)
    play(planner, START, 12, random.Random(1))
    later = START + timedelta(days=1)
    before = planner.snapshot()
    for _ in range(2):
        card = planner.next(later)
        assert planner.next(later) == card
        assert planner.plan(later, 5) == planner.plan(later, 5)
        assert planner.plan(later, 5)[0] == card
        assert planner.why(card, later) == planner.why(card, later)
        assert 0.0 <= planner.recall(card, later) <= 1.0
        planner.catch_up(later, 10.0)
        planner.state("tense:past", later)
    assert planner.snapshot() == before


@settings(max_examples=40)
@given(seed=st.integers(0, 10**6), count=st.integers(1, 25))
def test_undo_is_exact_and_a_rebuild_is_the_same(seed, count):
    """Undone, a review might never have been; and the log alone gives the same memory to the last bit."""
    rng = random.Random(seed)
    planner = Planner(deck(), seed=1, rules=RULES)
    given_reviews = play(planner, START, count, rng)
    before = planner.snapshot()
    extra = play(planner, START + timedelta(hours=1), 1, rng)
    for review in extra:
        planner.undo(review.id)
    assert planner.snapshot() == before
    rebuilt = Planner(deck(), seed=1, history=given_reviews, rules=RULES)
    assert rebuilt.snapshot() == before
    assert rebuilt.next(START + timedelta(days=1)) == planner.next(START + timedelta(days=1))


def reviewed(count: int) -> list[Review]:
    """So many first tries, an hour apart, at the cards of the deck in turn."""
    return [
        Review(card.id, Grade(n * 7 % 11 % 4 + 1), START + timedelta(hours=n), 4.0, skills=card.skills, id=f"r{n}")
        for n, card in zip(range(count), itertools.cycle(deck()), strict=False)
    ]


@pytest.mark.parametrize("back", [1, 2, 63, 64, 65, 129, 256, 257])
def test_each_of_the_last_reviews_is_taken_back_without_the_history(back):
    """Of 600, at least as many as a session can have: taken back or amended, as if learned so from the start; a copy
    made before keeps what it had learned."""
    reviews = reviewed(600)
    planner = Planner(deck())
    for review in reviews:
        planner.record(review)
    copied, as_it_was = planner.copy(), planner.snapshot()
    better = replace(reviews[-back], grade=Grade.IN_TIME)
    planner.amend(better)
    copied.undo(reviews[-back].id)
    amended = [better if one.id == better.id else one for one in reviews]
    assert planner.snapshot() == Planner(deck(), history=amended).snapshot()
    assert copied.snapshot() == Planner(deck(), history=[one for one in reviews if one.id != better.id]).snapshot()
    planner.amend(reviews[-back])
    assert planner.snapshot() == as_it_was


def test_all_of_the_last_reviews_are_taken_back_one_after_another():
    """257 of 700, the last first: what is left is as if they had never been, the cards last played with it."""
    reviews = reviewed(700)
    planner = Planner(deck())
    for review in reviews:
        planner.record(review)
    for review in reversed(reviews[-257:]):
        planner.undo(review.id)
    assert planner.snapshot() == Planner(deck(), history=reviews[:-257]).snapshot()


@pytest.mark.parametrize("later", [250, 600])
def test_what_came_after_the_history_is_never_lost(later):
    """An old review taken back long after the history was given: exactly, or refused where reviews between the
    history and the last few hundred cannot be had again. Amended and then taken back it is gone as well."""
    reviews = reviewed(100 + later)
    planner = Planner(deck(), history=reviews[:100])
    for review in reviews[100:]:
        planner.record(review)
    as_it_was = planner.snapshot()
    if later > 500:
        for old in (reviews[3], reviews[150]):
            with pytest.raises(ReviewError, match=f"review '{old.id}': .*rebuild the planner from the log"):
                planner.undo(old.id)
        assert planner.snapshot() == as_it_was
        planner.history_from(lambda: reviews)
    planner.amend(replace(reviews[3], grade=Grade.IN_TIME))
    planner.undo("r3")
    assert planner.snapshot() == Planner(deck(), history=[*reviews[:3], *reviews[4:]]).snapshot()
    with pytest.raises(ReviewError, match="review 'r3'"):
        planner.amend(reviews[3])


def test_a_review_taken_back_stays_so_when_a_much_older_one_follows():
    """The last of 600 reviews taken back, one amended, then the fourth: as if learned so from the start."""
    reviews = [
        Review(card.id, Grade(n % 4 + 1), START + timedelta(hours=n), 4.0, skills=card.skills, id=f"r{n}")
        for n, card in zip(range(600), itertools.cycle(deck()), strict=False)
    ]
    planner = Planner(deck(), history=reviews)
    planner.undo("r599")
    planner.amend(replace(reviews[598], grade=Grade.LOOKED))
    planner.undo("r3")
    kept = [*reviews[:3], *reviews[4:598], replace(reviews[598], grade=Grade.LOOKED)]
    assert planner.snapshot() == Planner(deck(), history=kept).snapshot()


@settings(max_examples=30)
@given(seed=st.integers(0, 10**6))
def test_limits_order_and_what_is_kept_apart(seed):
    """At most so many new skills of a kind a session, earlier stages first, never one tag twice running."""
    rng = random.Random(seed)
    planner = Planner(deck(), seed=seed, rules=RULES)
    cards = {card.id: card for card in planner.cards}
    met: set[str] = set()
    for day in range(3):
        at = START + timedelta(days=day)
        planner.begin(f"day {day}", at)
        reviews = play(planner, at, 20, rng, session=f"day {day}")
        new = {skill for review in reviews for skill in review.skills} - met
        assert sum(skill.startswith("pattern:") for skill in new) <= 2
        assert sum(skill.startswith("tense:") for skill in new) <= 1
        met |= new
        asked = [review.card for review in reviews]
        if day == 0:
            assert cards[asked[0]].stage == 0
        for one, two in zip(asked, asked[1:], strict=False):
            assert not set(cards[one].apart) & set(cards[two].apart)


def test_a_miss_returns_after_three_others_and_again_next_day():
    """The card looked up comes back in the session and on the next day."""
    planner = Planner(deck(), seed=2, rules=RULES)
    planner.begin("a", START)
    first = planner.next(START)
    planner.record(Review(first, Grade.LOOKED, START, 5.0, skills=planner.card(first).skills, session="a"))
    reviews = play(planner, START + timedelta(seconds=20), 12, random.Random(0), session="a", miss=0.0)
    asked = [review.card for review in reviews]
    assert asked.index(first) >= 3
    tomorrow = START + timedelta(days=1)
    planner.begin("b", tomorrow)
    assert first in [review.card for review in play(planner, tomorrow, 12, random.Random(0), session="b", miss=0.0)]


def test_rest_and_focus_are_never_relaxed():
    """A rested card is not asked whatever is left; a focus of rested cards asks nothing."""
    cards = deck()
    ids = [card.id for card in cards]
    rested = Planner(cards, rules=TeachingRules(rested=frozenset(ids[1:])))
    assert rested.next(START) == ids[0]
    assert Planner(cards, rules=TeachingRules(rested=frozenset(ids))).next(START) is None
    focused = Planner(cards, rules=TeachingRules(focus=frozenset(ids[:2]), rested=frozenset(ids[:1])))
    assert focused.next(START) == ids[1]


def test_practice_strengthens_what_cards_share():
    """A clean review of one verb raises the recall of another with the same pattern, and more than a stranger's."""
    planner = Planner(deck(), rules=TeachingRules())
    week = START + timedelta(days=2)
    before = {card.id: planner.recall(card.id, week) for card in planner.cards}
    play_card = "sing/past"
    for day in range(2):
        planner.record(
            Review(play_card, Grade.CLEAN, START + timedelta(days=day), 4.0, skills=("pattern:i-a-u", "tense:past"))
        )
    gain = {card: planner.recall(card, week) - before[card] for card in before}
    assert gain["sing/past"] > gain["ring/past"] > gain["keep/future"]


def test_wrong_use_is_refused_with_what_to_do():
    """Two cards with one id, a card without an id, an undo of nothing: each is named."""
    with pytest.raises(CardError, match="twice"):
        Planner([CardSpec("a"), CardSpec("a")])
    with pytest.raises(CardError, match="stable id"):
        CardSpec("")
    with pytest.raises(CardError, match="kind:name"):
        CardSpec("a", ("no colon",))
    with pytest.raises(ReviewError, match="rebuild"):
        Planner(deck()).undo("nothing")
    with pytest.raises(ReviewError, match="UTC offset"):
        Review("a", Grade.CLEAN, datetime(2026, 1, 1), 3.0)


def test_the_documented_example_runs():
    """The package's own example, about verbs, is run as written."""
    import doctest

    import scheduler

    ran = doctest.testmod(scheduler)
    assert ran.attempted >= 8
    assert ran.failed == 0


def test_reviews_of_other_decks_still_teach():
    """A review whose card is not in today's deck teaches the skills it names."""
    planner = Planner(deck())
    at = START + timedelta(days=1)
    before = planner.recall("keep/past", at)
    planner.record(Review("weep/past", Grade.CLEAN, START, 3.0, skills=("pattern:ee-e-e", "tense:past")))
    assert planner.recall("keep/past", at) > before


@pytest.mark.parametrize("every", [1, 2, 4])
def test_the_way_back_is_walked_as_far_apart_as_the_sessions_were(every):
    """After a month away: sessions as told, played one by one on the player's own days, bring recall back, no sooner.

    The player of the model is played as the estimate plays it; only the days between sessions are the test's own.
    """
    rng = random.Random(5)
    planner = Planner(deck(), 3, rules=RULES)
    for number in range(12):
        play(planner, START + timedelta(days=number * every), 12, rng, f"s{number}", miss=0.3)
    back = START + timedelta(days=11 * every + 30)
    told = planner.catch_up(back, 2.0)
    assert told.recall_now < told.recall_before
    met = [card for card in planner.cards if not planner.unmet(card.id)]
    planner.set_rules(replace(planner.rules, focus=frozenset(card.id for card in met)))
    sessions, at, cold, colds = 0, back, 0.0, []
    while cold < told.recall_before - 1e-9 and sessions < 60:
        planner.begin(f"back {sessions}", at)
        when = at
        for count in itertools.count():
            card = planner.next(when)
            if when >= at + timedelta(minutes=2) or card is None:
                break
            grade = planner.memory.grade_of(planner.recall(card, when), planner.lot(1000 * sessions + count))
            when += timedelta(seconds=planner.pace.seconds(10.0, float(grade.clean)))
            planner.record(Review(card, grade, when, 5.0, session=f"back {sessions}", id=f"{sessions} {count}"))
        sessions += 1
        cold = sum(planner.recall(card.id, at + timedelta(days=1)) for card in met) / len(met)
        colds.append(cold)
        at += timedelta(days=every)

    assert sessions == told.sessions
    nearly = next(number for number, one in enumerate(colds, 1) if one >= told.recall_before - 0.03)
    assert told.within == (None if told.recall_before > 0.9 else (nearly, nearly + 4))


def test_an_absence_is_no_habit():
    """Sixty days away some sessions ago leave the estimate that of a player who plays every day."""
    told = []
    for away in (0, 60):
        rng, planner = random.Random(5), Planner(deck(), 3, rules=RULES)
        for number in range(14):
            day = number + (away if number >= 10 else 0)
            play(planner, START + timedelta(days=day), 12, rng, f"s{number}", miss=0.3)
        told.append(days_between_sessions(planner))
    assert told == pytest.approx([1.0, 1.0], abs=0.01)
