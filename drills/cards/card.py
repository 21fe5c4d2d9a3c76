"""A card: one thing to ask, readable, with an id that never changes meaning.

An id reads ``E2A2D3G3B3E4/arpeggio/Bb/m7b5/543/name``: open pitches of the
tuning as it sounds, form, root as spelled without a key, quality, string set and
kind of prompt (with key and numeral for a degree: ``degree-Bb-ii``). The same
card is one card in every deck. A transition's kind names the chord it goes to and its
string set: ``transition-F-7-543``.
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
    to: for a transition, the card of the chord it goes to. context: where in a tune it
        comes, for people, or ``""``.
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
    to: Card | None = None
    context: str = ""

    @property
    def call(self) -> str:
        """What is called out, without the strings: ``F#m7``, ``ii of Bb``, ``C Dorian``, ``Cm7 to F7``."""
        if self.to is not None:
            call = f"{self.chord.name} to {self.to.chord.name}"
        elif self.key is not None:
            call = self.key.degree_name(self.degree)
        elif self.form.kind == "scale":
            call = f"{self.chord.root.name} {self.form.mode}"
        else:
            call = self.chord.name
        return call

    @property
    def detail(self) -> str:
        """What else the prompt must say, or ``""`` for the plain arpeggio: ``from the 3rd, downward``."""
        if self.to is not None:
            return "nearest root, in time"
        if self.form == ARPEGGIO:
            return ""
        if self.form.kind == "scale":  # the call has said which
            return self.form.title.removeprefix(f"{self.form.mode} scale").removeprefix(", ")
        return self.form.title.removeprefix("arpeggio ").removeprefix("arpeggio, ")

    @property
    def prompt(self) -> str:
        """The whole prompt in a line: ``F#m7, strings 5-4-3``."""
        return ", ".join(part for part in (self.call, self.detail, self.strings_text) if part)

    @property
    def strings_text(self) -> str:
        """``strings 6-5-4``, or both sets of a transition: ``strings 6-5-4 to 5-4-3``."""
        onward = f" to {self.to.strings}" if self.to is not None and self.to.strings != self.strings else ""
        return f"strings {self.strings}{onward}"

    @property
    def note(self) -> str:
        """A word on an unusual spelling, or ``""``: ``Cb sounds as B``."""
        roots = dict.fromkeys(card.chord.root for card in (self, self.to) if card is not None)
        twins = {root: simple_twin(root) for root in roots}
        return ", ".join(f"{root} sounds as {twin}" for root, twin in twins.items() if twin)

    @property
    def apart(self) -> tuple[str, ...]:
        """Tags of cards never asked back to back: the same quality on the same set, the same transition."""
        if self.to is not None:
            way = f"{self.chord.quality.name}-{self.to.chord.quality.name}@{self.strings.id}-{self.to.strings.id}"
            return (way,)
        return (f"{self.chord.quality.name}@{self.strings.id}",)
