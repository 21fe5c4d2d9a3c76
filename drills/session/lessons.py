"""What a first meeting says: a form with its fingers, and where a root lies on its string."""

from __future__ import annotations

from drills.cards.skills import root_skill
from drills.session.drill import Drill
from drills.shapes.shape import Placement

__all__ = ["lesson_words", "met_words", "root_words"]


def root_words(drill: Drill) -> str:
    """Where the root of the card on show lies: ``F, string 6, fret 1 or 13``; both of a transition if both are new."""
    material, card = drill.material, drill.state.card
    roots = [shape.root for shape in (drill.shape(), material.after(card)) if shape is not None]
    new = drill.planner.new_skills(card.id)
    tuning = material.finder.tuning
    unmet = [root for root in roots if root_skill(tuning, root.pitch.note.pitch_class, root.string) in new]
    return " and ".join(_place(drill, root) for root in unmet or roots[:1])


def _place(drill: Drill, root: Placement) -> str:
    frets = drill.material.finder.neck.frets_of(root.string, root.pitch.note.pitch_class)
    fretted = " or ".join(str(fret) for fret in frets if fret)
    places = ["open"] * (0 in frets) + [f"fret {fretted}"] * bool(fretted)
    return f"{root.pitch.note}, string {root.string}, {' or '.join(places)}"


def lesson_words(drill: Drill) -> tuple[str, str]:
    """What a lesson asks, and where the root lies where that is new too, or ``""``."""
    new = drill.state.new
    if "form" not in new:
        return f"New root: {root_words(drill)}. Say it, then play from it, twice.", ""
    asked = "A new shape. Play it slowly, twice, with these fingers."
    return asked, f"Its root: {root_words(drill)}." if "root" in new else ""


def met_words(shapes: int, roots: int) -> str:
    """What was met today, in counts: ``1 new shape and 2 new roots met.``; ``""`` for nothing."""
    counts = ((shapes, "shape"), (roots, "root"))
    parts = [f"{count} new {noun}{'s' * (count != 1)}" for count, noun in counts if count]
    return f"{' and '.join(parts)} met." if parts else ""
