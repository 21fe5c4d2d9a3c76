"""Days played through in the model: pure, bounded, and near what simulated players come to.

The players are those of `scheduler.evaluate`, from published equations (Pavlik and Anderson 2005; Lindsey
et al. 2014) that neither planner nor memory can see.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from unittest import mock

import numpy as np
import pytest

import scheduler.planning.rehearsal as rehearsal
from scheduler.card import CardSpec
from scheduler.errors import CardError
from scheduler.evaluate.simulate import Case, play
from scheduler.evaluate.simulated_deck import material
from scheduler.grade import Grade
from scheduler.memory.constants import Constants
from scheduler.planning.gain import Gains
from scheduler.planning.planner import Planner
from scheduler.planning.rehearsal import rehearse
from scheduler.planning.rules import TeachingRules
from scheduler.planning.trial import Trial
from scheduler.review import Review

START = datetime(2024, 1, 1, 18, 0, tzinfo=UTC)
CARDS = material(2, 1, 12).cards
RULES = TeachingRules(in_stage_order=False, new_per_session={"form": 2, "root": 4})


def evenings(first, count):
    return [START + timedelta(days=first + day) for day in range(count)]


def practised(spent=15.0, constants=None, count=40):
    planner = Planner(CARDS, 0, (), RULES, constants)
    for number in range(count):
        card, at = CARDS[number % 8], START + timedelta(minutes=number)
        grade = Grade.LOOKED if number < 8 else Grade.CLEAN  # nothing known, then learned
        planner.record(Review(card.id, grade, at, 5.0, skills=card.skills, spent=spent, session="one", id=f"{number}"))
    return planner


def test_asking_changes_nothing_and_answers_alike():
    """The planner knows the same before and after, and the same question has the same answer."""
    planner = practised()
    before = planner.snapshot()
    first = rehearse(planner, evenings(1, 3), 8.5, START + timedelta(days=4))
    assert rehearse(planner, evenings(1, 3), 8.5, START + timedelta(days=4)) == first
    assert planner.snapshot() == before and planner.rules == RULES


def test_without_sessions_it_is_recall():
    """Where the committee is one member, every future is the planner's own recall."""
    one = Constants(first_half_lives_days=(1.2,), curves=(True,), sharings=(0.45,))
    planner, at = practised(constants=one), START + timedelta(days=5)
    found = rehearse(planner, [], 10.0, at)
    assert all(
        chance == pytest.approx(planner.recall(card, at), abs=1e-9)
        for card, chances in found.chances.items()
        for chance in chances
    )
    assert found.expected == pytest.approx(sum(planner.recall(card.id, at) for card in CARDS))


def test_sessions_help_and_the_range_holds_the_expectation():
    """A week of practice leaves more than none; nothing leaves the bounds."""
    planner, at = practised(), START + timedelta(days=8)
    none, week = rehearse(planner, [], 8.5, at), rehearse(planner, evenings(1, 7), 8.5, at)
    assert week.expected > none.expected + 2 and (none.sessions, week.sessions) == (0, 7)
    for found in (none, week):
        assert 0 <= found.low <= found.expected <= found.high <= len(CARDS)
        assert all(0 <= chance <= 1 for chances in found.chances.values() for chance in chances)


def test_what_rests_or_is_out_of_focus_is_not_practised():
    """Rules hold in the rehearsal as in a session: the card not asked stays at what it was."""
    planner, at = Planner(CARDS, 0, (), RULES), START + timedelta(days=6)
    kept = frozenset(card.id for card in CARDS if card.id.endswith("q0/s0"))
    planner.set_rules(replace(RULES, focus=kept))
    found = rehearse(planner, evenings(0, 6), 8.5, at)
    inside = [found.chance(card) for card in kept]
    outside = [found.chance(card.id) for card in CARDS if card.id not in kept]
    assert min(inside) > max(outside)


def test_a_player_in_a_hurry_does_not_play_for_ever():
    """Someone who pressed keys once a second is taken to need eight for a card: 10 minutes hold 75."""
    planner = practised(spent=1.0)
    seen = []
    record = Planner.record
    patched = pytest.MonkeyPatch()
    patched.setattr(Planner, "record", lambda self, review: (seen.append(review), record(self, review))[1])
    try:
        rehearse(planner, evenings(1, 1), 10.0, START + timedelta(days=2), futures=1)
    finally:
        patched.undo()
    assert 60 <= len(seen) <= 75


