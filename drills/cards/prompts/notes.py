"""Single notes: where one lies on a string (P4)."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

from drills.cards.card import Call, Card, note_id
from drills.cards.kinds import KINDS
from drills.cards.prompts.prompt import Asker, Checked, Question, Spot, View, Wanted
from drills.cards.prompts.typed import read_fret
from drills.cards.skills import root_skill
from drills.errors import NotPlayableError
from drills.neck.strings import StringSet
from drills.shapes.finder import ShapeFinder
from drills.theory.note import Note
from drills.theory.quality import QualityTable
from drills.theory.spelling import simple_twin

__all__ = ["ASKERS", "fret_checker", "lowest_fret"]


def lowest_fret(finder: ShapeFinder, note: Note, string: int) -> int:
    """The first fret of a note on a string, a root's where roots are allowed; raises NotPlayableError off the neck."""
    frets = finder.neck.root_frets_of(string, note.pitch_class) or finder.neck.frets_of(string, note.pitch_class)
    if not frets:
        raise NotPlayableError(f"{note} on string {string}: the top fret is {finder.neck.highest}")
    return min(frets, key=lambda fret: (fret == 0, fret))


def fret_checker(finder: ShapeFinder, note: Note, string: int, said: str):
    """Reads a fret and says whether a note sounds there; twelve frets higher or lower is right too."""
    open_midi = finder.tuning.midi(string, 0)

    def check(text: str) -> Checked:
        fret = read_fret(text)
        right = (open_midi + fret - note.pitch_class) % 12 == 0
        return Checked(right, f"Right: {said}." if right else f"Not fret {fret}: {said}.")

    return check


def _notes(wanted: Wanted, finder: ShapeFinder) -> Iterator[Card]:
    string = StringSet(wanted.strings.numbers[:1])
    note = wanted.chord.root
    on = f"string {string}"
    yield Card(
        note_id(finder.tuning, note, string, "note"), "note", None, None, string, (), wanted.stage,
        seconds=KINDS["note"].seconds, words=Call(note.name, f"on {on}: which fret?", on), more=note,
    )  # fmt: skip


def _note_skills(card: Card, finder: ShapeFinder) -> tuple[str, ...]:
    string = card.strings.numbers[0]
    lowest_fret(finder, card.more, string)
    return (root_skill(finder.tuning, card.more.pitch_class, string),)


def _note_question(card: Card, finder: ShapeFinder, _table: QualityTable, _chance: Random) -> Question:
    note, string = card.more, card.strings.numbers[0]
    fret = lowest_fret(finder, note, string)
    said = f"{note} on string {string} is at fret {fret}"
    twin = simple_twin(note)
    return Question(
        "Type the fret, then Enter.",
        after=View(spots=(Spot(string, fret, note.name, True),)),
        said=(f"{said}." if twin is None else f"{said}; it sounds as {twin}.",),
        check=fret_checker(finder, note, string, said),
    )


ASKERS = {"note": Asker(_notes, _note_skills, _note_question)}
