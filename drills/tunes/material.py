"""What a tune asks of the player: its stops, its joints, and how often each occurs."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from drills.neck.neck import Neck
from drills.theory.note import Note
from drills.theory.quality import Quality
from drills.tunes.changes import Changes
from drills.tunes.path import STEP_BY_STEP, Path, Step
from drills.tunes.plan import passes

__all__ = ["Joint", "Material", "Stop", "path_material", "tune_material"]


@dataclass(frozen=True, slots=True)
class Stop:
    """A chord at a place: its root as spelled, its quality, the string and fret of the root."""

    root: Note
    quality: Quality
    string: int
    fret: int

    @property
    def name(self) -> str:
        """E.g. ``Cm7 C(6/8)``."""
        return f"{self.root.name}{self.quality.symbol} {self.root.name}({self.string}/{self.fret})"


@dataclass(frozen=True, slots=True)
class Joint:
    """One stop to the next, at the nearest root."""

    before: Stop
    after: Stop

    @property
    def name(self) -> str:
        """E.g. ``Cm7 C(6/8) - F7 F(5/8)``."""
        return f"{self.before.name} - {self.after.name}"

    @property
    def shift(self) -> tuple[int, int]:
        """Strings crossed (positive toward string 1) and frets moved: the same joint in every key."""
        return self.before.string - self.after.string, self.after.fret - self.before.fret


@dataclass(frozen=True, slots=True)
class Material:
    """Stops and joints with how often each occurs in one chorus, averaged over the passes.

    The weights of stops, and of joints, each sum to the stops and joints of one chorus.
    """

    stops: tuple[tuple[Stop, float], ...]
    joints: tuple[tuple[Joint, float], ...]


def _stop(step: Step) -> Stop:
    return Stop(step.chord.root, step.chord.quality, step.string, step.fret)


def path_material(paths: tuple[Path, ...]) -> Material:
    """The material of given paths through the same changes.

    A chord that is repeated without moving is one stop and no joint. For a loop the move back counts.
    """
    stops: Counter[Stop] = Counter()
    joints: Counter[Joint] = Counter()
    for path in paths:
        line: list[Stop] = []
        for step in path.steps:
            stop = _stop(step)
            if not line or line[-1] != stop:
                line.append(stop)
        stops.update(line)
        joints.update(map(Joint, line, line[1:]))
        if path.loop and line[-1] != line[0]:
            joints[Joint(line[-1], line[0])] += 1
    count = len(paths)
    return Material(
        tuple((stop, times / count) for stop, times in stops.most_common()),
        tuple((joint, times / count) for joint, times in joints.most_common()),
    )


def tune_material(
    changes: Changes,
    neck: Neck,
    *,
    method: str = STEP_BY_STEP,
    strings: tuple[int, ...] | None = None,
    loop: bool = True,
) -> Material:
    """The material of the passes from every root string, most frequent first.

    Raises PathError when no pass fits the neck.
    """
    return path_material(passes(changes, neck, method=method, strings=strings, loop=loop).paths)
