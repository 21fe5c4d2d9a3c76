"""A card: one thing to ask, readable, with an id that never changes meaning.

It may never change, since players' logs name cards by it for years and the memory finds them by it.

An id reads ``E2A2D3G3B3E4/arpeggio/Bb/m7b5/543/name``: open pitches of the
tuning as it sounds, form, root as spelled without a key, quality, string set and
kind of prompt (with key and numeral for a degree: ``degree-Bb-ii``). A part that a
kind does not need is ``-``. The same card is one card in every deck. A transition's
kind names the chord it goes to and its string set: ``transition-F-7-543``.
"""

from __future__ import annotations

from dataclasses import dataclass

from drills.cards.kinds import kind_of
from drills.errors import CardPartError
from drills.neck.strings import StringSet
from drills.neck.tuning import Tuning
from drills.shapes.form import Form
from drills.theory.chord import Chord
from drills.theory.key import Key
from drills.theory.note import Note
from drills.theory.spelling import common_name, free_root, simple_twin
from scheduler.card import EASY

__all__ = ["Call", "Card", "card_id", "note_id"]


def card_id(tuning: Tuning, form: Form | None, chord: Chord, strings: StringSet | None, kind: str) -> str:
    """The id of a card about a chord; its root is brought to its free-standing spelling."""
    root = free_root(chord.root, chord.quality)
    form_id, strings_id = form.id if form else "-", strings.id if strings else "-"
    return "/".join((tuning.id, form_id, root.name, chord.quality.name, strings_id, kind))


def note_id(tuning: Tuning, note: Note, strings: StringSet, kind: str) -> str:
    """The id of a card about a single note, one for both its spellings."""
    return "/".join((tuning.id, "-", common_name(note.pitch_class), "-", strings.id, kind))


@dataclass(frozen=True, slots=True)
class Call:
    """How a prompt is called when it is not a chord and its strings.

    call: the large words. detail: what else must be said. large: a second line that may be drawn large too.
    """

    call: str
    detail: str = ""
    large: str = ""


