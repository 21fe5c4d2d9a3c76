"""A sheet for a trial by real players: one page, two weeks, what to note each day and what to send at the end."""

from __future__ import annotations

from drills.diagrams.picture import Part, Picture, Stroke, Words
from drills.diagrams.typesetting import lines_that_fit, size_that_fits
from drills.errors import SettingsError
from drills.paper.page_style import Footer, PageStyle

__all__ = ["DAYS", "trial_page", "trial_text"]

DAYS = 14
"""Rows of the table: two weeks."""

_TITLE = "Two weeks with neckwork: a sheet for players on trial"

_BEFORE = (
    (
        "Your hands first",
        "Sharp pain, numbness, tingling, weakness or loss of control: stop, and see a doctor or a hand therapist used "
        "to musicians. The key ! stops a session at once. Pain that comes back the next day is not normal. Whoever has "
        "pain now does not take part. Count these minutes with all else your hands do.",
    ),
    (
        "What to do",
        "Play ten minutes a day, on the days you would play anyway: neckwork session. Grade as it went. A day without "
        "a session stays empty; nobody minds.",
    ),
    (
        "On the first and on the last day, before the session",
        "Play Cmaj7, Am7, D7 and Bm7b5 on strings 6-5-4 and on 5-4-3 from memory, eight shapes, once each and slowly; "
        "best with somebody who listens. Right the first time: first day ____ of 8, last day ____ of 8.",
    ),
)

_COLUMNS = (("Day", 0.06), ("Date", 0.13), ("Minutes here", 0.13), ("Other playing", 0.14), ("Hands 0 to 3", 0.13))
"""Heads of the table with their part of its width; the last column takes the rest."""

_LAST_COLUMN = "What stopped or puzzled me"

_SCALE = "Hands: 0 nothing felt, 1 tired, 2 sore, 3 pain. At 3: stop, and no more until it is clear why."

_AFTER = (
    (
        "At the end",
        "On the back: which card, diagram, fingering, key or sentence was wrong or unclear? What would you change "
        "first? Do you go on?",
    ),
    (
        "What to send, if you want to",
        "This sheet, and the file that neckwork export -o log.json writes, to whoever gave you the sheet. Nothing is "
        "sent by itself. The file holds cards, grades, times, and the questions you typed; neckwork export --format "
        "csv shows the reviews in a spreadsheet. You may stop on any day and send nothing.",
    ),
    (
        "What comes of it",
        "A few players, by their own word, show where screens, words and fingerings fail. They do not show that the "
        "method works, and nothing of that kind is claimed from these sheets.",
    ),
)

_BODY_PT, _LEAST_PT = 9.5, 7.0
_LEADING = 1.3
_LOWEST_ROW_PT = 17.0
"""Room to write by hand on a row, at least."""


def trial_text() -> str:
    """The words of the sheet, for a screen reader or to copy: a head and its sentences in turn, then the table's."""
    heads = [name for name, _ in _COLUMNS] + [_LAST_COLUMN]
    parts = [_TITLE, *(f"{head}.\n{said}" for head, said in _BEFORE)]
    parts += [f"Each day: {', '.join(heads)}.\n{_SCALE}", *(f"{head}.\n{said}" for head, said in _AFTER)]
    return "\n\n".join(parts) + "\n"


def trial_page(look: PageStyle, footer: Footer = Footer()) -> Picture:
    """The sheet as one page; its print shrinks until all is on it, with room to write by hand.

    Raises SettingsError for a phone's page, which nobody writes on, and where the page has no room.
    """
    if look.on_phone:
        raise SettingsError("trial sheet: it is written on by hand: expected paper A4 or Letter, got phone")
    size = _BODY_PT * look.print_scale
    while size >= _LEAST_PT:
        parts = _set(look, footer, size)
        if parts is not None:
            words = "What to note each day of two weeks, what to send, and when to stop."
            return Picture(*look.size, tuple(parts), _TITLE, words)
        size -= 0.5
    raise SettingsError("trial sheet: expected a page with room for it, got too long a footer; shorten --teacher")


def _set(look: PageStyle, footer: Footer, size: float) -> list[Part] | None:
    """All of the page at one size of print; None where the rows of the table would be too low."""
    wide, high = look.size
    left, right = look.margin, wide - look.margin
    foot = lines_that_fit(footer.text, size - 1.5, right - left)
    above, top = _paragraphs(_BEFORE, left, look.margin + size * 3.2, right - left, size)
    ending, tall = _paragraphs(_AFTER, left, 0.0, right - left, size)
    bottom = high - look.margin - len(foot) * (size + 0.5) - tall
    head = size * _LEADING + 4
    row = (bottom - top - head - size * 2.2) / DAYS
    if row < _LOWEST_ROW_PT:
        return None
    title = size_that_fits(_TITLE, size * 1.5, right - left, bold=True)
    parts: list[Part] = [Words(left, look.margin + size * 1.5, _TITLE, title, bold=True), *above]
    parts += _table(left, right, top + head, row, size)
    parts.append(Words(left, top + head + DAYS * row + size * 1.4, _SCALE, size_that_fits(_SCALE, size, right - left)))
    parts += [_lowered(part, bottom) for part in ending]
    for number, line in enumerate(reversed(foot)):
        parts.append(Words(left, high - look.margin - number * (size + 0.5), line, size - 1.5))
    return parts


def _paragraphs(
    paragraphs: tuple[tuple[str, str], ...], left: float, top: float, wide: float, size: float
) -> tuple[list[Words], float]:
    """Each head over its sentences, and where the next line may begin."""
    parts = []
    for head, said in paragraphs:
        top += size * _LEADING
        parts.append(Words(left, top, head, size, bold=True))
        for line in lines_that_fit(said, size, wide):
            top += size * _LEADING
            parts.append(Words(left, top, line, size))
        top += size * 0.5
    return parts, top


def _lowered(part: Words, by: float) -> Words:
    return Words(part.x, part.y + by, part.text, part.size, part.anchor, part.bold, part.white)


def _table(left: float, right: float, top: float, row: float, size: float) -> list[Part]:
    """The days down the side, what to note across; every line drawn, so that a pen finds its place."""
    wide = right - left
    edges = [left]
    for _, part in _COLUMNS:
        edges.append(edges[-1] + part * wide)
    edges.append(right)
    parts: list[Part] = []
    for edge, head in zip(edges, [*(name for name, _ in _COLUMNS), _LAST_COLUMN], strict=False):
        room = edges[edges.index(edge) + 1] - edge - 4
        parts.append(Words(edge + 2, top - 4, head, size_that_fits(head, size - 0.5, room, bold=True), bold=True))
    bottom = top + DAYS * row
    parts += [Stroke(edge, top, edge, bottom, 0.6) for edge in edges]
    parts += [Stroke(left, top + number * row, right, top + number * row, 0.6) for number in range(DAYS + 1)]
    parts += [Words(left + 4, top + (number - 0.3) * row, str(number), size) for number in range(1, DAYS + 1)]
    return parts
