"""Prompts that call a chord by its name (P1), its degree in a key (P5) or the place of its root (P3)."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

from drills.cards.card import Call, Card, card_id
from drills.cards.kinds import KINDS
from drills.cards.prompts.prompt import Asker, Question, Wanted
from drills.cards.skills import degree_skill, shape_skills
from drills.errors import NotPlayableError
from drills.shapes.figure_tones import notes_together
from drills.shapes.finder import ShapeFinder
from drills.shapes.shape import Shape
from drills.theory.chord import Chord
from drills.theory.key import KEYS_BY_FOURTHS, Key, parse_key
from drills.theory.quality import QualityTable

__all__ = ["ASKERS", "degrees_of"]


def _named(wanted: Wanted, finder: ShapeFinder) -> Iterator[Card]:
    identity = card_id(finder.tuning, wanted.form, wanted.chord, wanted.strings, "name")
    yield Card(identity, "name", wanted.chord, wanted.form, wanted.strings, (), wanted.stage)


def degrees_of(chord: Chord, key: Key | None, degree: int) -> Iterator[tuple[Key, int]]:
    """The keys and degrees a chord is asked by: its own, or every usual key it belongs to."""
    if key is not None:
        yield key, degree
        return
    for name in KEYS_BY_FOURTHS:
        candidate = parse_key(name)
        for at, diatonic in enumerate(candidate.chords(), 1):
            if diatonic.same_sound(chord):
                yield candidate, at


def _by_degree(wanted: Wanted, finder: ShapeFinder) -> Iterator[Card]:
    for key, degree in degrees_of(wanted.chord, wanted.key, wanted.degree):
        chord = key.chord(degree)
        kind = f"degree-{key.name.replace(' ', '-')}-{key.roman(degree)}"
        identity = card_id(finder.tuning, wanted.form, chord, wanted.strings, kind)
        yield Card(identity, kind, chord, wanted.form, wanted.strings, (), wanted.stage, key, degree)


def _skills(card: Card, finder: ShapeFinder) -> tuple[str, ...]:
    skills = shape_skills(finder.find(*card.shape_asked), finder.tuning)
    return (*skills, degree_skill(card.key, card.degree)) if card.key is not None else skills


def _question(card: Card, finder: ShapeFinder, _table: QualityTable, _chance: Random) -> Question:
    shape = finder.find(*card.shape_asked)
    said = (f"{card.call} is {card.own_chord.name}.",) if card.key is not None else ()
    return Question(shapes=(shape,), said=(*said, *_in_order(shape)))


def _in_order(shape: Shape) -> tuple[str, ...]:
    """The notes of a figure in the order played, unit by unit: a diagram alone does not tell it."""
    if shape.form.kind != "figure":
        return ()
    names, size = [note.pitch.note.name for note in shape.notes], notes_together(shape.form)
    units = ", ".join(" ".join(names[at : at + size]) for at in range(0, len(names), size))
    return (f"{shape.form.title[0].upper()}{shape.form.title[1:]}: {units}.",)


def _at_fret(wanted: Wanted, finder: ShapeFinder) -> Iterator[Card]:
    chord, strings = wanted.chord, wanted.strings
    try:
        root = finder.find(chord, wanted.form, strings).root
        where = f"string {root.string} fret {root.fret}"
    except NotPlayableError:  # `skills` refuses it with the reason
        where = f"string {strings.numbers[0]}"
    figure = f"{wanted.form.detail}, " if wanted.form.kind == "figure" else ""
    symbol = chord.quality.symbol or chord.quality.name
    yield Card(
        card_id(finder.tuning, wanted.form, chord, strings, "fret"), "fret", chord, wanted.form, strings, (),
        wanted.stage, seconds=KINDS["fret"].seconds,
        words=Call(symbol, f"{figure}root at {where}, strings {strings}", where),
    )  # fmt: skip


def _form_only(card: Card, finder: ShapeFinder) -> tuple[str, ...]:
    """The form alone: the root is given."""
    return _skills(card, finder)[:1]


ASKERS = {
    "name": Asker(_named, _skills, _question),
    "degree": Asker(_by_degree, _skills, _question),
    "fret": Asker(_at_fret, _form_only, _question),
}
