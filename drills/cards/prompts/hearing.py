"""By ear: which quality is it, play what was heard (P13); and the arpeggio heard inwardly before it sounds."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

from drills.cards.card import Call, Card, card_id
from drills.cards.kinds import KINDS
from drills.cards.prompts.prompt import Asker, Checked, Question, View, Wanted
from drills.cards.prompts.typed import read_chord
from drills.cards.skills import hearing_skill, shape_skills
from drills.errors import AnswerError, DrillsError, NotPlayableError
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import ARPEGGIO
from drills.shapes.same_place import grip_inside
from drills.shapes.shape import Shape
from drills.theory.chord import Chord
from drills.theory.quality import QualityTable

__all__ = ["ASKERS", "quality_checker"]


def _draft(wanted: Wanted, finder: ShapeFinder, kind: str, words: Call) -> Card:
    return Card(
        card_id(finder.tuning, ARPEGGIO, wanted.chord, wanted.strings, kind), kind, wanted.chord, ARPEGGIO,
        wanted.strings, (), wanted.stage, seconds=KINDS[kind].seconds, words=words,
    )  # fmt: skip


def _parts(card: Card, finder: ShapeFinder) -> tuple[Shape, Shape]:
    """The grip and the arpeggio of a card; raises NotPlayableError when one does not fit."""
    arpeggio = finder.find(card.chord, ARPEGGIO, card.strings)
    grip = grip_inside(finder, arpeggio)
    if grip is None:
        raise NotPlayableError(f"{card.chord.name} on {card.strings}: no grip has its root there")
    return grip, arpeggio


def quality_checker(chord: Chord, table: QualityTable):
    """Reads a quality, alone or after any root: only the quality was to be heard."""

    def check(text: str) -> Checked:
        try:
            quality = table.named(text)
        except DrillsError:
            try:
                quality = read_chord(text, table).quality
            except AnswerError:
                known = ", ".join(each.name for each in table if each.tier == 1)
                raise AnswerError(f"Type a quality, such as {known}; {text[:24]!r} is none.") from None
        right = quality.name == chord.quality.name
        return Checked(right, f"Right: {chord.name}." if right else f"Not {quality.name}: {chord.name}.")

    return check


def _ears(wanted: Wanted, finder: ShapeFinder) -> Iterator[Card]:
    yield _draft(wanted, finder, "ear", Call("Listen", "which quality?"))


def _ear_skills(card: Card, finder: ShapeFinder) -> tuple[str, ...]:
    _parts(card, finder)
    return (hearing_skill(card.chord.quality),)


def _ear_question(card: Card, finder: ShapeFinder, table: QualityTable, _chance: Random) -> Question:
    grip, arpeggio = _parts(card, finder)
    return Question(
        "Type it, then Enter. Down hears it again.",
        heard=(grip, arpeggio),
        shapes=(arpeggio,),
        check=quality_checker(card.chord, table),
    )


def _to_play(wanted: Wanted, finder: ShapeFinder) -> Iterator[Card]:
    words = Call(f"Listen: {wanted.chord.root}", f"strings {wanted.strings}: play what you hear", str(wanted.strings))
    yield _draft(wanted, finder, "ear-play", words)


def _to_play_skills(card: Card, finder: ShapeFinder) -> tuple[str, ...]:
    _, arpeggio = _parts(card, finder)
    return (*shape_skills(arpeggio, finder.tuning)[:2], hearing_skill(card.chord.quality))


def _to_play_question(card: Card, finder: ShapeFinder, _table: QualityTable, _chance: Random) -> Question:
    grip, arpeggio = _parts(card, finder)
    return Question("Play it, then Enter. Down hears it again.", heard=(grip, arpeggio), shapes=(arpeggio,))


def _inner(wanted: Wanted, finder: ShapeFinder) -> Iterator[Card]:
    words = Call(wanted.chord.name, "its grip: sing or imagine the arpeggio up and down")
    yield _draft(wanted, finder, "inner", words)


def _inner_question(card: Card, finder: ShapeFinder, _table: QualityTable, _chance: Random) -> Question:
    grip, arpeggio = _parts(card, finder)
    return Question(
        "Sing it or hear it inwardly, then Enter.",
        View(shape=grip),
        heard=(grip,),
        shapes=(arpeggio,),
        sounded=(arpeggio,),
    )


ASKERS = {
    "ear": Asker(_ears, _ear_skills, _ear_question),
    "ear-play": Asker(_to_play, _to_play_skills, _to_play_question),
    "inner": Asker(_inner, _ear_skills, _inner_question),
}
