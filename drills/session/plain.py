"""Says every screen of a session in sentences. Nothing in them needs sight of a drawing."""

from __future__ import annotations

import re

from drills.cards.prompts.prompt import View
from drills.diagrams.answer import remarks
from drills.diagrams.speech import say_chord, say_place, say_shape
from drills.session.card_screens import slip_wanted
from drills.session.drill import Drill
from drills.session.ending import end_lines
from drills.session.glossary import word_lines
from drills.session.key_bindings import HELP, offered
from drills.session.lessons import lesson_words, root_words
from drills.session.session_sentences import (
    BEFORE_YOU_START,
    SLIPPED_BEFORE,
    again_words,
    caution_lines,
    focus_words,
    heard_words,
    in_time_words,
    listening_words,
    music_keys,
    music_words,
    paused_words,
    plan_line,
    said_of,
    silence_words,
    slips_of,
    unfit_words,
    warm_up_words,
    yesterday_words,
)
from drills.session.session_state import Phase
from drills.shapes.shape import Shape

__all__ = ["spoken"]


def _shape(shape: Shape, intro: str) -> list[str]:
    return [f"{intro}{say_chord(shape.name)}, strings {shape.strings}, position {shape.position}.",
            say_shape(shape), *map(say_chord, remarks(shape))]  # fmt: skip


def _diagram(drill: Drill) -> list[str]:
    card = drill.state.card_in_hand
    lines = [say_chord(text) for text in said_of(drill.state)]
    for number, shape in enumerate(drill.shapes()):
        lines += _shape(shape, "Then " if number and card.to is not None else "")
    if drill.state.extra and card.to is None:
        for beside, intro in ((drill.material.grip(card), "Grip: "), (drill.material.mode(card), "Mode: ")):
            lines += _shape(beside, intro) if beside else []
    return lines


def _view(view: View) -> list[str]:
    """A drawing in words: every place that is marked, or which part of the neck is empty."""
    if view.shape is not None:
        return [say_shape(view.shape)]
    if not view.spots:
        first, last = view.frets or (1, 4)
        return [f"An empty grid, frets {first} to {last}."]
    return ["; ".join(say_place(spot.string, spot.fret) + (", root" if spot.root else "") for spot in view.spots) + "."]


_SPOKEN_HELP = (
    ("Enter alone", "show the answer, or go on"),
    *(
        ({"Left  l": "l", "Down  f": "f", "Right c": "c", "Up    t": "t"}[keys], meaning)
        for keys, meaning in HELP
        if keys[-2:] in (" l", " f", " c", " t")
    ),
    ("l on a prompt", "I don't know: show me; graded Looked"),
    ("raise", "on the next prompt: the last grade a step higher"),
    *((keys, meaning) for keys, meaning in HELP if all(len(key) == 1 for key in keys.split(", "))),
    ("1 2 3 4", "what slipped: root, shape, fingering, time, after Looked or Found it"),
    ("where an answer is typed", "the whole line is the answer; next, quit and an empty line are not"),
)


def spoken(drill: Drill) -> list[str]:
    """The present moment in lines."""
    state = drill.state
    if state.help:
        listed = [f"{keys}: {meaning}." for keys, meaning in offered(_SPOKEN_HELP, drill.audible)]
        return ["Type a letter or a word, then Enter.", *listed]
    if state.words:
        said = [re.sub(r"^(.+?): (?=\1)", "", say_chord(line)) for line in word_lines(drill)]
        return [*said, "Enter goes back."]
    if state.paused_s is not None:
        return [paused_words(state).replace("Any key goes", "Enter goes")]
    note = [state.note] if state.note else []
    match state.phase:
        case Phase.START:
            back = [drill.returned.line] if drill.returned else []
            if drill.tune is not None and drill.tune.forecast:
                back.insert(0, drill.tune.forecast)
            if missed := yesterday_words(drill):
                back.append(say_chord(missed))
            words = focus_words(state)
            narrow = [words.replace("  ", ", ") + "."] if words else []
            title, keys = f"{drill.material.deck.title}.", "Enter starts. h for keys. q leaves."
            unfit = [unfit_words(drill)] if drill.material.left_out else []
            called = [f"{drill.called}."] if drill.called else []
            mark = [words] if (words := listening_words(drill)) else []
            return [*called, title, *note, plan_line(drill), *back, *unfit, *narrow, *mark, keys]
        case Phase.WARM_UP:
            told = [f"{BEFORE_YOU_START}.", *caution_lines(state)] if state.caution else []
            easy = drill.warm_up() if state.warm_up_s else None
            warm = ["Warm up.", warm_up_words(drill)] if state.warm_up_s else []
            return [*told, *warm, *(_shape(easy, "") if easy else []), "Enter goes on."]
        case Phase.LESSON:
            taught = [say_chord(text) for text in lesson_words(drill) if text]
            done = "Enter when seen." if state.away else "Enter when played."
            return [*taught, *_diagram(drill), *note, done]
        case Phase.PROMPT:
            return _prompt(drill, note)
        case Phase.ANSWER:
            verdict = state.verdict
            asks = "How did it go? l Looked, f Found it, c Clean, t In time."
            heard = [say_chord(verdict.line)] if verdict else []
            if verdict:
                asks = f"Enter takes {verdict.grade.label}. Or l Looked, f Found it, c Clean, t In time."
            heard += [say_chord(words) for words in heard_words(state)]
            if silence_words(drill):
                asks = "In three seconds silence takes it. l Looked, f Found it, c Clean, t In time overrule."
            return [*heard, *_diagram(drill), *note, asks]
        case Phase.REPEAT:
            last = state.given[-1]
            slips = "" if last.slip else slips_of(last.card).replace("  ", ", ")
            asks = f" What slipped? {slips}." if slips else ""
            return [again_words(last.card), *note, f"Enter when done.{asks}"]
        case Phase.MUSIC:
            keys = music_keys(drill).replace("  ", ". ") + "."
            return ["A musical minute.", say_chord(music_words(drill)), *note, keys]
        case _:
            more = ["m for another ten, after a minute's rest."] if state.offer else []
            more += ["u when it was a wrong key and nothing hurts."] if state.hurts else []
            return [*end_lines(drill), *note, *more, "Enter leaves."]


def _prompt(drill: Drill, note: list[str]) -> list[str]:
    state, card = drill.state, drill.state.card_in_hand
    extra = "".join(f" {say_chord(said)}." for said in (card.note, card.context) if said)
    tempo = drill.tempo_of(card)
    if state.given and tempo == drill.tempo_of(state.given[-1].card):
        tempo = None  # said once is enough while it stays
    lines = [*note]
    if slip_wanted(state):
        lines.append(f"{SLIPPED_BEFORE} {slips_of(state.given[-1].card).replace('  ', ', ')}.")
    called = say_chord(card.prompt)
    lines.append(called + ("" if called.endswith("?") else ".") + extra)
    if state.question_asked.before is not None:
        lines += _view(state.question_asked.before)
    if state.typing:
        return [*lines, f"{state.question_asked.ask} Enter alone shows it."]
    place = f" Root: {say_chord(root_words(drill))}." if drill.shows_root else ""
    lines[-1] += f"{place} {state.question_asked.ask}"
    if tempo:
        lines.append(f"{in_time_words(tempo)}.{' k for the click.' if drill.audible else ''}")
    return lines
