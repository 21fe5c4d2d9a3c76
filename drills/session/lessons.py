"""What a first meeting says: a form with its fingers, and where a root lies on its string."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from drills.cards.card import Card
from drills.cards.kinds import kind_of
from drills.cards.skills import root_place, root_skill
from drills.errors import CardPartError
from drills.session.drill import Drill
from drills.shapes.finder import ShapeFinder
from drills.shapes.shape import Shape
from drills.theory.note import Note

__all__ = ["lesson_text", "lesson_words", "met_words", "root_words", "roots_text"]


def root_words(drill: Drill) -> str:
    """Where the roots of the card on show lie, those never met when there are such: ``F, string 6, fret 1 or 13``."""
    card = drill.state.card_in_hand
    return roots_text(drill.material.finder, card, drill.shapes(), drill.planner.new_skills(card.id))


def roots_text(finder: ShapeFinder, card: Card, shapes: Sequence[Shape], new: Collection[str]) -> str:
    """Where the roots of a card lie, of which `shapes` are the answer: those among `new` when there are such."""
    names = {}  # of each root skill, as it is spelled here
    for shape in shapes:
        note = shape.root.pitch.note
        names[root_skill(finder.tuning, note.pitch_class, shape.root.string)] = note.name
    if isinstance(card.more, Note):
        names[card.skills[0]] = card.more.name
    roots = [skill for skill in card.skills if root_place(skill)] or list(names)
    unmet = [skill for skill in roots if skill in new]
    return " and ".join(_place(finder, skill, names.get(skill)) for skill in unmet or roots[:1])


def _place(finder: ShapeFinder, skill: str, name: str | None) -> str:
    place = root_place(skill)
    if place is None:
        raise CardPartError(f"skill {skill}: it is not that of a root")
    usual, string = place
    frets = finder.neck.frets_of(string, Note.parse(usual).pitch_class)
    fretted = " or ".join(str(fret) for fret in frets if fret)
    places = ["open"] * (0 in frets) + [f"fret {fretted}"] * bool(fretted)
    return f"{name or usual}, string {string}, {' or '.join(places)}"


def lesson_words(drill: Drill) -> tuple[str, str]:
    """What the lesson on show asks, and where the root lies where that is new too, or ``""``."""
    state = drill.state
    return lesson_text(state.card_in_hand, state.new, root_words(drill), bool(drill.shapes()), drill.audible)


def lesson_text(card: Card, new: Collection[str], roots: str, shaped: bool, audible: bool) -> tuple[str, str]:
    """What a lesson on a card asks, and where the root lies where that is new too, or ``""``.

    new: the kinds of skill it shows. roots: where the roots lie, in words. shaped: whether the answer is a shape.
    audible: whether it can be heard.
    """
    away = kind_of(card.kind).away
    if tuple(new) == ("ear",):
        silent = "Sing it or hear it inwardly, twice." if away else "Play it, sing it, twice."
        how = "Hear it (s), sing it, twice." if audible else silent
        return f"A new sound: {card.quality}. {how}", ""
    if "form" not in new:
        what = "New root" if shaped else "New place"
        how = "Say it, with your eyes shut, twice." if away else "Say it, then play from it, twice."
        return f"{what}: {roots}. {how}", ""
    if card.to is not None:
        place = f"Root: {roots}." if "root" in new else ""
        return "A new change. One chord and then the next, slowly, twice.", place
    how = "Look at it and say its notes, twice." if away else "Play it slowly, twice."
    return f"A new shape. {how}", f"Its root: {roots}." if "root" in new else ""


def met_words(shapes: int, roots: int, sounds: int = 0) -> str:
    """What was met today, in counts: ``1 new shape and 2 new roots met.``; ``""`` for nothing."""
    counts = ((shapes, "shape"), (roots, "root"), (sounds, "sound"))
    *parts, last = [f"{count} new {noun}{'s' * (count != 1)}" for count, noun in counts if count] or [""]
    return f"{', '.join(parts)}{' and ' * bool(parts)}{last} met." if last else ""
