"""What each moment of a session shows, as lines with a role; no colours, no terminal codes here."""

from __future__ import annotations

from dataclasses import dataclass

from drills.diagrams.answer import heading, remarks
from drills.diagrams.grid import grid_of
from drills.diagrams.text import PLAIN, UNICODE, box_lines, neck_lines, note_table
from drills.session.drill import Drill
from drills.session.keys import HELP
from drills.session.letters import big
from drills.session.machine import weakest
from drills.session.sentences import end_lines, plan_line
from drills.session.state import Phase
from drills.settings import Reading
from drills.shapes.shape import Shape, fingers_text

__all__ = ["CAUTION", "Line", "places_text", "screen"]

CAUTION = (
    "Before you start",
    "Sharp pain, numbness, tingling, weakness: stop, and see a doctor or a hand therapist.",
    "Warm up on easy shapes high on the neck. Count these ten minutes with all else your hand does.",
    "Keep sound at speech level. Your teacher's word on technique goes before this tool's.",
)


@dataclass(frozen=True, slots=True)
class Line:
    """A line of a screen. role: ``big``, ``strong``, ``quiet`` or ``""``; weight: dropped first when low."""

    text: str = ""
    role: str = ""
    weight: int = 9


def places_text(shape: Shape) -> str:
    """Notes as the handbook writes them: ``C(6/8) E(5/7) ...``"""
    return " ".join(f"{note.pitch.note}({note.string}/{note.fret})" for note in shape.notes)


def _wrapped(text: str, width: int, role: str = "", weight: int = 9) -> list[Line]:
    from textwrap import wrap

    return [Line(part, role, weight) for part in wrap(text, width) or [""]]


def _fitted(lines: list[Line], height: int) -> list[Line]:
    """The lines that fit, the least weighty dropped first, the order kept."""
    while len(lines) > height:
        least = min(line.weight for line in lines)
        last = max(index for index, line in enumerate(lines) if line.weight == least)
        if least >= 9:
            return lines[:height]
        lines = lines[:last] + lines[last + 1 :]
    return lines


def screen(drill: Drill, reading: Reading, width: int, height: int) -> list[Line]:
    """The lines for the state the drill is in, cut to the window."""
    state = drill.state
    if state.help:
        found = [Line("Keys", "strong")]
        for keys, meaning in HELP:
            found += _wrapped(f"{keys}: {meaning}", width, weight=5)
        return _fitted([*found, Line("Any key goes back.", "quiet")], height)
    if state.paused_s is not None:
        return [Line(), Line("Paused. Any key goes on.", "strong")]
    body = {
        Phase.CAUTION: _caution, Phase.START: _start, Phase.WARM_UP: _warm_up, Phase.LESSON: _lesson,
        Phase.PROMPT: _prompt, Phase.ANSWER: _answer, Phase.REPEAT: _repeat, Phase.MUSIC: _music,
        Phase.END: _end, Phase.DONE: _end,
    }[state.phase](drill, reading, width, height)  # fmt: skip
    if state.note:
        body = [*body, *_wrapped(state.note, width, "strong", 8)]
    return _fitted(body, height)


def _caution(_drill: Drill, _reading: Reading, width: int, _height: int) -> list[Line]:
    first, *rest = CAUTION
    lines = [Line(first, "strong"), Line(weight=1)]
    for text in rest:
        lines += _wrapped(text, width)
    return [*lines, Line(weight=1), Line("Enter goes on.", "quiet")]


def _start(drill: Drill, _reading: Reading, width: int, _height: int) -> list[Line]:
    deck = drill.material.deck
    lines = [*_wrapped(deck.title, width, "strong"), Line(weight=1), *_wrapped(plan_line(drill), width)]
    if drill.returned:
        lines += _wrapped(drill.returned.line, width)
    if left := len(drill.material.left_out):
        lines += _wrapped(f"{left} cards do not fit this neck; neckwork cards lists them.", width, "quiet", 4)
    return [*lines, Line(weight=1), Line("Enter starts.  h keys  q leave", "quiet")]


def _warm_up(_drill: Drill, _reading: Reading, width: int, _height: int) -> list[Line]:
    return [
        Line("Warm up", "strong"),
        Line(weight=1),
        *_wrapped("Half a minute: one easy shape, slowly, high on the neck. Least pressure, loose thumb, breathe.", width),
        Line(weight=1),
        Line("Enter goes on.", "quiet"),
    ]


def _clock(drill: Drill, width: int) -> Line:
    state = drill.state
    minutes = max(0.0, state.elapsed_s(drill.now_s())) / 60
    text = f"{minutes:.0f} of {state.limit_s / 60:g} min"
    return Line(text.rjust(width), "quiet", 2)


