"""A session in spoken lines: every screen as sentences, nothing that needs sight of a drawing."""

from __future__ import annotations

from drills.diagrams.answer import remarks
from drills.diagrams.speech import say_chord, say_shape
from drills.diagrams.text import position_name
from drills.session.drill import Drill
from drills.session.keys import HELP
from drills.session.machine import weakest
from drills.session.screens import CAUTION
from drills.session.sentences import end_lines, plan_line
from drills.session.state import Phase
from drills.shapes.shape import Shape

__all__ = ["spoken"]


def _shape(shape: Shape, intro: str) -> list[str]:
    return [f"{intro}{say_chord(shape.name)}, strings {shape.strings}, position {position_name(shape.position)}.",
            say_shape(shape), *remarks(shape)]  # fmt: skip


def _diagram(drill: Drill) -> list[str]:
    lines = _shape(drill.shape(), "")
    if drill.state.extra:
        grip, mode = drill.material.grip(drill.state.card), drill.material.mode(drill.state.card)
        lines += [line for shape, intro in ((grip, "Grip: "), (mode, "Mode: ")) if shape for line in _shape(shape, intro)]
    return lines


def spoken(drill: Drill) -> list[str]:
    """The present moment in lines."""
    state = drill.state
    if state.help:
        return ["Keys."] + [f"{keys}: {meaning}." for keys, meaning in HELP]
    if state.paused_s is not None:
        return ["Paused. Enter goes on."]
    note = [state.note] if state.note else []
    match state.phase:
        case Phase.CAUTION:
            return [*CAUTION, "Enter goes on."]
        case Phase.START:
            back = [drill.returned.line] if drill.returned else []
            return [f"{drill.material.deck.title}.", plan_line(drill), *back, "Enter starts. h for keys. q leaves."]
        case Phase.WARM_UP:
            return ["Warm up: half a minute, one easy shape, slowly, high on the neck. Enter goes on."]
        case Phase.LESSON:
            return ["A new shape. Play it slowly, twice, with these fingers.", *_diagram(drill), *note, "Enter when played."]
        case Phase.PROMPT:
            card = state.card
            extra = f" {say_chord(card.note)}." if card.note else ""
            return [*note, f"{say_chord(card.prompt)}.{extra} Play it, then Enter."]
        case Phase.ANSWER:
            return [*_diagram(drill), *note, "How did it go? l Looked, f Found it, c Clean, t In time."]
        case Phase.REPEAT:
            return ["Play it right twice, slowly.", *note, "Enter when done. What slipped? 1 root, 2 shape, 3 fingering, 4 time."]
        case Phase.MUSIC:
            card = weakest(state)
            return [f"A musical minute: {say_chord(card.prompt)}, slow phrases. Enter goes on."]
        case _:
            return [*end_lines(drill), *note, "Enter leaves."]
