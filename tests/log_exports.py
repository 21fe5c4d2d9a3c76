"""Whole logs written to JSON and CSV, as the program's own export writes them when nothing is left out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TextIO

from scheduler.log.interchange_csv import write_csv
from scheduler.log.interchange_json import write_json
from scheduler.log.review_log import ReviewLog
from scheduler.review import Review

__all__ = ["export_csv", "export_json"]


def export_json(log: ReviewLog, out: TextIO) -> int:
    """Write every event of `log` to `out` as one JSON document; answers how many."""
    return write_json(log.events(), out)


def export_csv(
    log: ReviewLog,
    out: TextIO,
    columns: Mapping[str, Callable[[str], str]] | None = None,
    keep: Callable[[Review], bool] | None = None,
) -> int:
    """Write the reviews in effect to `out`, opened with ``newline=""``; answers how many.

    columns: the caller's own, each a name and what to write for a card's id. keep: which reviews to
    write, all by default.
    """
    return write_csv(log.review_rows(), out, columns, keep, f"log {log.path}")
