"""What kind of shape is asked for, independent of chord, root and strings."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import lru_cache

from drills.errors import TheoryError
from drills.theory.mode import Mode, mode_named, modes

__all__ = [
    "ARPEGGIO", "FIGURES", "GRIP_KINDS", "POSITIONS", "USUAL_FORMS", "Form", "parse_form", "scale_slug", "usual_form",
]  # fmt: skip

GRIP_KINDS = ("drop2", "drop3", "shell", "close")
"""Drop 2 and drop 3 of four-note chords, the shell (root, 3rd, 7th), and the close triad."""

FIGURES = {
    "enclosures": "enclosures", "approaches": "approaches from both sides", "passing": "passing notes",
    "cells": "cells of four notes", "ninths": "from the 3rd to the 9th", "guides": "guide tones, each led into",
}  # fmt: skip
"""The figures of vocabulary by the word they are asked for by, and in words (drills/RULES.md, D6)."""

USUAL_FORMS = ("scale", "scale-three-per-string", *FIGURES)
"""What a deck or a player may ask of any chord, in its usual mode: the scale over the arpeggio or three notes a string,
or a figure."""

POSITIONS = 5
"""With two notes a string a five-note scale has five places on the neck, each from another of its notes."""

_WITHOUT_MODE = "passing"
"""The figure that only the chord's own tones settle."""

_ORDINALS = ("1", "3", "5", "7")


@dataclass(frozen=True, slots=True)
class Form:
    """A kind of shape.

    kind: ``arpeggio``, ``scale``, ``grip`` or ``figure``.
    start: chord tone it starts on, 0 for the root, 1 for the third and so on (arpeggios);
        note of the scale (scales of so many notes a string).
    octaves: 1 or 2 (arpeggios and scales).
    closed: whether the note an octave above the first is played too.
    down: whether it is played downward.
    mode: the scale's name (scales; figures but passing notes).
    per_string: notes on every string, 2 (five-note scales, in positions) or 3; 0 as they lie best (scales).
    voicing, inversion: one of GRIP_KINDS and the chord tone in the bass (grips);
        for shells, inversion 0 is R 7 3 and 1 is R 3 7, both with the root in the bass.
    figure: one of FIGURES (figures).
    """

    kind: str = "arpeggio"
    start: int = 0
    octaves: int = 1
    closed: bool = True
    down: bool = False
    mode: str = ""
    voicing: str = ""
    inversion: int = 0
    per_string: int = 0
    figure: str = ""

    @property
    def id(self) -> str:
        """The part of a card's id, e.g. ``arpeggio-from3-down``, ``scale-dorian``, ``grip-drop2-inv1``."""
        if self.kind == "figure":
            return f"{self.figure}-{scale_slug(self.mode)}" if self.mode else self.figure
        if self.kind == "grip":
            return f"grip-{self.voicing}" + (f"-inv{self.inversion}" if self.inversion else "")
        name = "arpeggio" if self.kind == "arpeggio" else f"scale-{scale_slug(self.mode)}"
        if self.per_string:
            name += f"-position{self.start + 1}" if self.per_string == 2 else "-three-per-string"
        elif self.start:
            name += f"-from{_ORDINALS[self.start]}"
        if self.octaves == 2:
            name += "-two-octaves"
        if not self.closed:
            name += "-open-ended"
        return name + ("-down" if self.down else "")

    @property
    def title(self) -> str:
        """In words, e.g. ``arpeggio from the 3rd, downward`` or ``drop 2 grip, 3rd in the bass``."""
        if self.kind == "figure":
            return FIGURES[self.figure] + (f", {self.mode}" if self.mode else "")
        if self.kind == "grip":
            if self.voicing == "shell":
                return "shell grip, R 3 7" if self.inversion else "shell grip, R 7 3"
            name = {"drop2": "drop 2 grip", "drop3": "drop 3 grip", "close": "close grip"}[self.voicing]
            bass = ("root", "3rd", "5th", "7th")[self.inversion]
            return f"{name}, {bass} in the bass"
        name = "arpeggio" if self.kind == "arpeggio" else f"{self.mode} scale"
        if self.octaves == 2:
            name = f"two-octave {name}"
        if self.per_string:
            name += f", position {self.start + 1} of {POSITIONS}" if self.per_string == 2 else ", three notes a string"
        elif self.start:
            name += f" from the {('', '3rd', '5th', '7th')[self.start]}"
        if not self.closed:
            name += ", without the octave"
        return name + (", downward" if self.down else "")

    @property
    def detail(self) -> str:
        """What the title says beyond the plain arpeggio or the scale's name, or ``""``: ``from the 3rd, downward``."""
        if self.kind == "scale":
            return self.title.removeprefix(f"{self.mode} scale").removeprefix(", ")
        return "" if self == ARPEGGIO else self.title.removeprefix("arpeggio ").removeprefix("arpeggio, ")

    @property
    def returns(self) -> bool:
        """Whether it is played up and back down: an arpeggio or a scale is, a grip is struck, a figure goes its way."""
        return self.kind in ("arpeggio", "scale")

    @property
    def upward(self) -> Form:
        """The same form played upward."""
        return replace(self, down=False) if self.down else self

    @property
    def scale(self) -> Mode:
        """The mode of a scale form."""
        return mode_named(self.mode)

    def __str__(self) -> str:
        return self.id


