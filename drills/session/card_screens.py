"""The screens of a card: prompt, lesson, answer, repeat."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from drills.cards.card import Card
from drills.cards.kinds import kind_of
from drills.configuration.diagram_style import DiagramStyle
from drills.diagrams.answer import heading, remarks
from drills.diagrams.large_text import LABEL_ROWS, large_label
from drills.diagrams.text import note_table
from drills.session.drill import Drill
from drills.session.heard_take import seconds_left
from drills.session.lessons import lesson_words, root_words
from drills.session.letters import HEIGHT as LETTER_ROWS
from drills.session.letters import big
from drills.session.screen_lines import (
    ScreenLine,
    blank,
    drawing,
    large_drawing,
    places_text,
    side_by_side,
    view,
    wrapped,
)
from drills.session.session_sentences import (
    SLIPPED_BEFORE,
    again_words,
    heard_words,
    in_time_words,
    said_of,
    silence_words,
    slips_of,
)
from drills.session.session_state import SessionState
from drills.shapes.shape import Shape, fingers_text
from scheduler.grade import Grade

__all__ = ["answer", "beside_pages", "lesson", "prompt", "repeat", "slip_wanted"]

BESIDE_LETTERS = 8
"""Rows that a prompt keeps beside what it draws in block letters: the clock, what is asked, notices, a gap."""

LOWEST_FOR_LETTERS, LOWEST_FOR_TWO = 12, 20
"""Window heights from which the call, and the string set or a second chord too, are drawn in block letters."""

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
        said = wrapped(card.prompt, width, "strong")
        room = height - BESIDE_LETTERS - len(said)
        return [*said, blank(3), *view(drill, style, before, width, room)]
    two = card.large and height >= LOWEST_FOR_TWO
    for tall in range(max(1, height // (2 * LETTER_ROWS)), 0, -1):
        drawn = big(card.call, width, block, tall)
        under = [big(card.large, width, block, rows) for rows in (tall, max(1, tall // 2))] if two else []
        for rows in under:
            if drawn and rows and len(drawn) + 1 + len(rows) <= height - BESIDE_LETTERS:
                named, rest = _named_set(card)
                said = [blank(3), *wrapped(rest, width, "strong")] if rest else []
                return [*_big(drawn), blank(3), *named, *_big(rows), *said]
        if drawn and not any(under) and height >= LOWEST_FOR_LETTERS:
            return [*_big(drawn), blank(3), *wrapped(card.detail, width, "strong")]
    return [*wrapped(card.call, width, "strong"), blank(3), *wrapped(card.detail, width, "strong")]


def _named_set(card: Card) -> tuple[list[ScreenLine], str]:
    """What stands over a string set that is drawn large, and what is left to say under it.

    The set is said once: only its name, ``strings``, is written where its numbers are drawn. Whatever else is drawn
    large stands in a sentence of the detail (``near fret 5``), which is kept whole.
    """
    parts = card.detail.split(", ")
    if parts[-1] != f"strings {card.large}":
        return [], card.detail
    return [ScreenLine("strings", "quiet", 6)], ", ".join(parts[:-1])


def _big(rows: list[str]) -> list[ScreenLine]:
    return [ScreenLine(row, "big") for row in rows]


def _two_calls(card: Card, onward: Card, block: str, width: int, height: int) -> list[ScreenLine]:
    """Both chords of a transition, one under the other where there is room."""
    rest = wrapped(card.detail, width, "strong")
    names = (card.own_chord.name, onward.own_chord.name)
    if height >= LOWEST_FOR_TWO:
        for tall in range((height - BESIDE_LETTERS - 1) // (2 * LETTER_ROWS), 0, -1):
            above, below = (big(name, width, block, tall) for name in names)
            if above and below:
                return [*_big(above), blank(3), *_big(below), blank(3), *rest]
    one = big(card.call, width, block) if height >= LOWEST_FOR_LETTERS else None
    return [*(_big(one) if one else wrapped(card.call, width, "strong")), blank(3), *rest]


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
        lines += wrapped(f"{in_time_words(tempo)}{'  k click' if drill.audible else ''}", width, "quiet", 4)
    if slip_wanted(state):
        lines += wrapped(f"{SLIPPED_BEFORE}  {slips_of(state.given[-1].card)}", width, "quiet", 5)
    return lines


def _diagram(drill: Drill, style: DiagramStyle, width: int, height: int, taken: int) -> list[ScreenLine]:
    """The answer: its name, its drawing, its notes in a table. taken: rows that the page needs for the rest.

    It is drawn large where nothing that the page says would have to go for it.
    """
    state, card, shapes = drill.state, drill.state.card_in_hand, drill.shapes()
    said = [line for text in said_of(state) for line in wrapped(text, width, weight=7)]
    if len(shapes) > 1:
        return [*said, *_several(drill, style, width, height - taken - len(said))]
    if not shapes:
        shown = state.question_asked.after
        lines = [*wrapped(card.prompt, width, "strong"), *(replace(line, role="strong", weight=8) for line in said)]
        return [*lines, blank(), *view(drill, style, shown, width, height - taken - len(lines))] if shown else lines
    shape = shapes[0]
    lines = [*wrapped(heading(shape), width, "strong"), *said, blank()]
    grip, mode = drill.material.grip(card), drill.material.mode(card)
    if state.extra and (grip or mode):
        return _beside(drill, style, width, height)
    under = [line for remark in remarks(shape) for line in wrapped(remark, width, weight=6)]
    under += _same_place(grip, mode, width)
    free = height - taken - _rows((*lines, *under))
    drawn = _large(drill, style, shape, width, free)
    if drawn is None:
        drawn = [*drawing(drill, style, shape, width), blank(0), *_table(shape)]
    return [*lines, *drawn, *under]


def _rows(lines: Iterable[ScreenLine]) -> int:
    """Rows that lines take without the empty ones, which go before anything is drawn small."""
    return sum(bool(line.text) for line in lines)


def _table(shape: Shape) -> list[ScreenLine]:
    """Strings, frets, notes, degrees and fingers; what the drawing says too goes first when rows are few."""
    return [ScreenLine(row, "", weight) for weight, row in zip((4, 4, 7, 7, 8), note_table(shape), strict=True)]


APART = 3
"""Columns between a large drawing and what stands at its right."""


def _large(drill: Drill, style: DiagramStyle, shape: Shape, width: int, room: int) -> list[ScreenLine] | None:
    """A shape drawn large with its table at the right of it, else under it; None where neither has room."""
    table = _large_table(shape, style)
    across = max(map(len, table)) + APART
    drawn = large_drawing(drill, style, shape, width - across, room)
    if drawn is not None and len(table) <= len(drawn):
        above = (len(drawn) - len(table)) // 2
        return side_by_side(drawn, [ScreenLine()] * above + [ScreenLine(row) for row in table], APART)
    drawn = large_drawing(drill, style, shape, width, room - len(table))
    return drawn if drawn is None else [*drawn, *(ScreenLine(row) for row in table)]


def _large_table(shape: Shape, style: DiagramStyle) -> list[str]:
    """The table of a large drawing, with the fingers as large as the drawing where that does not hold them."""
    large = [large_label(str(note.finger)) for note in shape.notes]
    rows = [row.split() for row in note_table(shape)]
    small = style.labels == "fingers" or None in large
    kept = rows if small else rows[:-1]
    lines = [f"{name:8}" + "".join(f"{value:^5}" for value in values) for name, *values in kept]
    if not small:
        drawn = [label for label in large if label is not None]
        for number in range(LABEL_ROWS):
            name = rows[-1][0] if number == LABEL_ROWS // 2 else ""
            lines.append(f"{name:8}" + "".join(f"{label[number]:^5}" for label in drawn))
    return [line.rstrip() for line in lines]


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
    """All shapes of an answer, or the grips of a transition; as notes and fingers where drawings have no room.

    height: rows that are free for them.
    """
    material, card = drill.material, drill.state.card_in_hand
    shapes = list(drill.shapes())
    if card.to is not None and drill.state.extra:
        grips = [grip for grip in (material.grip(card), material.grip(card.to)) if grip is not None]
        shapes = grips if len(grips) == 2 else shapes
    if len(shapes) == 2 and (both := _two_large(drill, style, shapes, width, height)):
        return both
    heads = {shape: f"{heading(shape)}  fingers {fingers_text(shape.fingers)}" for shape in shapes}
    under = height - sum(len(wrapped(head, width)) for head in heads.values())
    drawn = [drawing(drill, style, shape, width) for shape in shapes]
    room = sum(map(len, drawn)) <= under
    lines: list[ScreenLine] = []
    for shape, rows in zip(shapes, drawn, strict=True):
        fingers = f"fingers {fingers_text(shape.fingers)}"
        lines += wrapped(f"{heading(shape)}  {fingers}" if room else heading(shape), width, "strong")
        lines += rows if room else wrapped(f"{places_text(shape)}  {fingers}", width)
    for remark in dict.fromkeys(remark for shape in shapes for remark in remarks(shape)):
        lines += wrapped(remark, width, weight=4)
    return lines


def _two_large(
    drill: Drill, style: DiagramStyle, shapes: list[Shape], width: int, height: int
) -> list[ScreenLine] | None:
    """Two shapes drawn large side by side, the first at the left; None where they have no room so."""
    half = (width - APART) // 2
    found = []
    for shape in shapes:
        above = [
            *wrapped(heading(shape), half, "strong"),
            ScreenLine(f"fingers {fingers_text(shape.fingers)}", "strong"),
        ]
        drawn = large_drawing(drill, style, shape, half, height - len(above))
        if drawn is None:
            return None
        found.append([*above, *drawn, *(line for remark in remarks(shape) for line in wrapped(remark, half))])
    lines = side_by_side(found[0], found[1], APART)
    return lines if len(lines) <= height else None


def _same_place(grip: Shape | None, mode: Shape | None, width: int) -> list[ScreenLine]:
    lines = []
    if grip:
        lines += wrapped(f"grip   {places_text(grip)}  fingers {fingers_text(grip.fingers)}", width, weight=2)
    if mode:
        lines += wrapped(f"{mode.form.mode}  {places_text(mode)}", width, weight=2)
    return lines


def _noted(drill: Drill, width: int) -> int:
    """Rows of the notice under a page."""
    return len(wrapped(drill.state.note, width)) if drill.state.note else 0


def lesson(drill: Drill, style: DiagramStyle, width: int, height: int) -> list[ScreenLine]:
    """A form or a root met for the first time."""
    asked, place = lesson_words(drill)
    above = [*wrapped(asked, width, "strong", 8), *(wrapped(place, width, weight=ROOT_PLACE) if place else [])]
    done = f"Enter: {'seen' if drill.state.away else 'played'} twice"
    return [
        *above,
        *_diagram(drill, style, width, height, len(above) + 1 + _noted(drill, width)),
        blank(0),
        ScreenLine(f"{done}  h keys" if width < NARROW else f"{done}  {_more(drill)}".rstrip(), "quiet", 8),
    ]


def answer(drill: Drill, style: DiagramStyle, width: int, height: int) -> list[ScreenLine]:
    """The diagram and the four grades; what a machine makes of a typed answer stands first."""
    verdict = drill.state.verdict
    lines = wrapped(verdict.line, width, "strong", 8) if verdict is not None else []
    lines += [line for text in heard_words(drill.state) for line in wrapped(text, width, "strong", 8)]
    if silence := silence_words(drill):
        bar = ("#" if style.ascii else "■") * seconds_left(drill.state.heard, drill.now_s())
        lines.append(ScreenLine(f"{silence} {bar}", "", 8))
    keys = 1 if verdict is not None else GRADE_ROWS
    taken = len(lines) + keys + 1 + _noted(drill, width)
    lines += [*_diagram(drill, style, width, height, taken), blank(0)]
    more = ScreenLine("h what they mean" if width < NARROW else f"h what they mean  {_more(drill)}u undo", "quiet", 3)
    if verdict is not None:
        return [*lines, *wrapped(f"Enter {verdict.grade.label}, or l f c t", width, "strong"), more]
    told = sum(line.weight >= TOLD_BEFORE_KEYS for line in lines)
    return [*lines, *grade_lines(width, height - told, style.ascii), more]


GRADE_ROWS = 3
"""Rows of the grades where they stand as their keys lie."""


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
    if room < GRADE_ROWS or len(left) + gap + len(right) + 4 > width:
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
    above = wrapped(again_words(last.card), width, "strong", 8)
    return [
        *above,
        *_diagram(drill, style, width, height, len(above) + len(asks) + _noted(drill, width)),
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
