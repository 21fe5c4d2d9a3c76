"""A tuning is a list of open-string pitches. Named tunings come from the shipped table and the player's own."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from drills.configuration.shipped import data_file, read_toml
from drills.errors import TableError, TheoryError, TuningError, shown
from drills.theory.interval import Interval
from drills.theory.note import Pitch

__all__ = ["STANDARD", "NamedTuning", "Tuning", "parse_tuning", "read_tunings"]

_LOWEST_MIDI, _HIGHEST_MIDI, _MOST_STRINGS = 12, 108, 12


@dataclass(frozen=True, slots=True)
class Tuning:
    """Open-string pitches, from the highest-numbered string to string 1.

    Usually low to high, but re-entrant tunings need not rise.
    Raises TuningError for no strings, more than 12, or a pitch outside C0 to C8.
    """

    open: tuple[Pitch, ...]

    def __post_init__(self) -> None:
        if not 1 <= len(self.open) <= _MOST_STRINGS:
            raise TuningError(f"tuning: expected 1 to {_MOST_STRINGS} strings, got {len(self.open)}")
        for pitch in self.open:
            if not _LOWEST_MIDI <= pitch.midi <= _HIGHEST_MIDI:
                raise TuningError(f"tuning, string {pitch}: expected a pitch from C0 to C8")

    @property
    def id(self) -> str:
        """The open pitches run together, e.g. ``E2A2D3G3B3E4``; the first part of a card's id."""
        return "".join(pitch.name for pitch in self.open)

    @property
    def strings(self) -> int:
        """How many strings there are; also the number of the first one listed."""
        return len(self.open)

    def open_pitch(self, string: int) -> Pitch:
        """The open pitch of a string number, 1 being the last listed; raises TuningError beyond them."""
        if not 1 <= string <= len(self.open):
            raise TuningError(f"string {string}: this tuning has strings {len(self.open)} to 1")
        return self.open[len(self.open) - string]

    def midi(self, string: int, fret: int) -> int:
        """MIDI number sounding at a string and fret (fret 0 is the open string)."""
        return self.open_pitch(string).midi + fret

    def raised(self, semitones: int) -> Tuning:
        """The tuning that sounds with a capo at that fret."""
        if semitones == 0:
            return self
        chromatic = Interval.from_degree(_CAPO_DEGREES[semitones % 12])
        rise = Interval(chromatic.steps + 7 * (semitones // 12), semitones)
        return Tuning(tuple(pitch + rise for pitch in self.open))

    def __str__(self) -> str:
        return " ".join(pitch.name for pitch in self.open)


_CAPO_DEGREES = ("1", "b2", "2", "b3", "3", "4", "b5", "5", "b6", "6", "b7", "7")


@dataclass(frozen=True, slots=True)
class NamedTuning:
    """A tuning of the tables: name, a title to read, and a usual scale length in millimetres."""

    name: str
    title: str
    tuning: Tuning
    scale_mm: float


def parse_tuning(text: str) -> Tuning:
    """Reads open pitches, highest-numbered string first: ``E2 A2 D3 G3 B3 E4`` or ``E2A2D3G3B3E4``.

    Raises TuningError otherwise.
    """
    found = re.findall(r"[A-Ga-g][b#♭♯]{0,2}-?\d", text[:200])
    if not found or "".join(found) != re.sub(r"[\s,]", "", text):
        raise TuningError(f"tuning {text[:40]!r}: expected open pitches such as 'E2 A2 D3 G3 B3 E4', lowest first")
    try:
        return Tuning(tuple(Pitch.parse(pitch) for pitch in found))
    except TheoryError as error:
        raise TuningError(f"tuning {text[:40]!r}: {error}") from error


def _rows(path: Path) -> dict[str, NamedTuning]:
    table = read_toml(path)
    rows = table.get("tuning", {})
    if set(table) - {"tuning"} or not isinstance(rows, dict):
        raise TableError(f"{path}: expected tables named [tuning.NAME] only, got {shown(list(table))}")
    found = {}
    for name, row in rows.items():
        where = f"{path}, tuning {shown(name)}"
        if not isinstance(row, dict) or not isinstance(row.get("open"), list):
            raise TableError(f'{where}, open: expected a list of pitches such as ["E2", "A2"]')
        if unknown := set(row) - {"open", "title", "scale_mm"}:
            raise TableError(f"{where}, {shown(min(unknown))}: unknown; expected open, title, scale_mm")
        title, scale_mm = row.get("title", name), row.get("scale_mm", 648)
        if not isinstance(title, str):
            raise TableError(f"{where}, title: expected text, got {shown(title)}")
        if isinstance(scale_mm, bool) or not isinstance(scale_mm, int | float) or not 200 <= scale_mm <= 1200:
            raise TableError(f"{where}, scale_mm: expected millimetres from 200 to 1200, got {shown(scale_mm)}")
        try:
            tuning = Tuning(tuple(Pitch.parse(str(pitch)) for pitch in row["open"]))
        except (TheoryError, TuningError) as error:
            raise TableError(f"{where}, open: {error}") from error
        found[name] = NamedTuning(name, title, tuning, float(scale_mm))
    return found


@cache
def _shipped() -> dict[str, NamedTuning]:
    return _rows(data_file("tunings.toml"))


def read_tunings(own: Path | None = None) -> dict[str, NamedTuning]:
    """The shipped tunings and those of a player's own file, by name.

    Raises TableError naming file, tuning and field when a row is wrong or a shipped name is taken.
    """
    found = dict(_shipped())
    if own is not None and own.exists():
        for name, row in _rows(own).items():
            if name in found:
                raise TableError(f"{own}, tuning {name!r}: ships with the tool; choose another name")
            found[name] = row
    return found


STANDARD = Tuning(tuple(Pitch.parse(name) for name in ("E2", "A2", "D3", "G3", "B3", "E4")))
"""Standard guitar tuning."""
