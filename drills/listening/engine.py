"""What every engine that finds pitches can do."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from drills.listening.comb import Pitched
    from drills.listening.heard import Samples

__all__ = ["Engine"]


class Engine(Protocol):
    """Finds the pitch that began between two stretches of sound, without knowing what was asked for."""

    @property
    def name(self) -> str:
        """The word by which a log and a table call it."""

    @property
    def version(self) -> int:
        """Raised whenever it may answer otherwise than before."""

    def pitch_of(self, before: Samples, after: Samples, rate: int) -> Pitched | None:
        """The pitch that is in `after` and not in `before`, None where there is none."""
