"""Times as ISO 8601 text, as files of events write them."""

from __future__ import annotations

from datetime import UTC, datetime

from scheduler.errors import ReviewError
from scheduler.events import from_us

__all__ = ["read_time", "stamp_text"]


def stamp_text(stamp_us: int) -> str:
    """Microseconds since 1970 UTC as ``2024-03-04T17:00:00.000000Z``."""
    return from_us(stamp_us).isoformat(timespec="microseconds").replace("+00:00", "Z")


def read_time(text: str, where: str) -> datetime:
    """The time `text` states; raises ReviewError beginning with `where` unless it is ISO 8601 with an offset."""
    try:
        at = datetime.fromisoformat(text)
        # An offset may push the first or last hours of the calendar out of it.
        at.astimezone(UTC)
    except (ValueError, OverflowError):
        at = None
    if at is None or at.utcoffset() is None:
        raise ReviewError(f"{where}: expected an ISO 8601 time with an offset, got {text!r:.80}")
    return at
