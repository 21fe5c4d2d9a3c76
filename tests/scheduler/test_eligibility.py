"""What the rules of a session look at: a miss that waits to return, others in between, the longest gap."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler import CardSpec, Grade, Planner, Review, TeachingRules
from scheduler.memory.played import Played
from scheduler.memory.states import lasts_a_week
from scheduler.planning.eligibility import apart_from
from scheduler.planning.preferences import GAP, Asking, DeckIndex, weigh
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
def test_a_miss_waits_and_counts_the_others(others):
    """A card looked up waits, and the others that followed are counted; a repeat at once counts for nothing."""
    missed = [played("m", missed=True), played("m", first=False)]
    session = SessionSoFar((*missed, *(played(f"c{n}") for n in range(others))))
    assert session.waiting() == {"m": others}


def test_others_are_counted_once_each():
    """Two cards asked in turn are two others, however often they are asked."""
    session = SessionSoFar((played("m", missed=True), *(played(card) for card in "abababab")))
    assert session.waiting() == {"m": 2}


def test_a_lesson_returns_like_a_miss_and_a_first_try_ends_the_wait():
    """What was shown in a lesson comes back for its first try; answered without looking up, a card waits no longer."""
    lesson = played("n", first=False, new=("form:x",))
    others = [played(card) for card in "abc"]
    assert SessionSoFar((lesson, *others)).waiting() == {"n": 3}
    assert SessionSoFar((lesson, *others)).shown() == {"n"}
    assert SessionSoFar((lesson, *others, played("n"), *others)).waiting() == {}
    again = SessionSoFar((lesson, *others, played("n", missed=True), *others))
    assert (again.waiting(), again.shown()) == ({"n": 3}, frozenset())


@given(
    st.lists(st.tuples(st.sampled_from("abcdef"), st.sampled_from(["clean", "missed", "repeat", "lesson"]))),
)
def test_what_waits_is_found_by_looking_back(history):
    """The cards whose last telling review was a miss or a lesson, with how many different cards have followed."""
    reviews = [
        played(card, first=how in ("clean", "missed"), missed=how == "missed", new=("x",) if how == "lesson" else ())
        for card, how in history
    ]
    waiting = []
    for card in set("abcdef"):
        telling = [n for n, (other, how) in enumerate(history) if other == card and how != "repeat"]
        if telling and history[telling[-1]][1] != "clean":
            last = max(n for n, (other, _) in enumerate(history) if other == card)
            waiting.append((telling[-1], card, len({other for other, _ in history[last + 1 :]})))
    assert list(SessionSoFar(tuple(reviews)).waiting().items()) == [(card, n) for _, card, n in sorted(waiting)]


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

RULES = TeachingRules(longest_gap_kinds=("pattern",), gap_weight=2.0)


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


def raised(day, rules=RULES):
    """The factor of the longest gap for each card on a day after `START`; 1 where it weighs nothing."""
    planner = practised(rules)
    now = Asking(START_DAYS + day, 0.0, SessionSoFar(), planner.memory, {}, {}, np.zeros(len(planner.cards)))
    factor = weigh(DeckIndex(planner.cards), np.arange(4), rules, now).get(GAP, np.ones(4))
    return dict(zip("abcd", factor.tolist(), strict=True))


def test_the_players_skills_are_what_the_next_tests_take_them_for():
    """The skills of a and b are firm, that of c is not."""
    memory = practised().memory
    assert [lasts_a_week(memory, f"pattern:{card}") for card in "abc"] == [True, True, False]


@pytest.mark.parametrize(("limit", "waited"), [(None, 36.0), (45.0, 36.0), (10.0, 8.0), (100.0, 80.0)])
def test_a_firm_skill_gains_more_after_four_fifths_of_the_longest_gap(limit, waited):
    """45 days unless told otherwise are the longest gap: past 36 without practice a firm skill gains more, not before.

    The figures are common practice. Card b, last played on day 27.6, waits longest.
    """
    days = 45.0 if limit is None else limit
    told = {} if limit is None else {"longest_gap_days": limit}
    rules = TeachingRules(longest_gap_kinds=("pattern",), gap_weight=2.0, **told)
    assert raised(27.6 + waited - 0.01, rules) == dict.fromkeys("abcd", 1.0)
    later = raised(27.6 + waited + 0.1, rules)
    assert later["b"] == pytest.approx(math.exp(2.0 * 0.1 / (days / 5)))
    assert [later[card] for card in "acd"] == [1.0, 1.0, 1.0]


def test_only_kinds_named_and_firm_skills_have_a_longest_gap():
    """A skill of another kind waits as long as it may, and so does one that is not firm."""
    assert set(raised(500.0, TeachingRules(gap_weight=2.0)).values()) == {1.0}
    other = raised(500.0, TeachingRules(longest_gap_kinds=("other",), gap_weight=2.0))
    assert other["d"] > 1.0 and other["a"] == other["b"] == other["c"] == 1.0
    # Card c has waited three days longer than a, but its skill is not firm.
    found = raised(100.0)
    assert found["b"] > found["a"] > 1.0 and found["c"] == found["d"] == 1.0
