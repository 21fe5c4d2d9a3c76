"""Puts an etude line into words: why each note is there, and which rules the line breaks."""

from __future__ import annotations

from textwrap import wrap
from typing import Any

from drills.lines.checker import check_line
from drills.lines.checker_soft import SOFT_RULES, soft_faults, soft_score
from drills.lines.line import Line
from drills.lines.line_text import line_json
from drills.lines.note_requests import place_words

__all__ = ["broken_rules", "etude_json", "why_lines"]


def why_lines(line: Line, width: int = 80) -> list[str]:
    """One line a note: where it is, what it is, and the rule it obeys. They can be spoken as they are."""
    lines = []
    for note in line.notes:
        said = f"{place_words(note.bar, note.beat)} {note.place}: {note.why}"
        lines += wrap(said, width, subsequent_indent="    ", break_on_hyphens=False)
    return lines


def broken_rules(line: Line, width: int = 80) -> list[str]:
    """Which rules the line breaks, the hard ones first; the line is looked at anew, apart from the search."""
    hard, soft = check_line(line), soft_faults(line)
    if not (hard or soft):
        return wrap("Every hard rule is kept, and no soft rule is broken.", width)
    lines = [] if hard else wrap("Every hard rule is kept. Soft rules, for your ear to judge:", width)
    for title, faults in (("Hard rules that are broken:", hard), ("Soft rules, for your ear to judge:", soft)):
        if hard and faults:
            lines += wrap(title, width)
        for fault in faults:
            lines += wrap(f"- {fault}", width, subsequent_indent="  ")
    return lines


def etude_json(line: Line) -> dict[str, Any]:
    """The line as data, with its soft faults and in how many places there are any."""
    soft = [
        {"rule": fault.rule, "asks": SOFT_RULES[fault.rule], "count": fault.count, "found": fault.message}
        for fault in soft_faults(line)
    ]
    return {**line_json(line), "soft_score": soft_score(line), "soft": soft}
