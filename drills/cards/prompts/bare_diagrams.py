"""Prompts that show a diagram without its name (P2), one with a wrong note (P14), or an empty grid (P15)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from random import Random

from drills.cards.card import Call, Card, card_id
from drills.cards.kinds import KINDS
from drills.cards.prompts.prompt import Asker, Checked, Checker, Question, Spot, View, Wanted
from drills.cards.prompts.typed import places_text, read_chord, read_places
from drills.cards.skills import shape_skills
from drills.errors import NotPlayableError
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import ARPEGGIO
from drills.shapes.shape import Shape
from drills.shapes.steps import WIDEST
from drills.theory.chord import Chord
from drills.theory.quality import QualityTable

__all__ = ["ASKERS", "DOT", "ROOT", "bare", "name_checker", "names_of", "shape_checker", "wrong_notes"]

ROOT, DOT = "R", "o"
"""What stands at a root and at another note when a diagram must not say more."""


def bare(shape: Shape, root_marked: bool = True) -> tuple[Spot, ...]:
    """A shape's places with its roots marked, or not even those, and nothing else said."""
    marks = [root_marked and note.is_root for note in shape.notes]
    return tuple(
        Spot(note.string, note.fret, ROOT if mark else DOT, mark) for note, mark in zip(shape.notes, marks, strict=True)
    )


def names_of(chord: Chord, table: QualityTable, root_marked: bool) -> tuple[Chord, ...]:
    """Every chord a diagram of one may be called: itself alone with its root marked, else all with those notes."""
    if root_marked:
        return (chord,)
    same = (
        Chord(root, quality)
        for quality in table
        for root in chord.notes
        if Chord(root, quality).pitch_classes == chord.pitch_classes
    )
    return (chord, *(other for other in same if other != chord))


def name_checker(chord: Chord, table: QualityTable, root_marked: bool = True) -> Checker:
    """Reads a chord's name; enharmonic twins are right, the name shown is the spelled one."""
    names = names_of(chord, table, root_marked)

    def check(text: str) -> Checked:
        answer = read_chord(text, table, chord)
        if answer.same_sound(chord):
            return Checked(True, f"Right: {chord.name}.")
        if any(answer.same_sound(name) for name in names):
            return Checked(True, f"Right: {answer.name} has the notes of {chord.name}.")
        return Checked(False, f"Not {answer.name}: {chord.name}.")

    return check


def _draft(wanted: Wanted, finder: ShapeFinder, kind: str, words: Call) -> Card:
    return Card(
        card_id(finder.tuning, wanted.form, wanted.chord, wanted.strings, kind), kind, wanted.chord, wanted.form,
        wanted.strings, (), wanted.stage, seconds=KINDS[kind].seconds, words=words,
    )  # fmt: skip


def _diagrams(wanted: Wanted, finder: ShapeFinder) -> Iterator[Card]:
    yield _draft(wanted, finder, "diagram", Call("Which chord?", f"{ROOT} is the root"))


def _unmarked(wanted: Wanted, finder: ShapeFinder) -> Iterator[Card]:
    yield _draft(wanted, finder, "unmarked", Call("Which chord?", "no root is marked"))


def _require_chord(card: Card) -> None:
    """Raises NotPlayableError for a figure: its places do not tell the order it is played in."""
    if card.own_form.kind == "figure":
        raise NotPlayableError(
            f"{card.own_chord.name}, {card.own_form.title}: a figure is asked by name, not by diagram"
        )


def _skills(card: Card, finder: ShapeFinder) -> tuple[str, ...]:
    """The form and the root's place: reading both off the neck is what naming takes."""
    _require_chord(card)
    return shape_skills(finder.find(*card.shape_asked), finder.tuning)[:2]


def _question(card: Card, finder: ShapeFinder, table: QualityTable, _chance: Random) -> Question:
    shape, marked = finder.find(*card.shape_asked), card.kind == "diagram"
    return Question(
        "Type its name, then Enter.",
        View(spots=bare(shape, marked)),
        shapes=(shape,),
        check=name_checker(card.own_chord, table, marked),
    )


# ---- one wrong note


def wrong_notes(shape: Shape, finder: ShapeFinder) -> Iterator[tuple[int, int]]:
    """Which notes of a shape can be moved, and by how many frets, 1 or -1, so that one leaves the chord.

    The lowest root stays where it is: it is what the rest is measured from.
    """
    taken = {(note.string, note.fret) for note in shape.notes}
    root, inside = shape.root, shape.chord.pitch_classes
    for number, note in enumerate(shape.notes):
        for step in (-1, 1):
            fret = note.fret + step
            free = 0 <= fret <= finder.neck.highest and (note.string, fret) not in taken
            if note != root and free and (note.midi + step) % 12 not in inside:
                yield number, step


