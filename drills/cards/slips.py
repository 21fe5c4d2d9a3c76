"""What a player of the guitar may name as the cause of a miss, and which kind of skill each cause blames."""

from __future__ import annotations

from drills.errors import AnswerError

__all__ = ["BLAME", "SLIPS", "checked_slip"]

BLAME = {"root": "root", "shape": "form", "fingering": "form", "time": "card"}
"""Which kind of skill a slip blames. `Material.rules` hands it to the scheduler as `TeachingRules.blame`."""

SLIPS = tuple(BLAME)
"""The causes that can be named. The scheduler takes any word; these are the guitar's."""


def checked_slip(slip: str | None) -> str | None:
    """`slip` itself, when it is one of SLIPS or None; raises AnswerError otherwise."""
    if slip is not None and slip not in SLIPS:
        raise AnswerError(f"slip: expected one of {', '.join(SLIPS)}, got {slip!r:.80}")
    return slip
