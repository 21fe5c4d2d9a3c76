"""Draws the prompt and the answer of a card as a player sees them: the picture at the head of README.

    python -m data.session_picture [--file data/pictures/session.svg]

The session is the real one: a first session over a few cards, on a clock of its own, taken through its lessons to
the first prompt. Its lines are set as text, so that the picture can be read, searched and enlarged.
"""

from __future__ import annotations

import argparse
from datetime import UTC, datetime, timedelta
from pathlib import Path
from xml.etree.ElementTree import Element, SubElement, tostring

from drills.cards.deck import find_deck, read_deck
from drills.cards.focus import parse_focus
from drills.cards.material import gather
from drills.configuration.diagram_style import DiagramStyle
from drills.neck.neck import Neck
from drills.session.drill import Drill
from drills.session.screen_lines import ScreenLine
from drills.session.screens import screen
from drills.session.session_state import Phase
from drills.theory.quality import shipped_qualities
from scheduler.log.review_log import ReviewLog
from scheduler.planning.planner import Planner

__all__ = ["session_picture", "session_screens"]

COLUMNS, ROWS = 60, 18
"""Columns and rows of the terminal drawn."""

WIDE_PX, HIGH_PX, EDGE_PX = 8.4, 18.0, 14.0
"""Width of a column, height of a row, and the margin of a window, in pixels; letters are 14 pixels high."""


def session_screens() -> tuple[list[ScreenLine], list[ScreenLine]]:
    """The first prompt of a session, and the answer that follows it."""
    focus = parse_focus(shipped_qualities(), strings="654", quality="maj7,m7")
    material = gather(read_deck(find_deck("first", None)), Neck(), focus=focus)
    with ReviewLog(":memory:") as log:
        planner = Planner(material.specs(), 1, rules=material.rules())
        now = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
        drill = Drill(material, planner, log, lambda: now, minutes=10, caution=False)
        while drill.state.phase is not Phase.PROMPT:
            now += timedelta(seconds=20)
            drill.press("enter")
        prompt = screen(drill, DiagramStyle(), COLUMNS, ROWS)
        now += timedelta(seconds=9)
        drill.press("enter")
        return prompt, screen(drill, DiagramStyle(), COLUMNS, ROWS)


def session_picture() -> str:
    """Both screens side by side as SVG, dark on white like a page."""
    prompt, answer = session_screens()
    rows = max(len(prompt), len(answer))
    panel_px = COLUMNS * WIDE_PX + 2 * EDGE_PX
    high_px = rows * HIGH_PX + 2 * EDGE_PX
    wide_px = 2 * panel_px + 3 * EDGE_PX
    root = Element("svg", xmlns="http://www.w3.org/2000/svg", viewBox=f"0 0 {wide_px:g} {high_px + 2 * EDGE_PX:g}")
    root.set("role", "img")
    root.set("font-family", "'DejaVu Sans Mono', Menlo, Consolas, monospace")
    root.set("font-size", "14")
    SubElement(root, "title").text = "A session: the prompt, and the answer after Enter"
    SubElement(root, "desc").text = " ".join(line.text.strip() for line in (*prompt, *answer) if line.text.strip())
    SubElement(root, "rect", width="100%", height="100%", fill="#ffffff")
    for number, lines in enumerate((prompt, answer)):
        _window(root, lines, EDGE_PX + number * (panel_px + EDGE_PX), panel_px, high_px)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + tostring(root, encoding="unicode") + "\n"


def _window(root: Element, lines: list[ScreenLine], left_px: float, wide_px: float, high_px: float) -> None:
    frame = {"x": f"{left_px:g}", "y": f"{EDGE_PX:g}", "width": f"{wide_px:g}", "height": f"{high_px:g}", "rx": "6"}
    SubElement(root, "rect", frame, fill="#ffffff", stroke="#404040")
    for row, line in enumerate(lines):
        if not (text := line.text.rstrip()):
            continue
        indent = len(text) - len(text.lstrip())
        place = {"x": f"{left_px + EDGE_PX + indent * WIDE_PX:g}", "y": f"{2 * EDGE_PX + row * HIGH_PX + 10:g}"}
        written = SubElement(root, "text", place, fill="#595959" if line.role == "quiet" else "#000000")
        written.set("textLength", f"{len(text.lstrip()) * WIDE_PX:g}")
        written.set("xml:space", "preserve")
        if line.role in ("big", "strong"):
            written.set("font-weight", "bold")
        written.text = text.lstrip()


def main() -> None:
    """Writes the picture and says where."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--file", type=Path, default=Path(__file__).resolve().parent / "pictures" / "session.svg")
    path = parser.parse_args().file
    path.write_text(session_picture(), encoding="utf-8")
    print(path)


if __name__ == "__main__":
    main()
