"""String sets: which strings a shape may use, lowest-sounding first."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise

from drills.errors import TuningError
from drills.neck.tuning import Tuning

__all__ = ["StringSet", "core_sets", "parse_string_sets", "parse_strings"]


@dataclass(frozen=True, slots=True)
class StringSet:
    """String numbers in the order played upward, e.g. 6, 5, 4. Raises TuningError unless they fall."""

    numbers: tuple[int, ...]

    def __post_init__(self) -> None:
        falling = all(a > b for a, b in zip(self.numbers, self.numbers[1:], strict=False))
        if not self.numbers or not falling or self.numbers[-1] < 1:
            raise TuningError(
                f"string set {'-'.join(map(str, self.numbers))!r}: expected falling string numbers such as 6-5-4"
            )

    @property
    def name(self) -> str:
        """As spoken and shown: ``6-5-4``."""
        return "-".join(map(str, self.numbers))

    @property
    def id(self) -> str:
        """As written in card ids: ``654`` (``10-9-8`` when a number has two digits)."""
        return self.name if self.numbers[0] > 9 else "".join(map(str, self.numbers))

    def check(self, tuning: Tuning) -> None:
        """Raises TuningError unless every string exists and each sounds above the one before."""
        for number in self.numbers:
            tuning.open_pitch(number)
        for low, high in zip(self.numbers, self.numbers[1:], strict=False):
            if tuning.open_pitch(low).midi >= tuning.open_pitch(high).midi:
                raise TuningError(
                    f"strings {self.name}: string {low} ({tuning.open_pitch(low)}) is not below string {high} "
                    f"({tuning.open_pitch(high)}) in this tuning, so a rising shape cannot cross them"
                )

    def gaps(self, tuning: Tuning) -> tuple[int, ...]:
        """Semitones from each string to the next; the kink between strings 3 and 2 is just a 4 among 5s."""
        pitches = [tuning.open_pitch(number).midi for number in self.numbers]
        return tuple(high - low for low, high in pairwise(pitches))

    def __str__(self) -> str:
        return self.name


def parse_strings(text: str) -> StringSet:
    """Reads ``654``, ``6-5-4`` or ``6 5 4``; raises TuningError otherwise."""
    plain = text.strip()
    # 10, 11 and 12 can only be one string: as two they would not fall.
    whole = re.search(r"[-\s]", plain) or plain in ("10", "11", "12")
    parts = re.split(r"[-\s]+", plain) if whole else list(plain)
    if not 1 <= len(parts) <= 12 or not all(re.fullmatch(r"[0-9]{1,2}", part) for part in parts):
        raise TuningError(f"string set {text[:40]!r}: expected string numbers such as 654 or 6-5-4")
    return StringSet(tuple(int(part) for part in parts))


def parse_string_sets(text: str) -> tuple[StringSet, ...]:
    """Reads sets separated by commas: ``654,543``. Single strings in a row, ``6,5,4``, are one set.

    Raises TuningError otherwise.
    """
    sets = tuple(parse_strings(part) for part in text.split(",") if part.strip())
    if len(sets) > 1 and all(len(strings.numbers) == 1 for strings in sets):
        return (StringSet(tuple(strings.numbers[0] for strings in sets)),)
    return sets


def core_sets(tuning: Tuning, size: int = 3) -> tuple[StringSet, ...]:
    """The sets of neighbouring strings a player begins with, lowest first, non-rising ones left out.

    On six strings or more the sets that use string 1 come later (drills/RULES.md, B4), so a
    guitar's are 6-5-4, 5-4-3 and 4-3-2; a four-string bass has 4-3-2 and 3-2-1.
    """
    last = size + 1 if tuning.strings >= 6 and size == 3 else size
    found = []
    for first in range(tuning.strings, last - 1, -1):
        strings = StringSet(tuple(range(first, first - size, -1)))
        try:
            strings.check(tuning)
        except TuningError:
            continue
        found.append(strings)
    return tuple(found)