ARPEGGIO = Form()
"""The core: one octave from the root, upward, octave shown."""


def scale_slug(mode: str) -> str:
    """A mode's name as part of an id: ``Locrian natural 2`` is ``locrian-natural-2``."""
    return mode.lower().replace(" ", "-")


@lru_cache(maxsize=512)
def parse_form(text: str) -> Form:
    """Reads a form's id; ``grip`` alone is the drop 2 in root position. Raises TheoryError otherwise."""
    name = text.strip().lower()
    if name == ARPEGGIO.id:  # by far the most usual, and spared the reading of the others
        return ARPEGGIO
    if grip := re.fullmatch(r"grip(?:-(drop2|drop3|shell|close))?(?:-inv([1-3]))?", name):
        voicing, inversion = grip[1] or "drop2", int(grip[2] or 0)
        if inversion <= {"shell": 1, "close": 2}.get(voicing, 3):
            return Form("grip", voicing=voicing, inversion=inversion)
    slugs = {scale_slug(mode): mode for mode in modes()}
    figure, _, in_mode = name.partition("-")
    if figure in FIGURES and (in_mode in slugs if figure != _WITHOUT_MODE else not in_mode):
        return Form("figure", mode=slugs.get(in_mode, ""), figure=figure)
    by_length = sorted(slugs, key=len, reverse=True)
    match = re.fullmatch(
        rf"(arpeggio|scale-(?P<mode>{'|'.join(map(re.escape, by_length))}))"
        r"(?:-position(?P<position>[1-5])|(?P<three>-three-per-string))?"
        r"(?:-from(?P<start>[357]))?(?P<two>-two-octaves)?(?P<open>-open-ended)?(?P<down>-down)?",
        name,
    )
    if match is None or not _makes_sense(match, slugs):
        raise TheoryError(
            f"form {text[:40]!r}: expected such as arpeggio, arpeggio-from3-down, arpeggio-two-octaves, "
            "scale-dorian, scale-dorian-three-per-string, scale-minor-pentatonic-position2, grip-drop2-inv1 or "
            "enclosures-dorian"
        )
    if match["position"] or match["three"]:
        start, per_string = int(match["position"] or 1) - 1, 2 if match["position"] else 3
        return Form("scale", start, down=bool(match["down"]), mode=slugs[match["mode"]], per_string=per_string)
    return Form(
        kind="scale" if match["mode"] else "arpeggio",
        start=_ORDINALS.index(match["start"] or "1"),
        octaves=2 if match["two"] else 1,
        closed=not match["open"],
        down=bool(match["down"]),
        mode=slugs[match["mode"]] if match["mode"] else "",
    )


def _makes_sense(match: re.Match[str], slugs: dict[str, str]) -> bool:
    """Whether the parts of a form's id go together: positions are of five notes, three a string of seven or more."""
    if not match["mode"]:
        return not (match["position"] or match["three"])
    notes = len(mode_named(slugs[match["mode"]]).intervals)
    counted = match["position"] or match["three"]
    return (
        not match["start"]
        and not (counted and (match["two"] or match["open"]))
        and (notes == POSITIONS if match["position"] else notes >= 7 or not match["three"])
    )


def usual_form(name: str, mode: str) -> Form:
    """A mode in one of USUAL_FORMS."""
    if name in FIGURES:
        return Form("figure", mode="" if name == _WITHOUT_MODE else mode, figure=name)
    return Form("scale", mode=mode, per_string=3 if name == "scale-three-per-string" else 0)