def test_gains_now_and_then_are_nearly_gains_each_time(monkeypatch):
    """Working gains out after every eighth card costs little of what exact planning would come to."""
    planner, at = practised(), START + timedelta(days=7)
    seldom = rehearse(planner, evenings(1, 4), 8.5, at)
    monkeypatch.setattr(rehearsal, "CARDS_BETWEEN", 1)
    exact = rehearse(planner, evenings(1, 4), 8.5, at)
    assert seldom.expected == pytest.approx(exact.expected, rel=0.15)


@pytest.mark.parametrize("every", [1, 3, 8])
def test_gains_are_worked_out_after_every_so_many_cards(every):
    """Once for each so many cards that are played, and for each card where the number is one."""
    trial = Trial(practised(), None, every)
    trial.begin("one", at := START + timedelta(days=1))
    with mock.patch.object(Gains, "per_card", autospec=True, side_effect=Gains.per_card) as worked_out:
        played = trial.play(at, 6.0, lambda *_: Grade.CLEAN)
    assert len(played) >= 20
    assert worked_out.call_count == math.ceil(len(played) / every)


def test_a_planner_that_weighs_seldom_is_asked_without_trace():
    """However often it is asked, it answers alike until a card is played; what is taken back counts at once."""
    planner, at = practised(), START + timedelta(days=1)
    planner.weigh_after(8)
    first = planner.next(at)
    assert [planner.next(at) for _ in range(20)] == [first] * 20
    worth = planner.worths(at)[0][planner.row(first)].copy()
    planner.record(Review(first, Grade.CLEAN, at, 5.0, session="two", id="back"))
    assert not planner.worths(at)[0][planner.row(first)].any()
    kept, other = planner.worths(at)[0].copy(), planner.copy().copy()
    assert not np.array_equal(other.worths(at)[0], kept)  # a copy weighs by what is known now
    other.record(Review(other.next(at), Grade.CLEAN, at, 5.0, session="two", id="elsewhere"))
    assert np.array_equal(planner.worths(at)[0], kept)
    planner.undo("back")
    assert planner.worths(at)[0][planner.row(first)] == pytest.approx(worth)
    planner.record(Review("of another deck", Grade.CLEAN, at, 5.0, session="two", id="other"))


def forecast_and_truth(family, sharing, seed=300):
    """Six days of six minutes, then a forecast for six days on, and how many cards the player then truly had."""
    deck = material(2, 1, 12)
    rules = TeachingRules(blame={"shape": "form", "root": "root", "time": "card"}, in_stage_order=False)
    played = play(Case(family, sharing, seed, days=13, minutes=6.0), "planner", deck, keep_reviews=True, rules=rules)
    known = [review for review in played.reviews if review.at < START + timedelta(days=5.5)]
    planner = Planner(deck.cards, seed, known, rules)
    return rehearse(planner, evenings(6, 6), 6.0, START + timedelta(days=12)), played.curve[12] * deck.count


@pytest.mark.parametrize(
    ("family", "sharing", "players"), [("halving", 0.45, 1), ("halving", 0.9, 1), ("weakest link", 0.45, 5)]
)
def test_players_the_memory_knows_come_out_within_the_range(family, sharing, players):
    """Players who forget as some member of the committee does: the true number is in the range, or one beside it.

    The range holds 95 of 100 players; of five, two outside would have a chance of 2 in 100.
    """
    outside = 0
    for seed in range(300, 300 + players):
        found, true = forecast_and_truth(family, sharing, seed)
        outside += not found.low - 1 <= true <= found.high + 1
    assert outside <= players // 5


@pytest.mark.parametrize(("family", "sharing"), [("traces", 0.45), ("windows", 0.0), ("slow hands", 0.45)])
def test_players_the_memory_does_not_know_are_not_promised_too_much(family, sharing):
    """No member learns as they do, so the range may lie too low; it does not lie too high."""
    found, true = forecast_and_truth(family, sharing)
    assert true >= found.low


def test_an_unknown_card_is_refused():
    """Asking for a card that is not in the deck says so."""
    with pytest.raises(CardError):
        rehearse(Planner([CardSpec("a")]), [], 10.0, START, ["b"])
