"""Prompts for single notes: one on a string (P4), one on every string (P6), or a chord tone (P7)."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

from drills.cards.card import Call, Card, card_id, note_id
from drills.cards.kinds import KINDS
from drills.cards.prompts.prompt import Asker, Checked, Checker, Question, Spot, View, Wanted
from drills.cards.prompts.typed import places_text, read_fret, read_places
from drills.cards.skills import root_skill, spell_skill
from drills.errors import CardPartError, NotPlayableError
from drills.neck.strings import StringSet
from drills.shapes.finder import ShapeFinder
from drills.theory.interval import Interval, transpose_note
from drills.theory.note import Note
from drills.theory.quality import QualityTable
from drills.theory.spelling import simple_twin

__all__ = ["ASKERS", "fret_checker", "lowest_fret", "places_of"]

LAST_FRET = 12
"""All places are asked from the open string to here, where the neck begins again (drills/RULES.md, G11)."""

MOST_ROOTS = 4
"""As many root skills as a session may bring at once: a card with more of them new could never be met."""


def lowest_fret(finder: ShapeFinder, note: Note, string: int) -> int:
    """The first fret of a note on a string, a root's where roots are allowed; raises NotPlayableError off the neck."""
    frets = finder.neck.root_frets_of(string, note.pitch_class) or finder.neck.frets_of(string, note.pitch_class)
    if not frets:
        raise NotPlayableError(f"{note} on string {string}: the top fret is {finder.neck.highest}")
    return min(frets, key=lambda fret: (fret == 0, fret))


def fret_checker(finder: ShapeFinder, note: Note, string: int, said: str) -> Checker:
    """Reads a fret and says whether a note sounds there; twelve frets higher or lower is right too."""
    open_midi = finder.tuning.midi(string, 0)

    def check(text: str) -> Checked:
        fret = read_fret(text)
        right = (open_midi + fret - note.pitch_class) % 12 == 0
        return Checked(right, f"Right: {said}." if right else f"Not fret {fret}: {said}.")

    return check


def _note_asked(card: Card) -> Note:
    """The note of a card that asks for one by its name."""
    if not isinstance(card.more, Note):
        raise CardPartError(f"card {card.id}: it asks for no note")
    return card.more


def _tone_asked(card: Card) -> Note:
    """The chord tone that a card asks for."""
    if not isinstance(card.more, Interval):
        raise CardPartError(f"card {card.id}: it asks for no chord tone")
    return transpose_note(card.own_chord.root, card.more)


def _notes(wanted: Wanted, finder: ShapeFinder) -> Iterator[Card]:
    string = StringSet(wanted.strings.numbers[:1])
    note = wanted.chord.root
    on = f"string {string}"
    yield Card(
        note_id(finder.tuning, note, string, "note"), "note", None, None, string, (), wanted.stage,
        seconds=KINDS["note"].seconds, words=Call(note.name, f"on {on}: which fret?", on), more=note,
    )  # fmt: skip


def _note_skills(card: Card, finder: ShapeFinder) -> tuple[str, ...]:
    string = card.own_strings.numbers[0]
    lowest_fret(finder, _note_asked(card), string)
    return (root_skill(finder.tuning, _note_asked(card).pitch_class, string),)


def _note_question(card: Card, finder: ShapeFinder, _table: QualityTable, _chance: Random) -> Question:
    note, string = _note_asked(card), card.own_strings.numbers[0]
    fret = lowest_fret(finder, note, string)
    said = f"{note} on string {string} is at fret {fret}"
    twin = simple_twin(note)
    return Question(
        "Type the fret, then Enter.",
        after=View(spots=(Spot(string, fret, note.name, True),)),
        said=(f"{said}." if twin is None else f"{said}; it sounds as {twin}.",),
        check=fret_checker(finder, note, string, said),
    )


def places_of(finder: ShapeFinder, note: Note, strings: StringSet) -> tuple[tuple[int, int], ...]:
    """Every (string, fret) of a note on the strings, from fret 0 to LAST_FRET or the top fret."""
    return tuple(
        (string, fret)
        for string in strings.numbers
        for fret in finder.neck.frets_of(string, note.pitch_class)
        if fret <= LAST_FRET
    )


