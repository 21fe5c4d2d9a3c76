"""A take of either kind: notes one after another, or struck together as a grip."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drills.listening.ears import Ears
from drills.listening.grip_ears import GRIP_VERSION, GripEars, grip_verdict
from drills.listening.verdict import judge, over

if TYPE_CHECKING:
    from drills.listening.engine import Engine
    from drills.listening.heard import Target, Verdict

__all__ = ["AnyEars", "source_of", "start_ears", "take_over", "take_verdict"]

AnyEars = Ears | GripEars


def start_ears(rate: int, *, grip: bool, engine: Engine | None = None) -> AnyEars:
    """Ears that have heard nothing. grip: whether notes struck together are waited for. rate: samples a second."""
    return GripEars.start(rate) if grip else Ears.start(rate, engine)


def take_over(ears: AnyEars, target: Target) -> bool:
    """Whether a take can be judged: see `drills.listening.verdict.over`; a grip once it has rung half a second."""
    return ears.complete if isinstance(ears, GripEars) else over(ears, target)


def take_verdict(ears: AnyEars, target: Target) -> Verdict:
    """The verdict on a take against what was asked."""
    return grip_verdict(ears, target.pitches) if isinstance(ears, GripEars) else judge(ears, target)


def source_of(ears: AnyEars) -> tuple[str, int]:
    """What heard a take, and its version."""
    return ("grip", GRIP_VERSION) if isinstance(ears, GripEars) else (ears.engine.name, ears.engine.version)
