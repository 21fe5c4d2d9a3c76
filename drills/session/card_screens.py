"""The screens of a card: prompt, lesson, answer, repeat."""

from __future__ import annotations

from dataclasses import replace

from drills.cards.card import Card
from drills.cards.kinds import kind_of
from drills.configuration.diagram_style import DiagramStyle
from drills.diagrams.answer import heading, remarks
from drills.diagrams.text import note_table
from drills.session.drill import Drill
from drills.session.lessons import lesson_words, root_words
from drills.session.letters import big
from drills.session.screen_lines import ScreenLine, blank, drawing, places_text, view, wrapped
from drills.session.session_sentences import again_words, said_of, slips_of
from drills.session.session_state import SessionState
from drills.shapes.shape import Shape, fingers_text
from scheduler.grade import Grade

__all__ = ["answer", "beside_pages", "lesson", "prompt", "repeat", "slip_wanted"]

LOWEST_FOR_LETTERS, LOWEST_FOR_TWO, LOWEST_FOR_TALL = 12, 20, 30
"""Window heights from which the call, the string set too, and the call twice as large are drawn in block letters."""

LOWEST_FOR_TWO_TALL = 36
"""Window height from which both calls of a transition are drawn twice as large."""

NARROW = 52
"""Columns under which the four grades are named by their arrows."""

GRADE_WORDS = (Grade.IN_TIME.label, Grade.LOOKED.label, Grade.CLEAN.label, Grade.FOUND.label)
"""The words of the grades in the order of their keys: Up, Left, Right, Down."""

ROOT_PLACE = 8
"""Weight of where the root lies: that of a notice, which stands below it and so is dropped first."""

TOLD_BEFORE_KEYS = 5
"""Weight of what an answer shows before its grades spread over three rows: all but what the drawing says already."""


def slip_wanted(state: SessionState) -> bool:
    """Whether the last grade may still be given its cause, on the next prompt."""
    last = state.given[-1] if state.given else None
    if last is None or last.grade is not Grade.FOUND or last.slip is not None or state.typing:
        return False
    return bool(kind_of(last.card.kind).slips)


def _clock(drill: Drill, width: int) -> ScreenLine:
    state = drill.state
    minutes = max(0.0, state.elapsed_s(drill.now_s())) / 60
    text = f"{minutes:.0f} of {state.limit_s / 60:g} min"
    return ScreenLine(text.rjust(width), "quiet", 2)


def _call(drill: Drill, style: DiagramStyle, width: int, height: int) -> list[ScreenLine]:
    card, before = drill.state.card_in_hand, drill.state.question_asked.before
    block = "#" if style.ascii else "█"
    if card.to is not None:
        return _two_calls(card, card.to, block, width, height)
    if before is not None:  # the drawing is what is to be read from afar
        return [*wrapped(card.prompt, width, "strong"), blank(3), *view(drill, style, before, width)]
    drawn = big(card.call, width, block, 2) if height >= LOWEST_FOR_TALL else None
    if drawn is None and height >= LOWEST_FOR_LETTERS:
        drawn = big(card.call, width, block)
    second = drawn and card.large and height >= LOWEST_FOR_TWO
    set_drawn = big(card.large, width, block) if second else None
    lines = [ScreenLine(row, "big") for row in drawn] if drawn else wrapped(card.call, width, "strong")
    if set_drawn:
        lines += [blank(3), *(ScreenLine(row, "big") for row in set_drawn)]
    return [*lines, blank(3), *wrapped(card.detail, width, "strong")]


def _two_calls(card: Card, onward: Card, block: str, width: int, height: int) -> list[ScreenLine]:
    """Both chords of a transition, one under the other where there is room."""
    rest = wrapped(card.detail, width, "strong")
    names = (card.own_chord.name, onward.own_chord.name)
    one = big(card.call, width, block) if height >= LOWEST_FOR_LETTERS else None
    tall = 2 if height >= LOWEST_FOR_TWO_TALL else 1
    two = [rows for name in names if height >= LOWEST_FOR_TWO and (rows := big(name, width, block, tall))]
    if len(two) == len(names):
        above, below = ([ScreenLine(row, "big") for row in rows] for rows in two)
        return [*above, blank(3), *below, blank(3), *rest]
    lines = [ScreenLine(row, "big") for row in one] if one else wrapped(card.call, width, "strong")
    return [*lines, blank(3), *rest]