def _places(wanted: Wanted, finder: ShapeFinder) -> Iterator[Card]:
    note, strings = wanted.chord.root, wanted.strings
    last = min(LAST_FRET, finder.neck.highest)
    yield Card(
        note_id(finder.tuning, note, strings, "places"), "places", None, None, strings, (), wanted.stage,
        seconds=KINDS["places"].seconds,
        words=Call(f"Every {note}", f"strings {strings}, frets 0 to {last}", str(strings)), more=note,
    )  # fmt: skip


def _places_skills(card: Card, finder: ShapeFinder) -> tuple[str, ...]:
    found = places_of(finder, _note_asked(card), card.own_strings)
    if not found:
        raise NotPlayableError(f"{_note_asked(card)} on {card.own_strings}: the top fret is {finder.neck.highest}")
    strings = tuple(dict.fromkeys(string for string, _ in found))[:MOST_ROOTS]
    return tuple(root_skill(finder.tuning, _note_asked(card).pitch_class, string) for string in strings)


def _places_question(card: Card, finder: ShapeFinder, _table: QualityTable, _chance: Random) -> Question:
    note = _note_asked(card)
    wanted = places_of(finder, note, card.own_strings)
    said = f"{note} is at {places_text(wanted)}"

    def check(text: str) -> Checked:
        answer = set(read_places(text, finder.tuning.strings))
        here = {place for place in answer if place[1] <= LAST_FRET and place[0] in card.own_strings.numbers}
        wrong = {place for place in answer if (finder.tuning.midi(*place) - note.pitch_class) % 12}
        missing = [place for place in wanted if place not in here]
        if wrong:
            return Checked(False, f"Not {places_text(sorted(wrong, reverse=True))}: {said}.")
        if missing:
            return Checked(False, f"{len(wanted) - len(missing)} of {len(wanted)} found; {said}.")
        return Checked(True, f"Right: all {len(wanted)}.")

    return Question(
        "Type string/fret for each, such as 6/11 5/6, then Enter.",
        after=View(spots=tuple(Spot(string, fret, note.name, True) for string, fret in wanted)),
        said=(f"{said}: {len(wanted)} places.",),
        check=check,
    )


def _is_telling(tone: Interval) -> bool:
    """Whether a chord tone tells the chord from others: its 3rd or 4th, its 6th or 7th, a changed 5th."""
    return tone.steps not in (0, 4) or tone.semitones != (7 if tone.steps else 0)


def _named(degree: str) -> str:
    """``3rd``, ``b7``, ``#5``."""
    return degree + {"2": "nd", "3": "rd"}.get(degree, "th") if degree.isdecimal() else degree


def _tones(wanted: Wanted, finder: ShapeFinder) -> Iterator[Card]:
    """One card for each tone that tells the chord. It is asked on the highest string of the set, a middle one."""
    chord, string = wanted.chord, StringSet(wanted.strings.numbers[-1:])
    for tone in filter(_is_telling, chord.quality.intervals):
        kind, on = f"tone-{tone.degree}", f"string {string}"
        words = Call(f"{_named(tone.degree)} of {chord.name}", f"on {on}: which fret?", on)
        yield Card(
            card_id(finder.tuning, None, chord, string, kind), kind, chord, None, string, (), wanted.stage,
            seconds=KINDS["tone"].seconds, words=words, more=tone,
        )  # fmt: skip


def _tone_skills(card: Card, finder: ShapeFinder) -> tuple[str, ...]:
    """The spelling tells which note it is, the root skill where that note lies."""
    note, string = _tone_asked(card), card.own_strings.numbers[0]
    lowest_fret(finder, note, string)
    return (spell_skill(card.own_chord), root_skill(finder.tuning, note.pitch_class, string))


def _tone_question(card: Card, finder: ShapeFinder, _table: QualityTable, _chance: Random) -> Question:
    note, string = _tone_asked(card), card.own_strings.numbers[0]
    fret = lowest_fret(finder, note, string)
    twin = simple_twin(note)
    said = f"{card.call} is {note}{f' (sounds as {twin})' if twin else ''}, string {string} fret {fret}"
    return Question(
        "Type the fret, then Enter.",
        after=View(spots=(Spot(string, fret, note.name),)),
        said=(f"{said}.",),
        check=fret_checker(finder, note, string, said),
    )


ASKERS = {
    "note": Asker(_notes, _note_skills, _note_question),
    "places": Asker(_places, _places_skills, _places_question),
    "tone": Asker(_tones, _tone_skills, _tone_question),
}