@dataclass(frozen=True, slots=True)
class Card:
    """One thing to ask.

    id: see the module. kind: of prompt, e.g. ``name`` or ``degree-Bb-ii``; see `drills.cards.kinds`.
    chord: as shown, spelled by the key where there is one, or None. form, strings: what to play
    and where, None where the kind leaves them open.
    skills: what it needs, the form first. stage: order of introduction.
    key, degree: for degree prompts, else None and 0.
    seconds: expected time from prompt to prompt. weight: how much it matters beside others.
    words: how it is called, when that is not chord and strings. more: what else its kind asks about.
    to: for a transition, the card of the chord it goes to. context: where in a tune it
        comes, for people, or ``""``.
    demand: what it demands of the hand, see `drills.cards.demand`.
    """

    id: str
    kind: str
    chord: Chord | None
    form: Form | None
    strings: StringSet | None
    skills: tuple[str, ...]
    stage: int = 0
    key: Key | None = None
    degree: int = 0
    seconds: float = 18.0
    weight: float = 1.0
    words: Call | None = None
    more: object = None
    to: Card | None = None
    context: str = ""
    demand: int = EASY

    @property
    def call(self) -> str:
        """What is called out, without the strings: ``F#m7``, ``ii of Bb``, ``C Dorian``, ``Cm7 to F7``."""
        if self.words is not None:
            call = self.words.call
        elif self.to is not None:
            call = f"{self.own_chord.name} to {self.to.own_chord.name}"
        elif self.key is not None:
            call = self.key.degree_name(self.degree)
        elif self.own_form.kind == "scale":
            call = f"{self.own_chord.root.name} {self.own_form.mode}"
        else:
            call = self.own_chord.name
        return call

    @property
    def detail(self) -> str:
        """What else the prompt must say, strings last: ``from the 3rd, downward, strings 5-4-3``."""
        if self.words is not None:
            return self.words.detail
        if self.to is not None:
            return f"no gap: {self._sets_in_turn}"
        return ", ".join(part for part in (self.own_form.detail, self.strings_text) if part)

    @property
    def large(self) -> str:
        """A second line that may be drawn as large as the call, or ``""``: ``5-4-3``."""
        return str(self.strings) if self.words is None else self.words.large

    @property
    def prompt(self) -> str:
        """The whole prompt in a line: ``F#m7, strings 5-4-3``."""
        between = " " if self.call.endswith("?") else ", "
        return between.join(part for part in (self.call, self.detail) if part)

    @property
    def strings_text(self) -> str:
        """``strings 6-5-4``, or both sets of a transition: ``strings 6-5-4 to 5-4-3``."""
        onward = f" to {self.to.strings}" if self.to is not None and self.to.strings != self.strings else ""
        return f"strings {self.strings}{onward}"

    @property
    def _sets_in_turn(self) -> str:
        """``6-5-4, then 5-4-3``, or ``both on 6-5-4``, of a transition."""
        onward = None if self.to is None else self.to.strings
        return f"both on {self.strings}" if onward == self.strings else f"{self.strings}, then {onward}"

    @property
    def note(self) -> str:
        """A word on an unusual spelling, or ``""``: ``Cb sounds as B``."""
        roots = dict.fromkeys(card.chord.root for card in (self, self.to) if card is not None and card.chord)
        twins = {root: simple_twin(root) for root in roots}
        return ", ".join(f"{root} sounds as {twin}" for root, twin in twins.items() if twin)

    @property
    def quality(self) -> str:
        """The quality's name, ``-`` for a card without a chord."""
        return self.chord.quality.name if self.chord else "-"

    @property
    def set_name(self) -> str:
        """The strings as shown, ``-`` where they are left open."""
        return str(self.strings) if self.strings else "-"

    @property
    def place(self) -> str:
        """What and where, for sentences: ``m7b5 on 5-4-3``, ``notes on string 4``, ``m7 (spell)``.

        Of a transition ``m7 to 7, strings 6-5-4 to 5-4-3``.
        """
        if self.to is not None:
            return f"{self.quality} to {self.to.quality}, {self.strings_text}"
        kind = kind_of(self.kind).name
        what = self.quality if self.chord else "notes"
        asked = f" ({kind})" if self.chord and kind not in ("name", "degree") else ""
        one = "string " if self.strings and len(self.strings.numbers) == 1 else ""
        return (f"{what} on {one}{self.strings}" if self.strings else what) + asked

    @property
    def own_chord(self) -> Chord:
        """The chord; raises CardPartError for a card of a single note."""
        if self.chord is None:
            raise CardPartError(f"card {self.id}: it has no chord")
        return self.chord

    @property
    def own_form(self) -> Form:
        """The form to play; raises CardPartError where the kind leaves it open."""
        if self.form is None:
            raise CardPartError(f"card {self.id}: it has no form")
        return self.form

    @property
    def own_strings(self) -> StringSet:
        """The strings; raises CardPartError where the kind leaves them open."""
        if self.strings is None:
            raise CardPartError(f"card {self.id}: it has no strings")
        return self.strings

    @property
    def shape_asked(self) -> tuple[Chord, Form, StringSet]:
        """Chord, form and strings, as a finder takes them; raises CardPartError unless `is_shape`."""
        return self.own_chord, self.own_form, self.own_strings

    @property
    def is_shape(self) -> bool:
        """Whether chord, form and strings say where to play."""
        return self.chord is not None and self.form is not None and self.strings is not None

    @property
    def tells_root(self) -> bool:
        """Whether a prompt may say where its root lies, since that is not what it asks."""
        kind = kind_of(self.kind)
        return self.is_shape and not kind.away and kind.module != "places"

    @property
    def apart(self) -> tuple[str, ...]:
        """Tags of cards never asked back to back while anything else is open: the same root at the same place.

        Of a transition it is the place it begins at: with both, a tune of two chords would never ask it.
        """
        roots = tuple(skill for skill in self.skills if skill.startswith("root:"))
        return roots[:1] if self.to is not None else roots

    @property
    def alike(self) -> tuple[str, ...]:
        """Tags of cards rather not asked back to back: the same quality on the same set, the same transition."""
        if self.to is not None:
            return (f"{self.quality}-{self.to.quality}@{self.own_strings.id}-{self.to.own_strings.id}",)
        strings = self.strings.id if self.strings else "-"
        return (f"{self.quality if self.chord else self.more}@{strings}",)
