"""Skills in a player's words: a shape on its sets, a root on its string and fret, a spelling, a degree."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from drills.progress.card_parts import card_parts, form_title, strings_name
from drills.theory.note import Note

__all__ = ["HIGH_ABOVE_FRET", "RootSpot", "form_names", "joint_name", "root_spot", "skill_name", "string_half"]

HIGH_ABOVE_FRET = 7
"""Roots are looked at string by string, up to this fret and above it: one hand's way from the nut, and the rest."""

_ROOT = re.compile(r"root:([A-G](?:##?|bb?)?)@(\d{1,2})([A-G](?:##?|bb?)?)-?\d+")


@dataclass(frozen=True, slots=True)
class RootSpot:
    """Where a root skill lies: note name, string number, lowest fret from 1 on."""

    note: str
    string: int
    fret: int

    @property
    def half(self) -> tuple[int, bool]:
        """The string, and whether the root lies above HIGH_ABOVE_FRET."""
        return self.string, self.fret > HIGH_ABOVE_FRET

    def __str__(self) -> str:
        return f"{self.note} on string {self.string}, fret {self.fret}"


def root_spot(skill: str) -> RootSpot | None:
    """The spot of a skill such as ``root:Eb@5A2``, or None for another skill."""
    match = _ROOT.fullmatch(skill)
    if not match:
        return None
    fret = (Note.parse(match[1]).pitch_class - Note.parse(match[3]).pitch_class) % 12
    return RootSpot(match[1], int(match[2]), fret or 12)


def string_half(half: tuple[int, bool]) -> str:
    """``roots on string 4 above fret 7``."""
    string, high = half
    return f"roots on string {string} {'above' if high else 'up to'} fret {HIGH_ABOVE_FRET}"


def form_names(cards: Iterable[tuple[str, tuple[str, ...]]]) -> dict[str, str]:
    """Names of the form skills of cards, each an id and its skills: ``m7b5 shape on 6-5-4 and 5-4-3``.

    One movable form may serve several sets and, seldom, two names of one chord. A form played only without a set
    named (on any strings, in one position) has the layout beside it: ``m7 shape, 2-1-2``, so many notes a string. So
    have two forms of one figure on the same sets, where the neck's end asks for another layout.
    """
    found: dict[str, dict[tuple[str, str], dict[str, None]]] = {}
    for card, skills in cards:
        parts = card_parts(card)
        if parts is None:
            continue
        used = [skill for skill in skills if skill.startswith("form:")]
        chords = [(parts.quality, parts.strings)] * len(used)
        if parts.onward:  # the forms of a transition are those of its two chords, one where they are the same
            chords = [(parts.quality, parts.strings), parts.onward[1:]]
        for skill, (quality, strings) in zip(used, chords, strict=False):
            form = skill.removeprefix("form:").rpartition("/")[0]
            sets = found.setdefault(skill, {}).setdefault((form, quality), {})
            if strings.strip("-"):
                sets[strings_name(strings)] = None
    names = {
        skill: " or ".join(_form_name(skill, *named, sets) for named, sets in uses.items())
        for skill, uses in found.items()
    }
    shared = Counter(names.values())
    return {skill: f"{name}, {_layout(skill)}" if shared[name] > 1 else name for skill, name in names.items()}


def _form_name(skill: str, form: str, quality: str, sets: Iterable[str]) -> str:
    title = f"{quality} {'shape' if form == 'arpeggio' else form_title(form)}"
    if not sets:
        return f"{title}, {_layout(skill)}"
    # Where the title says more after a comma, another one ends it.
    return f"{title}{',' * (',' in title)} on {_listed(sorted(sets, reverse=True))}"


def _layout(skill: str) -> str:
    """How many notes lie on each string, the lowest first: ``1-2-2``."""
    strings = re.findall(r"(-?\d+)[+-]\d+", skill.rpartition("/")[2])
    return "-".join(str(strings.count(one)) for one in dict.fromkeys(strings))


def _listed(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def joint_name(name: str) -> str:
    """A joint skill's name in words: ``going from m7 to 7, 1 string up, same fret``."""
    match = re.fullmatch(r"([^-]+)-([^-]+):(-?\d+),(-?\d+)", name)
    if not match:
        return f"the joint {name}"
    before, after, strings, frets = match[1], match[2], int(match[3]), int(match[4])
    # Up is toward string 1 and toward the body.
    across = f"{abs(strings)} string{'s' * (abs(strings) != 1)} {'up' if strings > 0 else 'down'}" if strings else ""
    along = f"{abs(frets)} fret{'s' * (abs(frets) != 1)} {'up' if frets > 0 else 'down'}" if frets else "same fret"
    return f"going from {before} to {after}, " + ", ".join(part for part in (across or "same string", along) if part)


def skill_name(skill: str, forms: dict[str, str]) -> str:
    """A skill in words. forms: see `form_names`."""
    kind, _, name = skill.partition(":")
    if kind == "form":
        return f"the {forms[skill]}" if skill in forms else "a shape of no deck here"
    if kind == "root":
        spot = root_spot(skill)
        return f"finding {spot}" if spot else f"finding {name}"
    if kind == "spell":
        return f"spelling {name.replace('-', ' ')}"
    if kind == "joint":
        return joint_name(name)
    if kind == "ear":
        return f"hearing {name}"
    if kind == "degree":
        key, _, numeral = name.rpartition("-")
        return f"knowing {numeral} of {key.replace('-', ' ')}"
    return name.replace("-", " ")
