"""A session in spoken lines: every screen as sentences, nothing that needs sight of a drawing."""

from __future__ import annotations

from drills.diagrams.answer import remarks
from drills.diagrams.speech import say_chord, say_shape
from drills.diagrams.text import position_name
from drills.session.card_screens import slip_wanted
from drills.session.drill import Drill
from drills.session.keys import HELP
from drills.session.lessons import lesson_words, root_words
from drills.session.screens import CAUTION
from drills.session.sentences import end_lines, focus_words, music_words, plan_line, warm_up_words
from drills.session.state import Phase
from drills.shapes.shape import Shape

__all__ = ["spoken"]


def _shape(shape: Shape, intro: str) -> list[str]:
    return [f"{intro}{say_chord(shape.name)}, strings {shape.strings}, position {position_name(shape.position)}.",
            say_shape(shape), *map(say_chord, remarks(shape))]  # fmt: skip


def _diagram(drill: Drill) -> list[str]:
    lines = _shape(drill.shape(), "")
    card = drill.state.card
    if card.to is not None:
        lines += _shape(drill.material.after(card), "Then ")
    elif drill.state.extra:
        for shape, intro in ((drill.material.grip(card), "Grip: "), (drill.material.mode(card), "Mode: ")):
            lines += _shape(shape, intro) if shape else []
    return lines

_SPOKEN_HELP = (
    ("Enter alone", "show the answer, or go on"),
    *(
        ({"Left  l": "l", "Down  f": "f", "Right c": "c", "Up    t": "t"}[keys], meaning)
        for keys, meaning in HELP
        if keys[-2:] in (" l", " f", " c", " t")
    ),
    ("raise", "on the next prompt: the last grade a step higher"),
    *((" ".join(keys), meaning) for keys, meaning in HELP if len(keys) == 1),
    ("1 2 3 4", "what slipped: root, shape, fingering, time, after Looked or Found it"),
    ("where an answer is typed", "the whole line is the answer; next, quit and an empty line are not"),
)


def spoken(drill: Drill) -> list[str]:
    """The present moment in lines."""
    state = drill.state
    if state.help:
        return ["Type a letter or a word, then Enter."] + [f"{keys}: {meaning}." for keys, meaning in _SPOKEN_HELP]
    if state.paused_s is not None:
        return ["Paused. Enter goes on."]
    note = [state.note] if state.note else []
    match state.phase:
        case Phase.CAUTION:
            return [*CAUTION, "Enter goes on."]
        case Phase.START:
            back = [drill.returned.line] if drill.returned else []
            words = focus_words(state)
            narrow = [words.replace("  ", ", ") + "."] if words else []
            title, keys = f"{drill.material.deck.title}.", "Enter starts. h for keys. q leaves."
            return [title, *note, plan_line(drill), *back, *narrow, keys]
        case Phase.WARM_UP:
            shape = drill.warm_up()
            return ["Warm up.", warm_up_words(state), *(_shape(shape, "") if shape else []), "Enter goes on."]
        case Phase.LESSON:
            words = [say_chord(text) for text in lesson_words(drill) if text]
            return [*words, *_diagram(drill), *note, "Enter when played."]
        case Phase.PROMPT:
            return _prompt(drill, note)
        case Phase.ANSWER:
            verdict = state.verdict
            asks = "How did it go? l Looked, f Found it, c Clean, t In time."
            heard = [verdict.line] if verdict else []
            if verdict:
                asks = f"Enter takes {verdict.grade.label}. Or l Looked, f Found it, c Clean, t In time."
            return [*heard, *_diagram(drill), *note, asks]
        case Phase.REPEAT:
            asks = "" if state.given[-1].slip else " What slipped? 1 root, 2 shape, 3 fingering, 4 time."
            return ["Play it right twice, slowly.", *note, f"Enter when done.{asks}"]
        case Phase.MUSIC:
            keys = "s drone. k two-five-one with a click. Enter goes on."
            return ["A musical minute.", say_chord(music_words(drill)), *note, keys]
        case _:
            more = ["m for another ten, after a minute's rest."] if state.offer else []
            return [*end_lines(drill), *note, *more, "Enter leaves."]


def _prompt(drill: Drill, note: list[str]) -> list[str]:
    state, card = drill.state, drill.state.card
    extra = "".join(f" {say_chord(said)}." for said in (card.note, card.context) if said)
    tempo = drill.tempo_of(card)
    if state.given and tempo == drill.tempo_of(state.given[-1].card):
        tempo = None  # said once is enough while it stays
    lines = [*note]
    if slip_wanted(state):
        lines.append("Last one: 1 root, 2 shape, 3 fingering, 4 time?")
    if state.typing:
        return [*lines, f"{say_chord(card.prompt)}.{extra} Type the answer."]
    place = f" Root: {say_chord(root_words(drill))}." if drill.shows_root else ""
    lines.append(f"{say_chord(card.prompt)}.{extra}{place} Play it, then Enter.")
    if tempo:
        lines.append(f"In time is at {tempo:g}. k for the click.")
    return lines
