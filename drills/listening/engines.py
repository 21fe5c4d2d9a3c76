"""The engines by name, put together; all but the comb need trained models."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Protocol

from drills.listening.comb import comb_reaching
from drills.listening.engine_names import COMB, ENGINES, POLYPHONIC, VOTE
from drills.listening.polyphonic import Polyphonic
from drills.listening.tracker import Tracker
from drills.listening.vote import Vote

if TYPE_CHECKING:
    from drills.listening.engine import Engine
    from drills.listening.heard import Samples

__all__ = ["Models", "engine_named"]


class Models(Protocol):
    """Trained models as engines ask them; see `Polyphonic` and `Tracker`."""

    def notes(self, samples: Samples) -> tuple[Samples, Samples, Samples]:
        """How likely notes begin and sound in a look of 43,844 samples at 22,050 a second."""

    def track(self, samples: Samples) -> tuple[Samples, Samples]:
        """The one pitch and how surely there is one, for samples at 16,000 a second."""


def engine_named(name: str, lowest: int, load: Callable[[], Models]) -> Engine:
    """The engine of that name for an instrument whose lowest open string has that MIDI number.

    load: loads the models; called only where they are needed, and raises what it raises. Raises ValueError for
    another name than those of `ENGINES`.
    """
    if name not in ENGINES:
        raise ValueError(f"engine: expected one of {', '.join(ENGINES)}, got {name[:40]!r}")
    comb = comb_reaching(lowest)
    if name == COMB:
        return comb
    models = load()
    polyphonic, tracker = Polyphonic(models.notes), Tracker(models.track)
    if name == VOTE:
        return Vote(comb, (polyphonic, tracker))
    return polyphonic if name == POLYPHONIC else tracker
