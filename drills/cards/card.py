"""A card: one thing to ask, readable, with an id that never changes meaning.

An id reads ``E2A2D3G3B3E4/arpeggio/Bb/m7b5/543/name``: open pitches of the
tuning as it sounds, form, root as spelled without a key, quality, string set and
kind of prompt (with key and numeral for a degree: ``degree-Bb-ii``). The same
card is one card in every deck.
"""

from __future__ import annotations

from dataclasses import dataclass

from drills.neck.strings import StringSet
from drills.neck.tuning import Tuning
from drills.shapes.form import ARPEGGIO, Form
from drills.theory.chord import Chord
from drills.theory.key import Key
from drills.theory.spelling import free_root, simple_twin

__all__ = ["Card", "card_id"]


def card_id(tuning: Tuning, form: Form, chord: Chord, strings: StringSet, kind: str) -> str:
    """The id of a card; the chord's root is brought to its free-standing spelling."""
    root = free_root(chord.root, chord.quality)
    return "/".join((tuning.id, form.id, root.name, chord.quality.name, strings.id, kind))


@dataclass(frozen=True, slots=True)
class Card:
    """One thing to ask.

    id: see the module. kind: of prompt, e.g. ``name`` or ``degree-Bb-ii``.
    chord: as shown, spelled by the key where there is one. form, strings: what to play.
    skills: what it needs, the form first. stage: order of introduction.
    key, degree: for degree prompts, else None and 0.
    seconds: expected time from prompt to prompt. weight: how much it matters beside others.
    """

    id: str
    kind: str
    chord: Chord
    form: Form
    strings: StringSet
    skills: tuple[str, ...]
    stage: int = 0
    key: Key | None = None
    degree: int = 0
    seconds: float = 18.0
    weight: float = 1.0

    @property
    def call(self) -> str:
        """What is called out, without the strings: ``F#m7``, ``ii of Bb``, ``C Dorian``."""
        if self.key is not None:
            call = self.key.degree_name(self.degree)
        elif self.form.kind == "scale":
            call = f"{self.chord.root.name} {self.form.mode}"
        else:
            call = self.chord.name
        return call

    @property
    def detail(self) -> str:
        """What else the prompt must say, or ``""`` for the plain arpeggio: ``from the 3rd, downward``."""
        if self.form == ARPEGGIO:
            return ""
        if self.form.kind == "scale":  # the call has said which
            return self.form.title.removeprefix(f"{self.form.mode} scale").removeprefix(", ")
        return self.form.title.removeprefix("arpeggio ").removeprefix("arpeggio, ")

    @property
    def prompt(self) -> str:
        """The whole prompt in a line: ``F#m7, strings 5-4-3``."""
        return ", ".join(part for part in (self.call, self.detail, f"strings {self.strings}") if part)

    @property
    def note(self) -> str:
        """A word on an unusual spelling, or ``""``: ``Cb sounds as B``."""
        twin = simple_twin(self.chord.root)
        return f"{self.chord.root} sounds as {twin}" if twin else ""

    @property
    def apart(self) -> tuple[str, ...]:
        """Tags of cards never asked back to back: the same quality on the same set."""
        return (f"{self.chord.quality.name}@{self.strings.id}",)
