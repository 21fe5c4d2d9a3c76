"""Chord qualities, read from the shipped table and the player's own, each row cross-checked."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from drills.configuration.shipped import data_file, read_toml
from drills.errors import TableError, TheoryError, shown
from drills.theory.interval import Interval
from drills.theory.mode import modes

__all__ = ["Quality", "QualityTable", "normal_symbol", "odd_bracket", "read_qualities", "shipped_qualities"]

_FIELDS = {"degrees": list, "semitones": list, "tier": int, "symbols": list, "modes": list, "met": str}
_KINDS = {list: "a list", int: "whole numbers", str: "text"}
_NAME = re.compile(r"[A-Za-z0-9#+]+")
"""A name becomes part of card ids, so it holds nothing that an id uses as a separator."""

_LONGEST = 24
"""No symbol is longer; it bounds what is read after a root."""

# One form for signs that mean the same (common practice): triangle, half-diminished,
# degree sign, and the dashes that keyboards and word processors make.
_SIGNS = str.maketrans(
    {"△": "Δ", "∆": "Δ", "^": "Δ", "Ø": "ø", "º": "o", "°": "o", "–": "-", "—": "-", "−": "-", "‑": "-",
     " ": None, "(": None, ")": None, "♭": "b", "♯": "#", "𝄫": "bb", "𝄪": "##", "♮": None}
)  # fmt: skip


def normal_symbol(text: str) -> str:
    """A symbol brought to the form in which symbols are compared."""
    return text.translate(_SIGNS)


@dataclass(frozen=True, slots=True)
class Quality:
    """A kind of chord.

    name: our name and the part of card ids, e.g. ``m7b5``.
    intervals: chord tones above the root, rising, root first.
    tier: 0 triads, 1 diatonic sevenths, 2 and 3 later (drills/RULES.md, B1).
    symbols: what may follow the root, the shown one first.
    modes: names of scales that contain it, the usual one first.
    met: where a player meets it, in words.
    """

    name: str
    intervals: tuple[Interval, ...]
    tier: int
    symbols: tuple[str, ...]
    modes: tuple[str, ...]
    met: str

    def __hash__(self) -> int:
        """By name: what is equal has one, and every look-up of a chord or a shape comes by here."""
        return hash(self.name)

    @property
    def degrees(self) -> tuple[str, ...]:
        """Degree labels of the chord tones, e.g. ``("1", "b3", "5", "b7")``."""
        return tuple(interval.degree for interval in self.intervals)

    @property
    def semitones(self) -> tuple[int, ...]:
        """Chord tones in semitones above the root."""
        return tuple(interval.semitones for interval in self.intervals)

    @property
    def symbol(self) -> str:
        """What is shown after the root."""
        return self.symbols[0]

    def __str__(self) -> str:
        return self.name


class QualityTable:
    """Qualities by name and by symbol, in the order of their tables."""

    def __init__(self, qualities: tuple[Quality, ...]):
        self._by_name = {quality.name: quality for quality in qualities}
        self._by_symbol: dict[str, Quality] = {}
        for quality in qualities:
            for symbol in quality.symbols:
                other = self._by_symbol.setdefault(normal_symbol(symbol), quality)
                if other is not quality:
                    raise TableError(
                        f"quality {quality.name!r}, symbols: {symbol!r} already means {other.name!r}; "
                        "choose another symbol"
                    )
        for quality in qualities:
            other = self._by_symbol.get(quality.name, quality)
            if other is not quality:
                raise TableError(
                    f"quality {quality.name!r}: the name is a symbol of {other.name!r}; choose another name"
                )

    def __iter__(self) -> Iterator[Quality]:
        return iter(self._by_name.values())

    def __len__(self) -> int:
        return len(self._by_name)

    def named(self, name: str) -> Quality:
        """The quality of that name or symbol; raises TheoryError listing the names otherwise."""
        found = self._by_name.get(name) or self._by_symbol.get(normal_symbol(name))
        if found is None or not name.strip() or odd_bracket(name) is not None:
            raise TheoryError(f"quality {name[:40]!r}: expected one of {', '.join(self._by_name)}")
        return found

    def with_symbol(self, normal: str) -> Quality | None:
        """The quality that a symbol in normal form means, or None."""
        return self._by_symbol.get(normal)

    @property
    def symbols(self) -> tuple[str, ...]:
        """Every accepted symbol in normal form."""
        return tuple(self._by_symbol)


def odd_bracket(suffix: str) -> int | None:
    """The 0-based place of the first bracket without its partner or with nothing inside, or None."""
    opened: list[int] = []
    for place, character in enumerate(suffix):
        if character == "(":
            opened.append(place)
        elif character == ")" and (not opened or not suffix[opened.pop() + 1 : place].strip(" (),")):
            return place
    return opened[0] if opened else None


def _readable(symbol: str) -> bool:
    # A b or # right after the root would be taken for the root's own accidental.
    return (
        symbol.isprintable()
        and len(symbol) <= _LONGEST
        and "/" not in symbol
        and not symbol.strip().startswith(("b", "#", "♭", "♯", "𝄫", "𝄪"))
        and odd_bracket(symbol) is None
    )


def _row(where: str, name: str, row: object) -> Quality:
    if not isinstance(row, dict):
        raise TableError(f"{where}: expected a table, got {shown(row)}")
    for field in row:
        if field not in _FIELDS:
            raise TableError(f"{where}, {shown(field)}: unknown; expected {', '.join(_FIELDS)}")
    for field, kind in _FIELDS.items():
        value = row.get(field)
        if not isinstance(value, kind) or isinstance(value, bool):
            raise TableError(f"{where}, {field}: expected {_KINDS[kind]}, got {shown(value)}")
        wanted = int if field == "semitones" else str
        if isinstance(value, list) and not all(type(item) is wanted for item in value):
            raise TableError(f"{where}, {field}: expected a list of {_KINDS[wanted]}, got {shown(value)}")
    if not _NAME.fullmatch(name):
        raise TableError(f"{where}: a quality's name holds letters, digits, # and + only")
    try:
        intervals = tuple(Interval.from_degree(label) for label in row["degrees"])
    except TheoryError as error:
        raise TableError(f"{where}, degrees: {error}") from error
    semitones = [interval.semitones for interval in intervals]
    if semitones != row["semitones"]:
        raise TableError(f"{where}, semitones: the degrees give {semitones}, got {shown(row['semitones'])}")
    if len(semitones) < 3 or semitones[0] != 0 or semitones != sorted(set(semitones)) or semitones[-1] > 11:
        raise TableError(f"{where}, degrees: expected three or more rising from 1 within an octave")
    if not row["symbols"]:
        raise TableError(f"{where}, symbols: expected at least one")
    for symbol in row["symbols"]:
        if not _readable(symbol):
            raise TableError(
                f"{where}, symbols: {shown(symbol)} cannot be read after a root; expected up to {_LONGEST} printable "
                "characters with brackets in pairs, without / and not beginning with b or #, such as maj7 or (#5)"
            )
    known = modes()
    for mode in row["modes"]:
        if mode not in known:
            raise TableError(f"{where}, modes: unknown mode {shown(mode)}; expected one of {', '.join(known)}")
        missing = set(semitones) - known[mode].pitch_classes
        if missing:
            raise TableError(f"{where}, modes: {mode} does not contain the chord (no {min(missing)} semitones)")
    return Quality(name, intervals, row["tier"], tuple(row["symbols"]), tuple(row["modes"]), row["met"])


def _rows(path: Path) -> tuple[Quality, ...]:
    table = read_toml(path)
    for key in table:
        if key != "quality":
            raise TableError(f"{path}, {shown(key)}: unknown; expected tables named [quality.NAME]")
    rows = table.get("quality", {})
    if not isinstance(rows, dict):
        raise TableError(f"{path}, quality: expected tables named [quality.NAME], got {shown(rows)}")
    return tuple(_row(f"{path}, quality {shown(name)}", name, row) for name, row in rows.items())


@cache
def shipped_qualities() -> QualityTable:
    """The qualities that ship with the tool."""
    return QualityTable(_rows(data_file("qualities.toml")))


def read_qualities(own: Path | None = None) -> QualityTable:
    """The shipped qualities and those of a player's own file, which may not redefine them.

    Raises TableError naming file, table and field when a row is wrong.
    """
    if own is None or not own.exists():
        return shipped_qualities()
    shipped = tuple(shipped_qualities())
    added = _rows(own)
    for quality in added:
        if any(quality.name == known.name for known in shipped):
            raise TableError(f"{own}, quality {quality.name!r}: ships with the tool; choose another name")
    try:
        return QualityTable(shipped + added)
    except TableError as error:
        raise TableError(f"{own}: {error}") from error
