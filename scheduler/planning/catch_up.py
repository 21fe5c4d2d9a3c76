"""The way back after an absence is counted in sessions until recall is what it was."""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from scheduler.days.practice_day import AWAY_DAYS
from scheduler.grade import Grade
from scheduler.memory.learner import days_of
from scheduler.planning.trial import Trial

if TYPE_CHECKING:
    from scheduler.planning.planner import Planner

__all__ = ["CatchUp", "catch_up", "days_between_sessions"]

_LOTS_A_SESSION = 1000
"""Lots are drawn by number. No session has this many cards, so two sessions never draw the same lots."""

_SESSIONS_READ = 8
"""How far apart a player practises is read off this many latest sessions: a week and a day of daily practice."""

_MOST_SESSIONS = 60
"""The estimate stops after this many sessions."""

_NEARLY = 0.03
"""Mean recall is as good as back when it is no farther than this below what it was: so much may belief itself err."""

_RANGE = 4
"""Recall was truly what it was no later than so many sessions after it was as good as back, give or take two.

Chosen on 17 simulated players, of whom 16 came within it. Of five others, played afterwards, four did.
"""

_ALL_BUT_WHOLE = 0.9
"""Where recall was above this, a hundredth of it decides when it is back, and no range is told."""

_NEW_SESSION_AFTER_DAYS = 0.5
"""Reviews further apart than this belong to different days of practice."""


class CatchUp(NamedTuple):
    """An estimate of the way back after an absence.

    sessions: ten-minute sessions until mean recall over met cards is what it
        was after the last session; 0 when it never left. recall_before,
        recall_now: that mean then and now. within: fewest and most sessions
        that can be told to the player; None where there is nothing to tell.
    """

    sessions: int
    recall_before: float
    recall_now: float
    within: tuple[int, int] | None = None


def catch_up(planner: Planner, at: datetime, minutes: float) -> CatchUp:
    """How many sessions until mean recall over met cards is what it was. Pure.

    Recall is compared cold, a day after a session: before the absence, and
    after each session of met cards. The sessions are played in the model, with
    the player as the memory believes them to be, as far apart as theirs were.
    The number itself comes true within two sessions for only half of all
    players, so that what is told is a range.
    """
    met = frozenset(card.id for card in planner.cards if not planner.unmet(card.id))
    played = planner.learner.played()
    if not met or not played:
        return CatchUp(0, 0.0, 0.0)
    asked = [card.id for card in planner.cards if card.id in met]

    def mean(of: Planner, when_days: float) -> float:
        return math.fsum(of.memory.recall(of.skills_of(card_id), when_days) for card_id in asked) / len(asked)

    before = mean(planner, min(played[-1].at_days + 1.0, days_of(at)))
    now = mean(planner, days_of(at))
    focus = planner.rules.focus
    trial = Trial(planner, met if focus is None else met & focus)
    apart = days_between_sessions(planner)
    sessions, when, reached = 0, at, now

    def grade_of(card_id: str, moment: datetime, number: int) -> Grade:
        lot = planner.lot(sessions * _LOTS_A_SESSION + number)
        return trial.planner.memory.grade_of(trial.planner.recall(card_id, moment), lot)

    if reached >= before - 1e-9:
        return CatchUp(0, before, now, (0, 0))
    nearly = 0
    while reached < before - 1e-9 and sessions < _MOST_SESSIONS:
        trial.planner.begin(f"trial {sessions}", when)
        trial.play(when, minutes, grade_of)
        sessions += 1
        reached = mean(trial.planner, days_of(when) + 1.0)
        when += timedelta(days=apart)
        if not nearly and reached >= before - _NEARLY:
            nearly = sessions
    if not nearly or before > _ALL_BUT_WHOLE:
        return CatchUp(sessions, before, now)
    return CatchUp(sessions, before, now, (nearly, nearly + _RANGE))


def days_between_sessions(planner: Planner) -> float:
    """Mean days from one of the latest sessions to the next, absences apart, and no less than the rules say."""
    usual = planner.rules.practice_every_days
    begun: list[float] = []
    for played in planner.learner.played():
        if not begun or played.at_days - begun[-1] > _NEW_SESSION_AFTER_DAYS:
            begun.append(played.at_days)
    gaps = [after - before for before, after in pairwise(begun[-_SESSIONS_READ:])]
    gaps = [gap for gap in gaps if gap < max(AWAY_DAYS, 2.0 * usual)]
    return usual if len(gaps) < 2 else max(usual, math.fsum(gaps) / len(gaps))