def _fixes(wanted: Wanted, finder: ShapeFinder) -> Iterator[Card]:
    words = Call(wanted.chord.name, f"strings {wanted.strings}: one note is a fret off. Which?")
    yield _draft(wanted, finder, "fix", words)


def _fix_skills(card: Card, finder: ShapeFinder) -> tuple[str, ...]:
    """The form alone: the root is marked."""
    _require_chord(card)
    shape = finder.find(*card.shape_asked)
    if next(wrong_notes(shape, finder), None) is None:
        raise NotPlayableError(
            f"{card.own_chord.name} on {card.own_strings}: no note of it can be moved out of the chord"
        )
    return shape_skills(shape, finder.tuning)[:1]


def _fix_question(card: Card, finder: ShapeFinder, _table: QualityTable, chance: Random) -> Question:
    shape = finder.find(*card.shape_asked)
    number, step = chance.choice(list(wrong_notes(shape, finder)))
    right = shape.notes[number]
    wrong = (right.string, right.fret + step)
    spots = tuple(
        Spot(note.string, note.fret + step * (index == number), ROOT if note == shape.root else DOT, note == shape.root)
        for index, note in enumerate(shape.notes)
    )
    said = f"{places_text([wrong])} is wrong: the {right.degree}, {right.pitch.note}, is at {right.string}/{right.fret}"

    def check(text: str) -> Checked:
        answer = read_places(text, finder.tuning.strings)
        fits = answer[0] == wrong and set(answer[1:]) <= {(right.string, right.fret)}
        return Checked(fits, f"Right: {said}." if fits else f"Not {places_text(answer)}: {said}.")

    return Question(
        "Type string/fret of the wrong note, then Enter.",
        View(spots=spots),
        shapes=(shape,),
        said=(f"{said}.",),
        check=check,
    )


# ---- an empty grid


def shape_checker(shape: Shape, finder: ShapeFinder) -> Checker:
    """Reads the places of a shape in any order: every layout a hand can play is right, with or without the octave."""
    form, chord, strings = shape.form, shape.chord, shape.strings
    rise = sorted(note.midi for note in shape.notes)
    bare_rise = rise[:-1] if form.kind != "grip" and form.closed else rise
    told = places_text((note.string, note.fret) for note in shape.notes)

    def fits(places: list[tuple[int, int]]) -> bool:
        sounding = sorted(finder.tuning.midi(*place) for place in places)
        whole = len(sounding) == len(rise)
        heard = rise if whole else bare_rise
        if len(sounding) != len(heard) or {s for s, _ in places} - set(strings.numbers):
            return False
        if {low - high for low, high in zip(sounding, heard, strict=True)} not in ({-12}, {0}, {12}):
            return False
        frets = [fret for _, fret in places if fret]
        if frets and max(frets) - min(frets) > WIDEST[form.octaves]:
            return False
        asked = form if whole else replace(form, closed=False)
        ordered = sorted(places, key=lambda place: finder.tuning.midi(*place), reverse=form.down)
        try:
            finder.shape_from(chord, asked, strings, tuple(ordered))
        except NotPlayableError:
            return False
        return True

    def check(text: str) -> Checked:
        answer = list(dict.fromkeys(read_places(text, finder.tuning.strings)))
        if fits(answer):
            return Checked(True, f"Right: {places_text(answer)}.")
        found = len({(note.string, note.fret) for note in shape.notes} & set(answer))
        return Checked(False, f"{found} of {len(shape.notes)} there: {told}.")

    return check


def _grids(wanted: Wanted, finder: ShapeFinder) -> Iterator[Card]:
    form = "" if wanted.form == ARPEGGIO else f"{wanted.form.title}, "
    words = Call(wanted.chord.name, f"{form}strings {wanted.strings}: where are its notes?")
    yield _draft(wanted, finder, "grid", words)


def _grid_question(card: Card, finder: ShapeFinder, _table: QualityTable, _chance: Random) -> Question:
    shape = finder.find(*card.shape_asked)
    # A fret more on either side, so that the edges of the grid do not give the shape away.
    frets = (max(1, shape.lowest_fret - 1), min(finder.neck.highest, shape.highest_fret + 1))
    return Question(
        "Type string/fret for each note, such as 6/8 5/7, then Enter.",
        View(frets=frets),
        shapes=(shape,),
        check=shape_checker(shape, finder),
    )


ASKERS = {
    "diagram": Asker(_diagrams, _skills, _question),
    "unmarked": Asker(_unmarked, _skills, _question),
    "fix": Asker(_fixes, _fix_skills, _fix_question),
    "grid": Asker(_grids, _skills, _grid_question),
}
