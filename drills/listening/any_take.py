"""A take of any kind: notes one after another, or struck together as a grip, or as two grips in a row."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drills.listening.change_ears import ChangeEars, change_over, change_verdict
from drills.listening.ears import Ears
from drills.listening.grip_ears import GRIP_VERSION, GripEars, grip_verdict
from drills.listening.verdict import judge, over

if TYPE_CHECKING:
    from drills.listening.engine import Engine
    from drills.listening.heard import Target, Verdict

__all__ = ["AnyEars", "change_s", "source_of", "start_ears", "take_over", "take_verdict"]

AnyEars = Ears | GripEars | ChangeEars


def start_ears(rate: int, *, grip: bool, change: bool = False, engine: Engine | None = None) -> AnyEars:
    """Ears that have heard nothing.

    rate: samples a second. grip: whether notes struck together are waited for; change: two of these in a row.
    """
    if not grip:
        return Ears.start(rate, engine)
    return ChangeEars.start(rate) if change else GripEars.start(rate)


def take_over(ears: AnyEars, target: Target) -> bool:
    """Whether a take can be judged: see `drills.listening.verdict.over`; a grip once it has rung half a second."""
    if isinstance(ears, ChangeEars):
        return change_over(ears, target)
    return ears.complete if isinstance(ears, GripEars) else over(ears, target)


def take_verdict(ears: AnyEars, target: Target) -> Verdict:
    """The verdict on a take against what was asked."""
    if isinstance(ears, ChangeEars):
        return change_verdict(ears, target)
    return grip_verdict(ears, target.pitches) if isinstance(ears, GripEars) else judge(ears, target)


def change_s(verdict: Verdict, target: Target) -> float | None:
    """Seconds from the last note of the first shape to the first one of the second, of grips from stroke to stroke.

    None where the target is one shape, or one of the two notes did not sound.
    """
    if target.onward_at is None:
        return None
    before, after = verdict.notes[target.onward_at - 1].at_s, verdict.notes[target.onward_at].at_s
    return None if before is None or after is None else after - before


def source_of(ears: AnyEars) -> tuple[str, int]:
    """What heard a take, and its version."""
    return (ears.engine.name, ears.engine.version) if isinstance(ears, Ears) else ("grip", GRIP_VERSION)
