"""Prompts that ask for the letters of a chord's notes, without the guitar (P12)."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

from drills.cards.card import Call, Card, card_id
from drills.cards.kinds import KINDS
from drills.cards.prompts.prompt import Asker, Checked, Checker, Question, Wanted
from drills.cards.prompts.typed import read_chord, read_notes
from drills.cards.skills import degree_skill, spell_skill
from drills.errors import AnswerError
from drills.shapes.finder import ShapeFinder
from drills.theory.chord import Chord
from drills.theory.quality import QualityTable

__all__ = ["ASKERS", "spelling_checker"]


def spelling_checker(chord: Chord, table: QualityTable, called: str = "") -> Checker:
    """Reads the notes of a chord, root first, or (asked by a degree, `called`) its name; twins are right, and told."""
    spelled = " ".join(note.name for note in chord.notes)
    said = f"{called} is {chord.name}, {spelled}" if called else f"{chord.name} is {spelled}"

    def check(text: str) -> Checked:
        try:
            notes = read_notes(text, chord)
        except AnswerError:
            if not called:
                raise
            notes = ()
        if called and len(notes) < 2:
            answer = read_chord(text, table, chord)
            right, strict = answer.same_sound(chord), answer.root == chord.root
        else:
            right = [note.pitch_class for note in notes] == [note.pitch_class for note in chord.notes]
            strict = notes == chord.notes
        if right and not strict:
            return Checked(True, f"Right by sound; written {said.partition(' is ')[2]}.")
        return Checked(right, f"Right: {said}." if right else f"Not {text}: {said}.")

    return check


def _spelled(wanted: Wanted, finder: ShapeFinder) -> Iterator[Card]:
    chord, key = wanted.chord, wanted.key
    if key is None:
        kind, words = "spell", Call(chord.name, "its notes, from the root up?")
    else:
        kind = f"spell-{key.name.replace(' ', '-')}-{key.roman(wanted.degree)}"
        words = Call(key.degree_name(wanted.degree), "the chord, or its notes?")
    yield Card(
        card_id(finder.tuning, None, chord, None, kind), kind, chord, None, None, (), wanted.stage, key, wanted.degree,
        seconds=KINDS["spell"].seconds, words=words,
    )  # fmt: skip


def _skills(card: Card, _finder: ShapeFinder) -> tuple[str, ...]:
    spell = spell_skill(card.own_chord)
    return (spell,) if card.key is None else (spell, degree_skill(card.key, card.degree))


def _question(card: Card, _finder: ShapeFinder, table: QualityTable, _chance: Random) -> Question:
    called = card.call if card.key is not None else ""
    spelled = " ".join(note.name for note in card.own_chord.notes)
    said = f"{card.call} is {card.own_chord.name}: {spelled}." if called else f"{card.own_chord.name} is {spelled}."
    return Question("Type them, then Enter.", said=(said,), check=spelling_checker(card.own_chord, table, called))


ASKERS = {"spell": Asker(_spelled, _skills, _question)}