def _call(drill: Drill, reading: Reading, width: int, height: int) -> list[Line]:
    card = drill.state.card
    block = "#" if reading.ascii else "█"
    drawn = big(card.call, width, block) if height >= 12 else None
    rest = ", ".join(part for part in (card.detail, f"strings {card.strings}") if part)
    set_drawn = big(str(card.strings), width, block) if drawn and height >= 20 else None
    lines = [Line(row, "big") for row in drawn] if drawn else _wrapped(card.call, width, "strong")
    if set_drawn:
        lines += [Line(weight=3), *(Line(row, "big") for row in set_drawn)]
    return [*lines, Line(weight=3), *_wrapped(rest, width, "strong")]


def _prompt(drill: Drill, reading: Reading, width: int, height: int) -> list[Line]:
    state = drill.state
    lines = [_clock(drill, width), *(Line(weight=0) for _ in range(max(0, height // 4 - 2)))]
    lines += _call(drill, reading, width, height)
    if state.card.note:
        lines += _wrapped(state.card.note, width, "quiet", 4)
    lines += [Line(weight=1), Line("Play it, then Enter.", "quiet", 6)]
    if state.given and state.given[-1].grade.label == "Found it" and not state.given[-1].slip:
        lines += _wrapped("Last one: 1 root  2 shape  3 fingering  4 time?", width, "quiet", 5)
    return lines


def _drawing(drill: Drill, reading: Reading, shape: Shape, width: int) -> list[str]:
    grid = grid_of(shape, drill.material.finder.tuning.strings, reading.labels, reading.left_handed)
    glyphs = PLAIN if reading.ascii else UNICODE
    return box_lines(grid, glyphs) if reading.orientation == "box" else neck_lines(grid, width, glyphs)


def _diagram(drill: Drill, reading: Reading, width: int) -> list[Line]:
    state = drill.state
    shape = drill.shape()
    card = state.card
    lines = [*_wrapped(heading(shape), width, "strong")]
    if card.key is not None:
        lines += _wrapped(f"{card.call} is {card.chord.name}.", width, weight=7)
    lines.append(Line(weight=1))
    grip, mode = drill.material.grip(card), drill.material.mode(card)
    if state.extra and (grip or mode):
        for extra in (grip, mode):
            if extra:
                lines += [*_wrapped(heading(extra), width, weight=7), *(Line(row) for row in _drawing(drill, reading, extra, width))]
        return lines
    lines += [Line(row) for row in _drawing(drill, reading, shape, width)]
    lines.append(Line(weight=0))
    for weight, row in zip((4, 4, 7, 7, 8), note_table(shape), strict=True):
        lines.append(Line(row, "", weight))
    for remark in remarks(shape):
        lines += _wrapped(remark, width, weight=6)
    if grip:
        lines += _wrapped(f"grip   {places_text(grip)}  fingers {fingers_text(grip.fingers)}", width, weight=3)
    if mode:
        lines += _wrapped(f"{mode.form.mode}  {places_text(mode)}", width, weight=3)
    return lines


def _lesson(drill: Drill, reading: Reading, width: int, _height: int) -> list[Line]:
    return [
        *_wrapped("A new shape. Play it slowly, twice, with these fingers.", width, "strong", 8),
        *_diagram(drill, reading, width),
        Line(weight=0),
        *_wrapped("Enter: played twice  s hear  a fingering  g grip and mode", width, "quiet", 8),
    ]


def _answer(drill: Drill, reading: Reading, width: int, _height: int) -> list[Line]:
    keys = "Left Looked  Down Found it  Right Clean  Up In time"
    short = "<- Looked  v Found it  -> Clean  ^ In time" if width < 52 else keys
    return [
        *_diagram(drill, reading, width),
        Line(weight=0),
        *_wrapped(short, width, "strong"),
        *_wrapped("h what they mean  s hear  a fingering  g grip and mode  u undo", width, "quiet", 2),
    ]


def _repeat(drill: Drill, reading: Reading, width: int, _height: int) -> list[Line]:
    return [
        Line("Play it right twice, slowly.", "strong", 8),
        *_diagram(drill, reading, width),
        Line(weight=0),
        *_wrapped("Enter: done.  What slipped? 1 root 2 shape 3 fingering 4 time", width, "quiet", 8),
    ]


def _music(drill: Drill, reading: Reading, width: int, _height: int) -> list[Line]:
    card = weakest(drill.state)
    shape = drill.material.answer(card)
    return [
        Line("A musical minute", "strong"),
        *_wrapped(f"{card.chord.name} on {card.strings}: slow phrases over its sound, chord tones first.", width),
        Line(weight=1),
        *(Line(row) for row in _drawing(drill, reading, shape, width)),
        Line(weight=1),
        *_wrapped("s hear it  Enter goes on", width, "quiet"),
    ]


def _end(drill: Drill, _reading: Reading, width: int, _height: int) -> list[Line]:
    lines: list[Line] = [Line("Done.", "strong"), Line(weight=1)]
    for text in end_lines(drill):
        lines += _wrapped(text, width)
    return [*lines, Line(weight=1), *_wrapped("Enter leaves.  u takes back the last grade", width, "quiet")]
