"""Writes a log, or a part of it, in any of the formats."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import TextIO, TypeVar

from drills.exports.log_part import LogPart, chosen_events
from drills.progress.card_parts import card_parts
from scheduler.log.review_log import ReviewLog

__all__ = ["CARD_COLUMNS", "export"]

_T = TypeVar("_T")


def _part(name: str) -> Callable[[str], str]:
    def read(card: str) -> str:
        parts = card_parts(card)
        return getattr(parts, name) if parts else ""

    return read


CARD_COLUMNS: dict[str, Callable[[str], str]] = {
    "set": _part("strings"),
    "quality": _part("quality"),
    "root": _part("root"),
    "form": _part("form"),
    "prompt": _part("kind"),
}
"""The columns about a card that the CSV of reviews carries beside the scheduler's own.

The set is written as ``543``, which a spreadsheet does not take for a date; the others are as in the id.
"""


def export(
    log: ReviewLog,
    out: TextIO,
    kind: str,
    choice: LogPart = LogPart(),
    tick: Callable[[int], object] | None = None,
) -> int:
    """Write a log to `out`, opened with ``newline=""``; answers how many events (JSON) or reviews were written.

    kind: ``csv``, ``json``, ``md`` or ``html``. JSON carries every event and comes back to the same state; the
    others carry the reviews in effect, oldest first. tick: told now and then how many more have been read.
    """
    hour = choice.day_starts_at_hour
    if kind == "json":
        from scheduler.log.day_fields import day_fields
        from scheduler.log.interchange_json import write_json

        events = _ticking(log.events(), tick)
        told_of = day_fields(log.review_rows(), hour)
        return write_json(chosen_events(events, choice) if choice else events, out, told_of)
    if kind == "csv":
        from scheduler.log.interchange_csv import write_csv

        rows, keep = _ticking(log.review_rows(), tick), choice.wants_review if choice else None
        return write_csv(rows, out, CARD_COLUMNS, keep, f"log {log.path}", hour)
    from drills.exports.readable import write_html, write_markdown
    from scheduler.log.attempts import results

    told = (pair for pair in results(_ticking(log.reviews(), tick)) if choice.wants_review(pair[0]))
    return (write_markdown if kind == "md" else write_html)(told, out)


_EVERY = 1_000


def _ticking(items: Iterable[_T], tick: Callable[[int], object] | None) -> Iterator[_T]:
    if tick is None:
        return iter(items)
    return _counted(items, tick)


def _counted(items: Iterable[_T], tick: Callable[[int], object]) -> Iterator[_T]:
    for count, item in enumerate(items, 1):
        yield item
        if count % _EVERY == 0:
            tick(_EVERY)
