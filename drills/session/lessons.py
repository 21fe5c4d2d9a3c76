"""What a first meeting says: a form with its fingers, and where a root lies on its string."""

from __future__ import annotations

from drills.cards.kinds import kind_of
from drills.cards.skills import root_place, root_skill
from drills.errors import CardPartError
from drills.session.drill import Drill
from drills.theory.note import Note

__all__ = ["lesson_words", "met_words", "root_words"]


def root_words(drill: Drill) -> str:
    """Where the roots of the card on show lie, those never met when there are such: ``F, string 6, fret 1 or 13``."""
    finder, card = drill.material.finder, drill.state.card_in_hand
    names = {}  # of each root skill, as it is spelled here
    for shape in drill.shapes():
        note = shape.root.pitch.note
        names[root_skill(finder.tuning, note.pitch_class, shape.root.string)] = note.name
    if isinstance(card.more, Note):
        names[card.skills[0]] = card.more.name
    roots = [skill for skill in card.skills if root_place(skill)] or list(names)
    new = drill.planner.new_skills(card.id)
    unmet = [skill for skill in roots if skill in new]
    return " and ".join(_place(drill, skill, names.get(skill)) for skill in unmet or roots[:1])


def _place(drill: Drill, skill: str, name: str | None) -> str:
    place = root_place(skill)
    if place is None:
        raise CardPartError(f"skill {skill}: it is not that of a root")
    usual, string = place
    frets = drill.material.finder.neck.frets_of(string, Note.parse(usual).pitch_class)
    fretted = " or ".join(str(fret) for fret in frets if fret)
    places = ["open"] * (0 in frets) + [f"fret {fretted}"] * bool(fretted)
    return f"{name or usual}, string {string}, {' or '.join(places)}"


def lesson_words(drill: Drill) -> tuple[str, str]:
    """What a lesson asks, and where the root lies where that is new too, or ``""``."""
    new, away = drill.state.new, kind_of(drill.state.card_in_hand.kind).away
    if new == ("ear",):
        silent = "Sing it or hear it inwardly, twice." if away else "Play it, sing it, twice."
        how = "Hear it (s), sing it, twice." if drill.audible else silent
        return f"A new sound: {drill.state.card_in_hand.quality}. {how}", ""
    if "form" not in new:
        what = "New root" if drill.shapes() else "New place"
        how = "Say it, with your eyes shut, twice." if away else "Say it, then play from it, twice."
        return f"{what}: {root_words(drill)}. {how}", ""
    if drill.state.card_in_hand.to is not None:
        place = f"Root: {root_words(drill)}." if "root" in new else ""
        return "A new change. One chord and then the next, slowly, twice.", place
    how = "Look at it and say its notes, twice." if away else "Play it slowly, twice."
    return f"A new shape. {how}", f"Its root: {root_words(drill)}." if "root" in new else ""


def met_words(shapes: int, roots: int, sounds: int = 0) -> str:
    """What was met today, in counts: ``1 new shape and 2 new roots met.``; ``""`` for nothing."""
    counts = ((shapes, "shape"), (roots, "root"), (sounds, "sound"))
    *parts, last = [f"{count} new {noun}{'s' * (count != 1)}" for count, noun in counts if count] or [""]
    return f"{', '.join(parts)}{' and ' * bool(parts)}{last} met." if last else ""
