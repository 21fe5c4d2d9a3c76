"""Makes the sheets that are asked for by a layout's name, chords, and a focus on sets, qualities, roots and keys."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Protocol

from drills.cards.card import Card
from drills.cards.focus import Focus
from drills.errors import DeckError
from drills.neck.strings import core_sets
from drills.paper.layouts import (
    key_overview,
    key_sheets,
    qualities_on_set,
    quality_on_sets,
    same_place,
    whole_neck,
)
from drills.paper.sheet import Sheet
from drills.shapes.answers import named_chord, usual_sets
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import ARPEGGIO
from drills.theory.altered_dominant import with_altered_fifth
from drills.theory.chord import Chord
from drills.theory.key import parse_key
from drills.theory.note import Note
from drills.theory.quality import QualityTable

__all__ = ["LAYOUTS", "asked_sheets", "least_likely_cards"]

LAYOUTS = {
    "sets": "one quality on several string sets",
    "set": "one string set with several qualities",
    "key": "one key, its seven chords, a page for each string set",
    "overview": "one key on one page: seven chords on every string set",
    "place": "grip, arpeggio and mode of each chord at the same frets",
    "neck": "every tone of each chord on the whole neck",
}
"""Layouts and what each puts on its page."""

_FIRST_QUALITIES = ("maj7", "m7", "7", "m7b5")
_FRIENDLY_ROOTS = ("C", "F", "Bb", "G")
"""What is taught first (drills/RULES.md, B3b, common practice)."""


def asked_sheets(
    finder: ShapeFinder,
    layout: str,
    table: QualityTable,
    names: Sequence[str] = (),
    focus: Focus = Focus(),
    *,
    phrase: bool = False,
) -> list[Sheet]:
    """The sheets of a layout.

    names: chords, for ``place`` and ``neck``; without them the focus' qualities on its roots.
    focus: empty fields take what is taught first: the core string sets, the four diatonic
    qualities, four friendly roots, the key of C.
    phrase: whether ``place`` shows a short line too.
    Raises DeckError for an unknown layout or a form a layout cannot print, TheoryError for a
    name that cannot be read, NotPlayableError when nothing fits.
    """
    if layout not in LAYOUTS:
        raise DeckError(f"handout, layout: expected one of {', '.join(LAYOUTS)}, got {layout[:40]!r}")
    roots = focus.roots or tuple(Note.parse(name) for name in _FRIENDLY_ROOTS)
    qualities = [table.named(name) for name in (focus.qualities or _FIRST_QUALITIES) + focus.added]
    if layout in ("place", "neck"):
        read = [named_chord(name, table, reduce=True) for name in names]
        # An altered dominant is printed with its raised 5th: the plain one is no note of it.
        chords = [with_altered_fifth(chord) for chord, _, _ in read]
        chords = chords or [Chord(roots[0], quality) for quality in qualities]
        if layout == "neck":
            return [whole_neck(finder, chords)]
        modes = tuple(mode.name if mode else "" for _, mode, _ in read)
        return [
            same_place(finder, chords, on, modes, phrase=phrase) for on in focus.strings or core_sets(finder.tuning)
        ]
    sheets: list[Sheet] = []
    for form in focus.forms or (ARPEGGIO.id,):
        sets = focus.strings or usual_sets(form, finder.tuning)
        if layout == "sets":
            chosen = qualities if focus.qualities else qualities[:1]
            sheets += [quality_on_sets(finder, quality, sets, roots, form) for quality in chosen]
        elif layout == "set":
            few = focus.roots or roots[:2]
            sheets += [qualities_on_set(finder, qualities, on, few, form) for on in sets]
        else:
            for key in focus.keys or (parse_key("C"),):
                sheets += (
                    key_sheets(finder, key, sets, form) if layout == "key" else [key_overview(finder, key, sets, form)]
                )
    return sheets


class _Forecaster(Protocol):
    def recall(self, card_id: str, at: datetime) -> float: ...


def least_likely_cards(
    cards: Mapping[str, Card], forecaster: _Forecaster, played: Iterable[str], at: datetime, count: int = 5
) -> list[Card]:
    """The cards with a shape least likely to come clean now, of those played at all; ties in the deck's order.

    cards: by id, in the deck's order. forecaster: whose `recall` gives a card's chance.
    played: ids of cards in the log, those of other decks among them.
    """
    met = set(played)
    known = [card for card in cards.values() if card.id in met and card.is_shape]
    return sorted(known, key=lambda card: forecaster.recall(card.id, at))[:count]
