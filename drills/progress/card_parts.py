"""Reads the parts of a card out of its id, which works for cards of decks that are gone too."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from drills.cards.kinds import kind_of
from drills.errors import DrillsError
from drills.shapes.form import parse_form
from drills.theory.note import Note

__all__ = ["CardParts", "card_parts", "form_title", "is_away", "kind_of_card", "place_of", "strings_name"]


_ONWARD = re.compile(r"transition-([^-]+)-([^-]+)-(\d+(?:-\d+)*)")


@dataclass(frozen=True, slots=True)
class CardParts:
    """The parts of a card's id, as text: see `drills.cards.card`."""

    tuning: str
    form: str
    root: str
    quality: str
    strings: str
    kind: str

    @property
    def strings_name(self) -> str:
        """As shown: ``6-5-4``."""
        return strings_name(self.strings)

    @property
    def pitch_class(self) -> int | None:
        """The root's pitch class, or None when there is no root in the id."""
        try:
            return Note.parse(self.root).pitch_class
        except ValueError:
            return None

    @property
    def family(self) -> str:
        """The kind of prompt without its key: ``degree`` for ``degree-Bb-ii``."""
        known = kind_of(self.kind).name
        return known if self.kind.startswith(known) else self.kind.partition("-")[0]

    @property
    def away(self) -> bool:
        """Whether the card is answered without a guitar."""
        return kind_of(self.kind).away

    @property
    def onward(self) -> tuple[str, str, str] | None:
        """Root, quality and string set a transition goes to, or None for other kinds."""
        found = _ONWARD.fullmatch(self.kind)
        return (found[1], found[2], found[3]) if found else None

    @property
    def call(self) -> str:
        """A short name: ``Bbm7b5, strings 5-4-3``, with form and degree where they say more."""
        if onward := self.onward:
            root, quality, strings = onward
            sets = self.strings_name if strings == self.strings else f"{self.strings_name} to {strings_name(strings)}"
            return f"{self.root}{self.quality} to {root}{quality}, strings {sets}"
        if self.family == "degree":
            key, _, degree = self.kind.removeprefix("degree-").rpartition("-")
            return f"{degree} of {key.replace('-', ' ')}, strings {self.strings_name}"
        parts = [f"{self.root}{self.quality}".replace("-", "")]
        if self.form not in ("arpeggio", "-"):
            parts.append(form_title(self.form))
        if strings := self.strings.strip("-"):
            parts.append(f"string{'s' * (len(strings) > 1)} {self.strings_name}")
        if self.kind != "name":
            parts.append(self._asked)
        return ", ".join(parts)

    @property
    def _asked(self) -> str:
        """How it is asked, in a few words: ``near fret 5`` for ``near-5``."""
        more = self.kind.removeprefix(self.family).strip("-").replace("-", " ")
        words = _ASKED.get(self.family, self.kind.replace("-", " "))
        if self.family == "position" and re.fullmatch(r"\d{1,2}", more, re.ASCII):
            more = f"{more} to {int(more) + 3}"
        # str.format is not used here, as the id may come from an untrusted file.
        return words.replace("{}", more) if more else words.partition(" {}")[0]


_ASKED = {
    "fret": "from its root's place", "sets": "on every set", "near": "near fret {}", "position": "in frets {}",
    "same-place": "grip, arpeggio and mode", "ear-play": "played by ear", "note": "found on the neck",
    "places": "every place", "tone": "its {}", "diagram": "named from its diagram",
    "unmarked": "named from a diagram without its root", "fix": "its wrong note found",
    "grid": "drawn in an empty grid", "spell": "spelt {}", "ear": "named by ear", "inner": "sung or imagined",
}  # fmt: skip
"""How a kind of prompt is named. The braces stand for what the id says after the kind."""


def form_title(form: str) -> str:
    """A form's id in words: ``drop 2 grip, 3rd in the bass`` for ``grip-drop2-inv1``."""
    try:
        return parse_form(form).title
    except DrillsError:
        return form.replace("-", " ")


def strings_name(strings: str) -> str:
    """A string set's id as shown: ``6-5-4`` for ``654``."""
    return strings if "-" in strings else "-".join(strings)


@lru_cache(maxsize=16384)
def card_parts(card: str) -> CardParts | None:
    """The parts of a card's id, or None when it is not one of ours."""
    parts = card.split("/")
    return CardParts(*parts) if len(parts) == 6 else None


def kind_of_card(card: str) -> str:
    """The kind of prompt of a card, ``""`` when its id is not one of ours; times compare within a kind."""
    parts = card_parts(card)
    return parts.family if parts else ""


def is_away(card: str) -> bool:
    """Whether a card is answered without a guitar."""
    parts = card_parts(card)
    return parts is not None and parts.away


def place_of(card: str) -> tuple[str, str] | None:
    """String set as shown and quality of a played card, or None when it has not both, or two of them.

    What is answered away from the guitar is no place: it says nothing of the fingers.
    """
    parts = card_parts(card)
    if parts is None or parts.onward or parts.away or not parts.strings.strip("-") or not parts.quality.strip("-"):
        return None
    return parts.strings_name, parts.quality
