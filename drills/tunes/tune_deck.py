"""Makes a deck of a tune from its chords and joints, each weighed by how often the tune has it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path as File

from drills.cards.deck import Block, Deck
from drills.cards.material import TuneReader
from drills.cards.stops_and_joints import Joint, Stop, StopsAndJoints
from drills.changes.changes import Changes
from drills.changes.changes_source import changes_from
from drills.errors import PathError
from drills.harmony.neck_layout import three_strings
from drills.harmony.root_path import Path, PathStep, nearest, root_strings, start_places, step_path
from drills.harmony.root_path import stops as sounding
from drills.harmony.transpose import transposed_to
from drills.neck.neck import Neck
from drills.neck.strings import StringSet
from drills.shapes.root_places import HandPosition, RootPlace
from drills.theory.chord import Chord
from drills.theory.quality import QualityTable

__all__ = ["block_changes", "stops_and_joints", "tune_deck", "tune_reader"]

_PLACES_NAMED = 4
"""So many bars are named beside a card; the rest is counted."""

_StopKey = tuple[int, str, int]
"""Pitch class of the root, name of the quality, and string of the root."""

_STAGES = 3
"""The stages of a path: first each shape at its highest place, then its other places, then the joints."""


def tune_deck(changes: str, *, transpose: str = "", starts: tuple[int, ...] = (), title: str = "") -> Deck:
    """The deck that is one tune. changes, transpose, starts: as in `drills.cards.deck.Block`."""
    block = Block(prompts=(), changes=changes, transpose=transpose, starts=starts)
    return Deck("changes", title or "Changes", blocks=(block,))


def block_changes(block: Block, table: QualityTable | None = None, folders: Iterable[File] = ()) -> Changes:
    """The changes a block names, in its key. Raises ChangesError, LeadSheetError or TheoryError."""
    page = changes_from(block.changes, table, folders)
    return transposed_to(page, block.transpose) if block.transpose else page


def tune_reader(folders: Iterable[File] = ()) -> TuneReader:
    """What finds the stops and joints of a deck's blocks.

    folders: where pages are looked for by name before the shipped ones.
    """
    known = tuple(folders)

    def read(block: Block, neck: Neck, table: QualityTable) -> StopsAndJoints:
        return stops_and_joints(block_changes(block, table, known), neck, block.starts, block.string_sets)

    return read


def stops_and_joints(
    changes: Changes, neck: Neck, starts: tuple[int, ...] = (), sets: tuple[StringSet, ...] = ()
) -> StopsAndJoints:
    """The stops and joints of a tune along the nearest roots (drills/RULES.md, D1), a path from each starting string.

    starts: the strings to start from, all root strings (6, 5, 4) when empty; a string on which
    the first root does not lie is passed over. sets: the string sets to keep to, so that every chord of the tune
    lies on one of them; all when empty. Roots keep to the twelve frets in which cards
    are asked. The chorus is taken as repeating: the way back to the top, to the nearest root, is
    a joint too. A chord that is held or written again counts once. Weights are how often a stop or joint comes in
    one chorus, averaged over the paths, so that they sum to the stops and joints of a chorus;
    one path is met after the other, its stops before its joints. Where a path brings a shape at several
    places it is met first at the highest: reaches are wider lower down (rule E).

    Raises PathError when the changes hold no chord or no path fits the neck.
    """
    low, high = neck.root_frets
    neck = replace(neck, open_roots=False, root_frets=(low, min(high, low + 11)))
    hand = HandPosition(neck)
    strings = root_strings(neck, tuple(dict.fromkeys(each.numbers[0] for each in sets)) or None)
    paths = _paths(changes, neck, starts, hand, strings)
    sections = {bar.number: bar.section for bar in changes.bars}
    met: dict[_StopKey, _Met] = {}
    joined: dict[tuple[_StopKey, _StopKey], _Met] = {}
    for number, path in enumerate(paths):
        runs = _runs(path)
        highest = _highest(first for first, _ in runs)
        for first, _ in runs:
            stage = _STAGES * number + (first.fret < highest[_form(first)])
            met.setdefault(_key(first), _Met(first, first, stage)).add(first.bar, first.bar, sections)
        onward = [first for first, _ in runs[1:]] + _way_back(runs, neck, hand, strings)
        for (_, last), after in zip(runs, onward, strict=False):
            key = (_key(last), _key(after))
            joined.setdefault(key, _Met(last, after, _STAGES * number + 2)).add(last.bar, after.bar, sections)
    share = 1 / len(paths)
    stops = {key: Stop(*_place(each.first), share * each.count, each.where, each.stage) for key, each in met.items()}
    # The way back may end at a place the paths do not come to; then it is asked in the joint alone.
    joints = tuple(
        Joint(stops[before], stops.get(after) or Stop(*_place(each.after)), share * each.count, each.where, each.stage)
        for (before, after), each in joined.items()
    )
    return StopsAndJoints(changes.title, tuple(stops.values()), joints)


def _paths(
    changes: Changes, neck: Neck, starts: tuple[int, ...], hand: HandPosition, strings: tuple[int, ...]
) -> list[Path]:
    for string in starts:
        if string not in strings:
            raise PathError(
                f"path, start: string {string} is not among the root strings {', '.join(map(str, strings))}; choose one"
            )
    first = sounding(changes)[0][1].sounding
    paths, refused = [], []
    for string in dict.fromkeys(starts or strings):
        try:
            start_places(neck, first, strings, string)
        except PathError as error:
            refused.append(error)
            continue
        paths.append(step_path(changes, neck, start=string, strings=strings, lowest_fret=hand))
    if not paths:
        raise refused[0]
    return paths


@dataclass
class _Met:
    """Where a stop or a joint comes: its steps as first met, its stage, and the bars of every time."""

    first: PathStep
    after: PathStep
    stage: int
    bars: list[tuple[int, str]] = field(default_factory=list)

    def add(self, bar: int, after: int, sections: dict[int, str]) -> None:
        label = f" ({sections[after]})" if sections[after] else ""
        self.bars.append((bar, f"{bar}{label}" if bar == after else f"{bar} to {after}{label}"))

    @property
    def count(self) -> int:
        """How often it comes, over all paths."""
        return len(self.bars)

    @property
    def where(self) -> str:
        """``bars 1 (A), 3 (A), 7 (A), 9 (B) and 2 more``; a bar that several paths share is named once."""
        places = [place for _, place in sorted(dict.fromkeys(self.bars))]
        shown, more = places[:_PLACES_NAMED], len(places) - _PLACES_NAMED
        noun = "bars" if len(places) > 1 or " to " in places[0] else "bar"
        return f"{noun} {', '.join(shown)}" + (f" and {more} more" if more > 0 else "")


def _key(step: PathStep) -> _StopKey:
    return step.chord.root.pitch_class, step.chord.quality.name, step.string


def _form(step: PathStep) -> tuple[str, int]:
    """The shape a stop is played in: quality and lowest string."""
    return step.chord.quality.name, step.string


def _highest(steps: Iterable[PathStep]) -> dict[tuple[str, int], int]:
    """The highest fret at which each shape has its root."""
    found: dict[tuple[str, int], int] = {}
    for step in steps:
        found[_form(step)] = max(step.fret, found.get(_form(step), 0))
    return found


def _place(step: PathStep) -> tuple[Chord, StringSet]:
    """The chord whose arpeggio is played, without bass and tensions, and the strings it lies on."""
    return Chord(step.chord.root, step.chord.quality), three_strings(step.string)


def _runs(path: Path) -> list[tuple[PathStep, PathStep]]:
    """The path with chords that stay where they are taken together: the first and last step of each."""
    runs: list[tuple[PathStep, PathStep]] = []
    for step in path.steps:
        if runs and _key(runs[-1][1]) == _key(step):
            runs[-1] = (runs[-1][0], step)
        else:
            runs.append((step, step))
    return runs


def _way_back(
    runs: list[tuple[PathStep, PathStep]], neck: Neck, hand: HandPosition, strings: tuple[int, ...]
) -> list[PathStep]:
    """Where the next chorus begins: at the root of the first chord nearest to the last; nothing if that is held."""
    first, last = runs[0][0], runs[-1][1]
    if first.chord.same_sound(last.chord):
        return []
    place = nearest(neck, last.chord, RootPlace(last.string, last.fret), first.chord, strings, hand)
    return [replace(first, string=place.string, fret=place.fret)]