def prompt(drill: Drill, style: DiagramStyle, width: int, height: int) -> list[ScreenLine]:
    """The call, large and alone."""
    state = drill.state
    lines = [_clock(drill, width), *(blank(0) for _ in range(max(0, height // 4 - 2)))]
    lines += _call(drill, style, width, height)
    if state.card_in_hand.note:
        lines += wrapped(state.card_in_hand.note, width, "quiet", 4)
    if drill.shows_root:
        lines += wrapped(f"Root: {root_words(drill)}.", width, "quiet", ROOT_PLACE)
    if state.card_in_hand.context:
        lines += wrapped(state.card_in_hand.context, width, "quiet", 4)
    if state.typing:
        cursor = "_" if style.ascii else "▁"
        return [
            *lines,
            blank(),
            *wrapped(f"> {state.typed}{cursor}", width, "strong"),
            *wrapped(f"{state.question_asked.ask} Enter alone shows it.", width, "quiet", 6),
        ]
    tempo = drill.tempo_of(state.card_in_hand)
    lines += [blank(), *wrapped(state.question_asked.ask, width, "quiet", 6)]
    lines += wrapped("l: I don't know, show me.", width, "quiet", 3)
    if tempo:
        lines.append(ScreenLine(f"In time is at {tempo:g}.{'  k click' if drill.audible else ''}", "quiet", 4))
    if slip_wanted(state):
        lines += wrapped(f"Last one: {slips_of(state.given[-1].card)}?", width, "quiet", 5)
    return lines


def _diagram(drill: Drill, style: DiagramStyle, width: int, height: int) -> list[ScreenLine]:
    state, card, shapes = drill.state, drill.state.card_in_hand, drill.shapes()
    said = [line for text in said_of(state) for line in wrapped(text, width, weight=7)]
    if len(shapes) > 1:
        return [*said, *_several(drill, style, width, height)]
    if not shapes:
        shown = state.question_asked.after
        lines = [*wrapped(card.prompt, width, "strong"), *(replace(line, role="strong", weight=8) for line in said)]
        return [*lines, blank(), *view(drill, style, shown, width)] if shown else lines
    shape = shapes[0]
    lines = [*wrapped(heading(shape), width, "strong"), *said, blank()]
    grip, mode = drill.material.grip(card), drill.material.mode(card)
    if state.extra and (grip or mode):
        return _beside(drill, style, width, height)
    lines += [*drawing(drill, style, shape, width), blank(0), *_table(shape)]
    for remark in remarks(shape):
        lines += wrapped(remark, width, weight=6)
    return [*lines, *_same_place(grip, mode, width)]


def _table(shape: Shape) -> list[ScreenLine]:
    """Strings, frets, notes, degrees and fingers; what the drawing says too goes first when rows are few."""
    return [ScreenLine(row, "", weight) for weight, row in zip((4, 4, 7, 7, 8), note_table(shape), strict=True)]


def beside_pages(drill: Drill, style: DiagramStyle, width: int, height: int) -> int:
    """Pages that grip and mode take in the window: one where both drawings have room."""
    if drill.state.card is None or drill.state.card.to is not None:
        return 1
    rows = sum(len(drawing(drill, style, shape, width)) + 1 for shape in drill.same_place())
    return 1 if rows + KEYS_UNDER <= height else len(drill.same_place())


def _beside(drill: Drill, style: DiagramStyle, width: int, height: int) -> list[ScreenLine]:
    """Grip and mode at the same place, drawn together or one a page."""
    shapes = drill.same_place()
    if beside_pages(drill, style, width, height) == 1:
        lines = []
        for one in shapes:
            lines += wrapped(f"{heading(one)}  fingers {fingers_text(one.fingers)}", width, "strong", 7)
            lines += drawing(drill, style, one, width)
        return lines
    shape = shapes[min(drill.state.extra, len(shapes)) - 1]
    return [*wrapped(heading(shape), width, "strong"), *drawing(drill, style, shape, width), *_table(shape)]


KEYS_UNDER = 5
"""Rows that an answer keeps for its words and keys, at most."""


def _several(drill: Drill, style: DiagramStyle, width: int, height: int) -> list[ScreenLine]:
    """All shapes of an answer, or the grips of a transition; as notes and fingers where drawings have no room."""
    material, card = drill.material, drill.state.card_in_hand
    shapes = list(drill.shapes())
    if card.to is not None and drill.state.extra:
        grips = [grip for grip in (material.grip(card), material.grip(card.to)) if grip is not None]
        shapes = grips if len(grips) == 2 else shapes
    drawn = [drawing(drill, style, shape, width) for shape in shapes]
    room = sum(map(len, drawn)) + len(drawn) + KEYS_UNDER <= height
    lines: list[ScreenLine] = []
    for shape, rows in zip(shapes, drawn, strict=True):
        fingers = f"fingers {fingers_text(shape.fingers)}"
        lines += wrapped(f"{heading(shape)}  {fingers}" if room else heading(shape), width, "strong")
        lines += rows if room else wrapped(f"{places_text(shape)}  {fingers}", width)
    for remark in dict.fromkeys(remark for shape in shapes for remark in remarks(shape)):
        lines += wrapped(remark, width, weight=4)
    return lines


def _same_place(grip: Shape | None, mode: Shape | None, width: int) -> list[ScreenLine]:
    lines = []
    if grip:
        lines += wrapped(f"grip   {places_text(grip)}  fingers {fingers_text(grip.fingers)}", width, weight=3)
    if mode:
        lines += wrapped(f"{mode.form.mode}  {places_text(mode)}", width, weight=3)
    return lines


def lesson(drill: Drill, style: DiagramStyle, width: int, height: int) -> list[ScreenLine]:
    """A form or a root met for the first time."""
    asked, place = lesson_words(drill)
    done = f"Enter: {'seen' if drill.state.away else 'played'} twice"
    return [
        *wrapped(asked, width, "strong", 8),
        *(wrapped(place, width, weight=ROOT_PLACE) if place else []),
        *_diagram(drill, style, width, height),
        blank(0),
        ScreenLine(f"{done}  h keys" if width < NARROW else f"{done}  {_more(drill)}".rstrip(), "quiet", 8),
    ]


def answer(drill: Drill, style: DiagramStyle, width: int, height: int) -> list[ScreenLine]:
    """The diagram and the four grades; what a machine makes of a typed answer stands first."""
    verdict = drill.state.verdict
    lines = wrapped(verdict.line, width, "strong", 8) if verdict is not None else []
    lines += [*_diagram(drill, style, width, height), blank(0)]
    more = ScreenLine("h what they mean" if width < NARROW else f"h what they mean  {_more(drill)}u undo", "quiet", 2)
    if verdict is not None:
        return [*lines, *wrapped(f"Enter {verdict.grade.label}, or l f c t", width, "strong"), more]
    room = height - sum(line.weight >= TOLD_BEFORE_KEYS for line in lines)
    return [*lines, *grade_lines(width, room, style.ascii), more]


def grade_lines(width: int, room: int, ascii_only: bool) -> list[ScreenLine]:
    """The four grades where their keys lie: Up above, Left and Right at the sides, Down below.

    width: columns. room: rows that are free; with fewer than three, or too few columns, they stand in one row.
    """
    up, left, right, down = (
        [f"{key} {word}" for key, word in zip(("Up", "Left", "Right", "Down"), GRADE_WORDS, strict=True)]
        if width >= NARROW
        else [f"{key}{word}" for key, word in zip("^<>v" if ascii_only else "↑←→↓", GRADE_WORDS, strict=True)]
    )
    gap = max(len(up), len(down))
    if room < 3 or len(left) + gap + len(right) + 4 > width:
        return wrapped(("  " if width >= NARROW else " ").join((left, down, right, up)), width, "strong")
    middle = len(left) + 2
    return [
        ScreenLine(" " * middle + up.center(gap).rstrip(), "strong"),
        ScreenLine(left + " " * (gap + 4) + right, "strong"),
        ScreenLine(" " * middle + down.center(gap).rstrip(), "strong"),
    ]


def repeat(drill: Drill, style: DiagramStyle, width: int, height: int) -> list[ScreenLine]:
    """After a miss: the diagram stays until it has been played right."""
    last = drill.state.given[-1]
    asks = ["Enter: done."]
    if not last.slip and (slips := slips_of(last.card)):
        asks = ["Enter: done.  What slipped?", slips.replace("  ", " ")]
        asks = asks if width < NARROW else [f"{asks[0]}  {slips}"]
    return [
        *wrapped(again_words(last.card), width, "strong", 8),
        *_diagram(drill, style, width, height),
        blank(0),
        *(ScreenLine(text, "quiet", 8) for text in asks),
    ]


def _more(drill: Drill) -> str:
    """What else a key does here, with two spaces after it, or ``""``; what is heard only where it can be."""
    card, shapes = drill.state.card_in_hand, drill.shapes()
    if not shapes:
        return ""
    played = not kind_of(card.kind).away
    there = card.is_shape and (len(shapes) == 1 or card.to is not None)
    keys = (
        ("s hear", drill.audible), ("k click", drill.audible and played), ("a fingering", played),
        ("g grip and mode", there),
    )  # fmt: skip
    return "".join(f"{key}  " for key, works in keys if works)
