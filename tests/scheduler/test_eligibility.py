"""Which card the teaching rules put first: a miss that returns, others in between, the longest gap."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler import CardSpec, Grade, Planner, Review, TeachingRules
from scheduler.memory.played import Played
from scheduler.memory.states import is_firm
from scheduler.planning.eligibility import Asking, apart_from, choices_now
from scheduler.planning.session_so_far import SessionSoFar

START = datetime(2026, 1, 5, 18, 0, tzinfo=UTC)
START_DAYS = START.timestamp() / 86400.0


def played(card, *, first=True, missed=False, new=()):
    """One review of a session, as the rules see it."""
    return Played(f"id-{card}", card, 0.0, "s", first, missed, first and not missed, tuple(new))


def test_a_repeat_at_once_is_not_asked_again():
    """A card repeated straight away counts once among those asked; asked again later it counts twice."""
    reviews = [played("a", missed=True), played("a", first=False), played("b"), played("a")]
    assert SessionSoFar(tuple(reviews)).asked() == ["a", "b", "a"]


# ---- a card looked up returns


@pytest.mark.parametrize("others", range(6))
def test_a_miss_waits_for_three_other_cards(others):
    """A card looked up comes back when three others have followed it, not two; a repeat at once counts for nothing."""
    missed = [played("m", missed=True), played("m", first=False)]
    session = SessionSoFar((*missed, *(played(f"c{n}") for n in range(others))))
    assert session.returning(3) == (["m"] if others >= 3 else [])


def test_others_are_counted_once_each():
    """Two cards asked in turn are two others, however often they are asked."""
    session = SessionSoFar((played("m", missed=True), *(played(card) for card in "abababab")))
    assert session.returning(3) == []
    assert session.returning(2) == ["m"]


def test_a_lesson_returns_like_a_miss_and_a_first_try_ends_the_wait():
    """What was shown in a lesson comes back for its first try; answered without looking up, a card waits no longer."""
    lesson = played("n", first=False, new=("form:x",))
    others = [played(card) for card in "abc"]
    assert SessionSoFar((lesson, *others)).returning(3) == ["n"]
    assert SessionSoFar((lesson, *others, played("n"), *others)).returning(3) == []
    assert SessionSoFar((lesson, *others, played("n", missed=True), *others)).returning(3) == ["n"]


@given(
    st.lists(st.tuples(st.sampled_from("abcdef"), st.sampled_from(["clean", "missed", "repeat", "lesson"]))),
    st.integers(1, 5),
)
def test_what_returns_is_found_by_looking_back(history, after):
    """The cards whose last telling review was a miss or a lesson, and that enough different cards have followed."""
    reviews = [
        played(card, first=how in ("clean", "missed"), missed=how == "missed", new=("x",) if how == "lesson" else ())
        for card, how in history
    ]
    waiting = []
    for card in set("abcdef"):
        telling = [n for n, (other, how) in enumerate(history) if other == card and how != "repeat"]
        if telling and history[telling[-1]][1] != "clean":
            last = max(n for n, (other, _) in enumerate(history) if other == card)
            if len({other for other, _ in history[last + 1 :]}) >= after:
                waiting.append((telling[-1], card))
    assert SessionSoFar(tuple(reviews)).returning(after) == [card for _, card in sorted(waiting)]


# ---- others between


@given(st.integers(1, 8), st.lists(st.integers(0, 7), max_size=10))
def test_three_others_come_between_as_far_as_the_deck_allows(count, order):
    """A card is not asked again before three others; a deck of three cards or fewer has all the others between."""
    cards = [CardSpec(f"c{n}", ()) for n in range(count)]
    asked = [f"c{n}" for n in order if n < count]
    left = [card.id for card in apart_from(cards, asked, {card.id: card for card in cards}, 1)]
    between = min(3, count - 1)
    just = set(asked[-between:]) if between else set()
    assert left == [card.id for card in cards if card.id not in just]


def test_tags_are_relaxed_before_a_card_is_asked_at_once():
    """Where every other card shares the tag of the last, one of them is asked and not the same card again."""
    cards = [CardSpec(name, (), apart=("verb",)) for name in "ab"]
    by_id = {card.id: card for card in cards}
    assert [card.id for card in apart_from(cards, ["a"], by_id, 1)] == ["b"]


# ---- the longest gap

RULES = TeachingRules(longest_gap_kinds=("pattern",))


def practised(rules=RULES):
    """A planner whose skills of cards a and b are firm, and whose card c was looked up each time.

    Last practised: a on day 28, b 0.4 days and c 3 days before it, d on day 60. Card d has a skill of another kind.
    """
    cards = [
        CardSpec("a", ("pattern:a",)), CardSpec("b", ("pattern:b",)), CardSpec("c", ("pattern:c",)),
        CardSpec("d", ("other:d",)),
    ]  # fmt: skip
    days = {"a": [0, 1, 3, 7, 14, 28], "b": [-0.4, 0.6, 2.6, 6.6, 13.6, 27.6], "c": [0.1, 25], "d": [0.2, 1.2, 3.2, 60]}
    reviews = [
        Review(card, Grade.LOOKED if card == "c" else Grade.CLEAN, START + timedelta(days=day), 4.0,
               skills=(f"{'other' if card == 'd' else 'pattern'}:{card}",))
        for card, when in days.items() for day in when
    ]  # fmt: skip
    return Planner(cards, history=sorted(reviews, key=lambda one: one.at), rules=rules)


def put_first(day, rules=RULES, asked=()):
    """The ids the rules leave on a day after `START`, and the rule that put them first."""
    planner = practised(rules)
    sitting = SessionSoFar(tuple(played(card) for card in asked))
    now = Asking(START_DAYS + day, 0.0, sitting, planner.memory, {}, {})
    choices, rule = choices_now(planner.cards, {card.id: card for card in planner.cards}, rules, now)
    return [card.id for card in choices], rule


def test_the_players_skills_are_what_the_next_tests_take_them_for():
    """The skills of a and b are firm, that of c is not."""
    memory = practised().memory
    assert [is_firm(memory, f"pattern:{card}") for card in "abc"] == [True, True, False]


@pytest.mark.parametrize(("limit", "waited"), [(None, 36.0), (45.0, 36.0), (10.0, 8.0), (100.0, 80.0)])
def test_a_firm_skill_comes_first_after_four_fifths_of_the_longest_gap(limit, waited):
    """45 days unless told otherwise are the longest gap: past 36 without practice a firm skill comes first, not before.

    The figures are common practice. Card b, last played on day 27.6, waits longest.
    """
    rules = RULES if limit is None else TeachingRules(longest_gap_kinds=("pattern",), longest_gap_days=limit)
    assert put_first(27.6 + waited - 0.01, rules) == (["a", "b", "c", "d"], None)
    assert put_first(27.6 + waited + 0.01, rules) == (["b"], "gap")


def test_only_kinds_named_and_firm_skills_have_a_longest_gap():
    """A skill of another kind waits as long as it may, and so does one that is not firm."""
    assert put_first(500.0, TeachingRules())[1] is None
    assert put_first(500.0, TeachingRules(longest_gap_kinds=("other",))) == (["d"], "gap")
    # Card c has waited three days longer than a, but its skill is not firm.
    assert put_first(100.0)[0] == ["a", "b"]


def test_the_gap_puts_every_second_card_first():
    """Gain chooses the other half of a session."""
    ruled = [put_first(100.0, asked=["d", "c", "d", "c"][:count])[1] for count in range(5)]
    assert ruled == ["gap", "gap", None, "gap", None]


def test_cards_whose_gaps_differ_by_half_a_day_are_equally_due():
    """The gap of b is 0.4 days longer than a's, so both may be chosen; 0.6 days would leave b alone."""
    planner = practised()
    # This leaves a 0.6 days after b.
    planner.record(Review("a", Grade.CLEAN, START + timedelta(days=28.2), 4.0, skills=("pattern:a",)))
    now = Asking(START_DAYS + 100.0, 0.0, SessionSoFar(), planner.memory, {}, {})
    choices, rule = choices_now(planner.cards, {card.id: card for card in planner.cards}, RULES, now)
    assert ([card.id for card in choices], rule) == (["b"], "gap")
    assert put_first(100.0)[0] == ["a", "b"]
