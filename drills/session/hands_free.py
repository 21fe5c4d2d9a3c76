"""Hands free: the keys that a player who plays and waits would press, found from what is heard."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from drills.listening.any_take import take_over, take_verdict
from drills.listening.heard import Judged
from drills.session.heard_take import HeardTake, target_of
from drills.session.session_state import Phase, SessionState
from scheduler.grade import Grade

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drills.listening.any_take import AnyEars
    from drills.session.take_source import TakeSource
    from drills.shapes.shape import Shape

__all__ = ["ACCEPT_S", "OFF_AGAIN", "HandsFree"]

ACCEPT_S = 3.0
"""So long a proposal stands before silence accepts it, in seconds (chosen)."""

AFTER_SPEECH_S = 1.5
"""And at least so long after the tool has stopped sounding, in seconds (chosen)."""

NOODLING_S = 0.7
"""Playing that goes on into a prompt is no answer to it before so many seconds of silence (chosen)."""

PASSES = 2
"""Right passes after which a diagram that is played from goes (drills/RULES.md, B7: twice, slowly)."""

OVERRULES = 2
"""So many grades in a row other than the proposed one, and hands free is off."""

OFF_AGAIN = "Hands free is off: two proposals in a row were not yours. Keys as ever."
"""Said when it turns itself off."""

_KEYS = {Grade.LOOKED: "l", Grade.FOUND: "f", Grade.CLEAN: "c", Grade.IN_TIME: "t"}
_SLIPS = {"root": "1", "shape": "2"}


@dataclass(slots=True)
class HandsFree:
    """What hands free knows between two moments.

    on: whether it presses keys. overrules: how many proposals in a row were not the player's grade. passes: right
    ones on the diagram on show. noodling: whether what was played before the prompt still goes on.
    """

    on: bool = True
    overrules: int = 0
    passes: int = 0
    noodling: bool = False
    spoke_s: float = field(default=-AFTER_SPEECH_S, repr=False)
    shown_s: int = field(default=0, repr=False)

    def prompted(self, ears: AnyEars) -> None:
        """A prompt or a diagram to play from comes up; ears: what was heard until now."""
        self.passes = 0
        self.noodling = bool(ears.heard) and ears.now_s - ears.heard[-1].at_s < NOODLING_S

    def graded(self, grade: Grade, take: HeardTake) -> bool:
        """Takes note of a grade beside its proposal; whether that turned hands free off."""
        if not self.on or take.grade is None:
            return False
        other = not take.accepted and min(grade, Grade.CLEAN) != min(take.grade, Grade.CLEAN)
        self.overrules = self.overrules + 1 if other else 0
        self.on = self.overrules < OVERRULES
        return not self.on

    def due(self, state: SessionState, now_s: float, source: TakeSource, shapes: Sequence[Shape]) -> tuple[str, ...]:
        """The keys to press now, none most of the time.

        shapes: what is to be heard, none where a moment asks for something else, two in a change of chord.
        """
        if not self.on or source.trouble or state.paused_s is not None or state.help or state.words:
            return ()
        if state.phase is Phase.ANSWER:
            return self._accepted(state, now_s, source)
        if not shapes:
            return ()
        target = target_of(shapes)
        ears, _ = source.heard()
        grip = any(shape.form.kind == "grip" for shape in shapes)
        if state.phase is Phase.PROMPT:
            if self._still_noodling(ears, source, grip):
                return ()
            return ("enter",) if take_over(ears, target) else ()
        if state.phase in (Phase.LESSON, Phase.REPEAT) and take_over(ears, target):
            right = all(one.judged is Judged.RIGHT for one in take_verdict(ears, target).notes)
            self.passes += right
            source.begin(grip=grip)
            if self.passes >= PASSES:
                self.passes = 0
                return ("enter",)
        return ()

    def _still_noodling(self, ears: AnyEars, source: TakeSource, grip: bool) -> bool:
        if self.noodling:
            since = ears.heard[-1].at_s if ears.heard else 0.0
            if ears.now_s - since < NOODLING_S:
                return True
            self.noodling = False
            if ears.heard:
                source.begin(grip=grip)
                return True
        return False

    def _accepted(self, state: SessionState, now_s: float, source: TakeSource) -> tuple[str, ...]:
        take = state.heard
        if source.busy:
            self.spoke_s = now_s  # what is proposed is still being said
        if take is None or take.grade is None or take.accept_at_s is None:
            return ()
        if now_s < max(take.accept_at_s, self.spoke_s + AFTER_SPEECH_S):
            return ()
        ears, _ = source.heard()
        if ears.heard and ears.now_s - ears.heard[-1].at_s < NOODLING_S:
            return ()
        slip = _SLIPS.get(take.slip or "") if take.grade is Grade.LOOKED else None
        return (_KEYS[take.grade], *([slip] if slip else []))
