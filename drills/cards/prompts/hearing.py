"""Prompts for the ear: name a quality or play what was heard (P13), or imagine the arpeggio before it sounds."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

from drills.cards.card import Call, Card, card_id
from drills.cards.kinds import KINDS
from drills.cards.prompts.prompt import Asker, Checked, Checker, Question, Spot, View, Wanted
from drills.cards.prompts.typed import read_chord
from drills.cards.skills import hearing_skill, shape_skills
from drills.errors import AnswerError, DrillsError, shown
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


def _parts(card: Card, finder: ShapeFinder) -> tuple[Shape | None, Shape]:
    """The grip of a card, None where none has its root there, and its arpeggio."""
    arpeggio = finder.find(card.own_chord, ARPEGGIO, card.own_strings)
    return grip_inside(finder, arpeggio), arpeggio


def _sounding(card: Card, finder: ShapeFinder) -> tuple[Shape, ...]:
    """The grip, then the arpeggio; without a grip the arpeggio has to do."""
    return tuple(shape for shape in _parts(card, finder) if shape is not None)


_EXAMPLES = ("mMaj7", "7sus4", "dim7")
"""Qualities shown as examples: seldom asked, so that an example says nothing of the answer."""


def quality_checker(chord: Chord, table: QualityTable) -> Checker:
    """Reads a quality, alone or after any root: only the quality was to be heard."""

    def check(text: str) -> Checked:
        try:
            quality = table.named(text)
        except DrillsError:
            try:
                quality = read_chord(text, table, chord).quality
            except AnswerError:
                one, other, *_ = (name for name in _EXAMPLES if name != chord.quality.name)
                message = f"Type a quality, such as {one} or {other}; {shown(text, 24)} is none."
                raise AnswerError(message) from None
        right = quality.name == chord.quality.name
        return Checked(right, f"Right: {chord.name}." if right else f"Not {quality.name}: {chord.name}.")

    return check


def _ears(wanted: Wanted, finder: ShapeFinder) -> Iterator[Card]:
    yield _draft(wanted, finder, "ear", Call("Listen", "which quality?"))


def _ear_skills(card: Card, finder: ShapeFinder) -> tuple[str, ...]:
    finder.find(card.own_chord, ARPEGGIO, card.own_strings)
    return (hearing_skill(card.own_chord.quality),)


def _ear_question(card: Card, finder: ShapeFinder, table: QualityTable, _chance: Random) -> Question:
    heard = _sounding(card, finder)
    return Question(
        "Type it, then Enter. Down hears it again.",
        heard=heard,
        shapes=heard[-1:],
        check=quality_checker(card.own_chord, table),
    )


def _to_play(wanted: Wanted, finder: ShapeFinder) -> Iterator[Card]:
    words = Call(f"Listen: {wanted.chord.root}", f"strings {wanted.strings}: play what you hear", str(wanted.strings))
    yield _draft(wanted, finder, "ear-play", words)


def _to_play_skills(card: Card, finder: ShapeFinder) -> tuple[str, ...]:
    arpeggio = finder.find(card.own_chord, ARPEGGIO, card.own_strings)
    return (*shape_skills(arpeggio, finder.tuning)[:2], hearing_skill(card.own_chord.quality))


def _to_play_question(card: Card, finder: ShapeFinder, _table: QualityTable, _chance: Random) -> Question:
    heard = _sounding(card, finder)
    return Question("Play it, then Enter. Down hears it again.", heard=heard, shapes=heard[-1:])


def _inner(wanted: Wanted, finder: ShapeFinder) -> Iterator[Card]:
    words = Call(wanted.chord.name, f"strings {wanted.strings}: sing or imagine the arpeggio up and down")
    yield _draft(wanted, finder, "inner", words)


def _inner_question(card: Card, finder: ShapeFinder, _table: QualityTable, _chance: Random) -> Question:
    grip, arpeggio = _parts(card, finder)
    root = Spot(arpeggio.root.string, arpeggio.root.fret, card.own_chord.root.name, True)
    return Question(
        "Sing it or hear it inwardly, then Enter.",
        View(spots=(root,)) if grip is None else View(shape=grip),
        heard=() if grip is None else (grip,),
        shapes=(arpeggio,),
        sounded=(arpeggio,),
    )


ASKERS = {
    "ear": Asker(_ears, _ear_skills, _ear_question),
    "ear-play": Asker(_to_play, _to_play_skills, _to_play_question),
    "inner": Asker(_inner, _ear_skills, _inner_question),
}
