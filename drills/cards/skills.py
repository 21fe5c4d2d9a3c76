"""The skills a card needs, computed from its shape, and look-alikes among forms.

Skill names are `kind:name` and go into a log that is kept for years:

- ``form:arpeggio/0+0.1-1.1+2.2+1.2+2`` the movable form (string and fret offsets);
- ``root:Eb@5A2`` where a root lies: note, string number, open pitch of that string;
- ``spell:Ebm7`` the letters of a chord; ``spell:Eb-dorian`` of a scale;
- ``degree:Bb-ii`` a degree of a key;
- ``joint:m7-7:1,0`` from one chord to the next, see `drills.cards.prompts.transition`;
- ``ear:m7`` the sound of a quality.
"""

from __future__ import annotations

import re

from drills.neck.tuning import Tuning
from drills.shapes.form import scale_slug
from drills.shapes.shape import Shape
from drills.theory.chord import Chord
from drills.theory.key import Key
from drills.theory.quality import Quality
from drills.theory.spelling import common_name

__all__ = [
    "degree_skill", "form_skill", "hearing_skill", "look_alikes", "root_place", "root_skill", "shape_skills",
    "spell_skill",
]  # fmt: skip


def form_skill(shape: Shape) -> str:
    """The movable form of a shape."""
    return f"form:{shape.signature}"


def root_skill(tuning: Tuning, pitch_class: int, string: int) -> str:
    """A note to find on a string, one name for both spellings."""
    return f"root:{common_name(pitch_class)}@{string}{tuning.open_pitch(string)}"


def root_place(skill: str) -> tuple[str, int] | None:
    """Note name and string number of a root skill, or None for another skill."""
    match = re.fullmatch(r"root:([A-G]b?)@(\d{1,2})[A-G].*", skill)
    return (match[1], int(match[2])) if match else None


def spell_skill(chord: Chord, mode: str = "") -> str:
    """The spelling of a chord, or of a mode on its root."""
    return f"spell:{chord.root}-{scale_slug(mode)}" if mode else f"spell:{chord.root}{chord.quality.name}"


def degree_skill(key: Key, degree: int) -> str:
    """Knowing which chord stands on a degree of a key."""
    return f"degree:{key.name.replace(' ', '-')}-{key.roman(degree)}"


def hearing_skill(quality: Quality) -> str:
    """Knowing a quality by its sound."""
    return f"ear:{quality.name}"


def shape_skills(shape: Shape, tuning: Tuning) -> tuple[str, ...]:
    """Form, root and spelling skill of a shape."""
    root = shape.root
    return (
        form_skill(shape),
        root_skill(tuning, root.pitch.note.pitch_class, root.string),
        spell_skill(shape.chord, shape.form.mode),
    )


def _offsets(skill: str) -> tuple[str, list[tuple[int, int]]]:
    form, _, places = skill.removeprefix("form:").rpartition("/")
    pairs = [re.fullmatch(r"(-?\d+)([+-]\d+)", part) for part in places.split(".")]
    return form, [(int(pair[1]), int(pair[2])) for pair in pairs if pair]


def look_alikes(forms: list[str]) -> dict[str, frozenset[str]]:
    """For each form skill, the others of its kind that differ in one note by one fret.

    m7 and m7b5, 7 and maj7 are such pairs; a hand that meets both on one day keeps
    neither (drills/RULES.md, B6; Allen 2013).
    """
    read = {skill: _offsets(skill) for skill in forms}
    found: dict[str, set[str]] = {skill: set() for skill in forms}
    for one, (form, places) in read.items():
        for other, (other_form, other_places) in read.items():
            if one < other and form == other_form and len(places) == len(other_places):
                differing = [(a, b) for a, b in zip(places, other_places, strict=True) if a != b]
                if len(differing) == 1 and differing[0][0][0] == differing[0][1][0]:
                    if abs(differing[0][0][1] - differing[0][1][1]) == 1:
                        found[one].add(other)
                        found[other].add(one)
    return {skill: frozenset(others) for skill, others in found.items() if others}
