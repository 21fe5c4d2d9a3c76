"""How long the days to a date take to be played through, beside planning every card of them exactly."""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta

import pytest

import scheduler.planning.rehearsal as rehearsal
from drills.cards.material import gather
from drills.neck.neck import Neck
from drills.tunes.tune_deck import tune_deck, tune_reader
from scheduler.planning.planner import Planner

START = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)


def seconds(planner: Planner, days: int) -> float:
    """Processor seconds of one forecast after so many sessions, the better of two."""
    sessions = [START + timedelta(days=day) for day in range(days)]
    best = float("inf")
    for _ in range(2):
        begun = time.process_time()
        rehearsal.rehearse(planner, sessions, 8.5, START + timedelta(days=days))
        best = min(best, time.process_time() - begun)
    return best


def test_days_to_come_cost_less_than_planning_each_card(capsys, monkeypatch: pytest.MonkeyPatch) -> None:
    """Fourteen sessions of the blues for three players; gains now and then save a third of exact planning at least."""
    material = gather(tune_deck("blues-in-f"), Neck(), tune_reader=tune_reader())
    planner = Planner(material.specs(), 0, (), material.rules())
    seconds(planner, 1)
    seldom = seconds(planner, 14)
    monkeypatch.setattr(rehearsal, "CARDS_BETWEEN", 1)
    exact = seconds(planner, 14)
    with capsys.disabled():
        print(f"\n14 sessions to come, {len(material.cards)} cards, CPU: {seldom:.2f} s; planned exactly {exact:.2f} s")
    assert seldom < 0.67 * exact
