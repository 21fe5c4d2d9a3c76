"""Reviews as a page to read: Markdown or HTML, written a row at a time."""

from __future__ import annotations

import re
from collections.abc import Iterable
from html import escape
from typing import TextIO

from drills.progress.card_parts import card_parts
from drills.progress.html import page
from drills.safe_text import drawn, one_line
from scheduler.review import Review

__all__ = ["HEADER", "write_html", "write_markdown"]

HEADER = ("Time", "Prompt", "Grade", "Seconds", "Slip")
_ABOUT = "As the player reported it; a lesson and a repeat after a miss are never counted."
_MARK = "<!--rows-->"
_SPECIAL = re.compile(r"([\\`*_{}\[\]<>#|~!&])")


def _cells(review: Review, result: str) -> tuple[str, ...]:
    parts = card_parts(review.card)
    time = review.at.strftime("%Y-%m-%d %H:%M %z")
    return time, parts.call if parts else review.card, result, f"{review.seconds:.1f}", review.slip or ""


def _markdown(text: str) -> str:
    """Text that Markdown shows as it is, on one line."""
    return _SPECIAL.sub(r"\\\1", one_line(text))


def write_markdown(reviews: Iterable[tuple[Review, str]], out: TextIO) -> int:
    """Write reviews, each with how it went, as a Markdown table (pipe table, GitHub Flavored Markdown); how many."""
    out.write(f"# Reviews\n\n{_ABOUT}\n\n| {' | '.join(HEADER)} |\n|{'---|' * len(HEADER)}\n")
    count = 0
    for review in reviews:
        out.write(f"| {' | '.join(_markdown(cell) for cell in _cells(*review))} |\n")
        count += 1
    return count


def write_html(reviews: Iterable[tuple[Review, str]], out: TextIO) -> int:
    """Write reviews, each with how it went, as one HTML page; answers how many."""
    head = "".join(f'<th scope="col">{name}</th>' for name in HEADER)
    body = (
        f"<p>{escape(_ABOUT)}</p>",
        '<div class="wide" role="region" tabindex="0" aria-label="Reviews"><table><caption>Reviews</caption>',
        f"<thead><tr>{head}</tr></thead><tbody>{_MARK}</tbody></table></div>",
    )
    before, after = page("Reviews", body).split(_MARK)
    out.write(before)
    count = 0
    for review in reviews:
        first, *rest = (escape(drawn(cell)) for cell in _cells(*review))
        out.write(f'<tr><th scope="row">{first}</th>{"".join(f"<td>{cell}</td>" for cell in rest)}</tr>\n')
        count += 1
    out.write(after)
    return count
