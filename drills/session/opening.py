"""The pages around the cards: plan, cautions and warm-up, musical minute, end."""

from __future__ import annotations

from dataclasses import replace

from drills.cards.card import Card
from drills.session.effects import Another, Click, Drone, Effect, Narrow, NextCard, SeenCaution
from drills.session.key_bindings import ON
from drills.session.session_state import DAILY, Phase, SessionState
from scheduler.grade import Grade

__all__ = ["done", "end", "music", "placed", "start", "warm_up", "weakest"]

FEWEST_PLACED = 5
"""Answers under which a placement says nothing (drills/RULES.md, F4)."""


def start(state: SessionState, key: str, now_s: float, _new_id: str) -> tuple[SessionState, list[Effect]]:
    """The plan in a line: taken with one key, or narrowed with one."""
    if key in ON:
        if state.warm_up_s or state.caution:
            return replace(state, phase=Phase.WARM_UP, started_s=now_s), []
        return replace(state, started_s=now_s), [NextCard()]
    if state.kind == DAILY:
        wanted = "reviews" if key == "v" else ""
        if key.isdecimal() and 1 <= int(key) <= len(state.sets):
            wanted = state.sets[int(key) - 1]
        if wanted:
            only = "" if wanted == state.only else wanted
            return replace(state, only=only), [Narrow(only)]
    return state, []


def warm_up(state: SessionState, key: str, now_s: float, _new_id: str) -> tuple[SessionState, list[Effect]]:
    """One easy shape, slowly; the first time the cautions stand over it, and reading them takes nothing of the time."""
    if key not in ON:
        return state, []
    if not state.caution:
        return state, [NextCard()]
    begun_s = max(state.started_s, now_s - state.warm_up_s)
    return replace(state, caution=False, started_s=begun_s), [SeenCaution(), NextCard()]


def music(state: SessionState, key: str, now_s: float, _new_id: str) -> tuple[SessionState, list[Effect]]:
    """Today's weakest card over its drone, or in a two-five-one."""
    card = weakest(state)
    if key == "s" and card is not None:
        return state, [Drone(card, max(5.0, state.limit_s - state.elapsed_s(now_s)))]
    if key == "k":
        return state, [Click(card)]
    return (replace(state, phase=Phase.END, card=None), []) if key in ON else (state, [])


def weakest(state: SessionState) -> Card | None:
    """Today's weakest card with a shape to play: the lowest grade, the latest of them; None when there is none."""
    played = [given for given in reversed(state.given) if given.card.is_shape]
    return min(played, key=lambda given: given.grade).card if played else None


def placed(state: SessionState) -> bool:
    """Whether a placement shows a player who need not be led in: surely more than half is clean.

    "Surely" is the lower end of Wilson's interval (1927) on the sample, 95 in 100.
    """
    from scheduler.statistics.counts import wilson

    clean = sum(given.grade >= Grade.CLEAN for given in state.given)
    return len(state.given) >= FEWEST_PLACED and wilson(clean, len(state.given))[0] > 0.5


def end(state: SessionState, key: str, now_s: float, _new_id: str) -> tuple[SessionState, list[Effect]]:
    """The summary; another ten once a day, where it is offered."""
    if key == "m" and state.offer:
        return replace(state, offer=False, started_s=now_s), [Another(), NextCard()]
    return (replace(state, phase=Phase.DONE), []) if key in ON else (state, [])


def done(state: SessionState, *_: object) -> tuple[SessionState, list[Effect]]:
    """Nothing more."""
    return state, []
