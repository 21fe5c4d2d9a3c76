"""Why nothing should be claimed of a take, for the sound alone: too quiet, clipped, lost, out of tune."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drills.listening.level import QUIET_DB

if TYPE_CHECKING:
    from drills.listening.level import Level

__all__ = ["FURTHEST_OFF_CENTS", "doubts_of_sound", "doubts_of_tuning", "tuning_words"]

FURTHEST_OFF_CENTS = 40.0
"""A guitar further than this from A4 = 440 Hz lies too near the next semitone (chosen)."""
_CLIPPED_SHARE = 0.002
"""Share of the samples that may be cut off: a pluck or two at full scale does no harm (chosen)."""


def doubts_of_sound(level: Level, lost: int) -> tuple[str, ...]:
    """Sentences, the weightiest first. level: of the whole take. lost: how often sound was lost on the way."""
    found = []
    if level.gives_nothing:
        found.append("The microphone gives nothing: allow your terminal to use it.")
    elif level.peak_db < QUIET_DB:
        found.append("It is too quiet to judge: turn the input up or come nearer.")
    if level.clipped > _CLIPPED_SHARE * level.taken:
        found.append("The sound is clipped: turn the input down.")
    if lost:
        found.append("Some of the sound was lost on the way.")
    return tuple(found)


def doubts_of_tuning(cents: float | None) -> tuple[str, ...]:
    """A sentence where the guitar lies too far off. cents: above A4 = 440 Hz, None where that is not known."""
    if cents is None or abs(cents) <= FURTHEST_OFF_CENTS:
        return ()
    return (f"{tuning_words(cents)}: tune it first.",)


def tuning_words(cents: float) -> str:
    """Where the guitar lies, in whole cents and without a full stop. cents: above A4 = 440 Hz."""
    whole = round(cents)
    if not whole:
        return "The guitar lies at A = 440 Hz"
    unit, side = "cent" if abs(whole) == 1 else "cents", "above" if whole > 0 else "below"
    return f"The guitar lies {abs(whole)} {unit} {side} A = 440 Hz"
