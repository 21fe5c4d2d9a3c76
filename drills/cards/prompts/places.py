"""Prompts for one chord on every set (P6), near a fret, in a position (P11), or with its grip and mode (P9)."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from random import Random

from drills.cards.card import Call, Card, card_id
from drills.cards.kinds import KINDS
from drills.cards.prompts.prompt import Asker, Question, View, Wanted
from drills.cards.skills import form_skill, root_skill, shape_skills, spell_skill
from drills.errors import CardPartError, NotPlayableError
from drills.neck.strings import StringSet, core_sets
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import ARPEGGIO, Form
from drills.shapes.same_place import grip_inside, mode_over
from drills.shapes.shape import Shape
from drills.theory.chord import Chord
from drills.theory.quality import QualityTable

__all__ = ["ABOVE", "ASKERS", "BELOW", "FRETS", "in_position", "near", "on_every_set"]

FRETS = (3, 5, 7, 9)
"""Frets that prompts name: those with a dot on most necks (common practice)."""

POSITION_FRETS = 4
"""One finger a fret (drills/RULES.md, C2, 2)."""

BELOW, ABOVE = 2, 4
"""A form lies near a fret when all of it is at most so many frets below and above: room for any five-fret form."""


def _draft(
    wanted: Wanted, finder: ShapeFinder, kind: str, detail: str, large: str = "", *, strings: StringSet | None = None,
    fret: int = 0,
) -> Card:  # fmt: skip
    """A card called by its chord, or by its degree where the material has a key; its id tells the two apart."""
    key, call, more = wanted.key, wanted.chord.name, ""
    if key is not None:
        call, more = key.degree_name(wanted.degree), f"-{key.name.replace(' ', '-')}-{key.roman(wanted.degree)}"
    base = kind.partition("-")[0] if kind not in KINDS else kind
    return Card(
        card_id(finder.tuning, ARPEGGIO, wanted.chord, strings, kind + more), kind + more, wanted.chord, ARPEGGIO,
        strings, (), wanted.stage, key, wanted.degree, KINDS[base].seconds, words=Call(call, detail, large), more=fret,
    )  # fmt: skip


def _said(card: Card) -> tuple[str, ...]:
    return (f"{card.call} is {card.own_chord.name}.",) if card.key is not None else ()


def _fret_asked(card: Card) -> int:
    """The fret that a card names."""
    if not isinstance(card.more, int):
        raise CardPartError(f"card {card.id}: it names no fret")
    return card.more


def _at_a_fret(
    drafts: Callable[[Wanted, ShapeFinder], Iterator[Card]],
    found: Callable[[Chord, int, ShapeFinder], tuple[Shape, ...]],
) -> Asker:
    """Asks for a chord at the fret a card names, answered by any of the shapes found there, the usual one first."""

    def skills(card: Card, finder: ShapeFinder) -> tuple[str, ...]:
        # Only the player knows which of them was played.
        return shape_skills(found(card.own_chord, _fret_asked(card), finder)[0], finder.tuning)

    def question(card: Card, finder: ShapeFinder, _table: QualityTable, _chance: Random) -> Question:
        shapes = found(card.own_chord, _fret_asked(card), finder)
        any_of = (f"Right in any of {len(shapes)} places.",) if len(shapes) > 1 else ()
        return Question(shapes=shapes, said=_said(card) + any_of)

    return Asker(drafts, skills, question)


# ---- on every set


def on_every_set(chord: Chord, finder: ShapeFinder) -> tuple[Shape, ...]:
    """The arpeggio on each of the sets an instrument begins with, lowest first, where it fits."""
    found = []
    for strings in core_sets(finder.tuning):
        try:
            found.append(finder.find(chord, ARPEGGIO, strings))
        except NotPlayableError:
            continue
    return tuple(found)


def _sets(wanted: Wanted, finder: ShapeFinder) -> Iterator[Card]:
    yield _draft(wanted, finder, "sets", "on every string set, low strings first", "every set")


def _sets_skills(card: Card, finder: ShapeFinder) -> tuple[str, ...]:
    shapes = on_every_set(card.own_chord, finder)
    if len(shapes) < 2:
        raise NotPlayableError(f"{card.own_chord.name} fits on fewer than two string sets")
    forms = (form_skill(shape) for shape in shapes)
    roots = (root_skill(finder.tuning, card.own_chord.root.pitch_class, shape.root.string) for shape in shapes)
    return tuple(dict.fromkeys((*forms, *roots, spell_skill(card.own_chord))))


def _sets_question(card: Card, finder: ShapeFinder, _table: QualityTable, _chance: Random) -> Question:
    return Question("Play them all, then Enter.", shapes=on_every_set(card.own_chord, finder), said=_said(card))


# ---- near a fret


def near(chord: Chord, fret: int, finder: ShapeFinder) -> tuple[Shape, ...]:
    """Every arpeggio on the usual sets that lies near a fret, the nearest root first."""
    found = []
    for strings in core_sets(finder.tuning):
        for root in finder.neck.root_frets_of(strings.numbers[0], chord.root.pitch_class):
            try:
                shape = finder.at(chord, ARPEGGIO, strings, root)
            except NotPlayableError:
                continue
            if fret - BELOW <= shape.lowest_fret and shape.highest_fret <= fret + ABOVE:
                found.append(shape)
    return tuple(sorted(found, key=lambda shape: abs(shape.root.fret - fret)))


def _near(wanted: Wanted, finder: ShapeFinder) -> Iterator[Card]:
    for fret in FRETS:
        if near(wanted.chord, fret, finder):
            detail = f"near fret {fret}, strings as you like"
            yield _draft(wanted, finder, f"near-{fret}", detail, f"fret {fret}", fret=fret)


# ---- in a position


def in_position(chord: Chord, fret: int, finder: ShapeFinder) -> tuple[Shape, ...]:
    """The chord from each of its roots upward, without the octave, inside four frets; the lowest string first.

    Raises NotPlayableError when it does not lie there.
    """
    window = range(fret, fret + POSITION_FRETS)
    found = []
    for string in range(finder.tuning.strings, 0, -1):
        for root in finder.neck.frets_of(string, chord.root.pitch_class):
            places = _rising(chord, string, root, window, finder) if root in window else None
            if places is not None:
                strings = StringSet(tuple(dict.fromkeys(on for on, _ in places)))
                found.append(finder.shape_from(chord, Form(closed=False), strings, places))
    if not found:
        raise NotPlayableError(f"{chord.name} does not lie in frets {fret} to {fret + POSITION_FRETS - 1}")
    return tuple(found)


def _rising(
    chord: Chord, string: int, root: int, window: range, finder: ShapeFinder
) -> tuple[tuple[int, int], ...] | None:
    """The places of the chord tones above a root, each on the lowest string that has it there; None if one has none."""
    lowest, at, places = finder.tuning.midi(string, root), string, []
    for tone in chord.quality.intervals:
        wanted = lowest + tone.semitones
        on = next((s for s in range(at, 0, -1) if wanted - finder.tuning.midi(s, 0) in window), None)
        if on is None or wanted - finder.tuning.midi(on, 0) > finder.neck.highest:
            return None
        at = on
        places.append((on, wanted - finder.tuning.midi(on, 0)))
    return tuple(places)


def _positions(wanted: Wanted, finder: ShapeFinder) -> Iterator[Card]:
    for fret in FRETS:
        try:
            in_position(wanted.chord, fret, finder)
        except NotPlayableError:
            continue
        last = fret + POSITION_FRETS - 1
        detail = f"in frets {fret} to {last}, without moving the hand"
        yield _draft(wanted, finder, f"position-{fret}", detail, f"{fret} to {last}", fret=fret)


# ---- grip, arpeggio, mode and phrase at one place


def _parts(card: Card, finder: ShapeFinder) -> tuple[Shape, Shape, Shape]:
    """Grip, arpeggio and mode of a card; raises NotPlayableError when one has no place there."""
    arpeggio = finder.find(card.own_chord, ARPEGGIO, card.own_strings)
    grip = grip_inside(finder, arpeggio)
    mode = mode_over(finder, arpeggio, card.key.mode(card.degree).name if card.key else None)
    if grip is None or mode is None:
        raise NotPlayableError(
            f"{card.own_chord.name} on {card.own_strings}: no {'grip' if grip is None else 'mode'} there"
        )
    return grip, arpeggio, mode


def _same_places(wanted: Wanted, finder: ShapeFinder) -> Iterator[Card]:
    detail = f"strings {wanted.strings}: its grip. Arpeggio, mode and a short phrase"
    yield _draft(wanted, finder, "same-place", detail, strings=wanted.strings)


def _same_place_skills(card: Card, finder: ShapeFinder) -> tuple[str, ...]:
    _, arpeggio, mode = _parts(card, finder)
    return (*shape_skills(arpeggio, finder.tuning), form_skill(mode))


def _same_place_question(card: Card, finder: ShapeFinder, _table: QualityTable, _chance: Random) -> Question:
    grip, arpeggio, mode = _parts(card, finder)
    return Question(
        "Play arpeggio, mode and a phrase of your own, then Enter.",
        View(shape=grip),
        shapes=(arpeggio, mode),
        said=_said(card),
    )


ASKERS = {
    "sets": Asker(_sets, _sets_skills, _sets_question),
    "near": _at_a_fret(_near, near),
    "position": _at_a_fret(_positions, in_position),
    "same-place": Asker(_same_places, _same_place_skills, _same_place_question),
}
