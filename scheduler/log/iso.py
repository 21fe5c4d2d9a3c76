"""Times as ISO 8601 text, as files of events write them."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone
from functools import lru_cache

from scheduler.days.practice_day import EPOCH_ORDINAL
from scheduler.errors import ReviewError
from scheduler.log.events import as_us, from_us, offset_seconds

__all__ = ["clock_text", "day_text", "read_day", "read_time", "stamp_text", "time_text"]


def stamp_text(stamp_us: int) -> str:
    """Microseconds since 1970 UTC as ``2024-03-04T17:00:00.000000Z``."""
    return from_us(stamp_us).isoformat(timespec="microseconds").replace("+00:00", "Z")


def time_text(at: datetime) -> str:
    """`at`, which must carry an offset of whole seconds, as ``2024-03-04T18:00:00.000000+01:00``."""
    return clock_text(as_us(at), offset_seconds(at))


def clock_text(clock_us: int, offset_s: int) -> str:
    """The same of a clock in microseconds since 1970 UTC and its offset in seconds.

    What `datetime.isoformat` writes, in a fraction of the time: a sitting is one day, and a day has few minutes.
    """
    minute, rest_us = divmod(clock_us + offset_s * 1_000_000, 60_000_000)
    day, minute = divmod(minute, 1440)
    second, us = divmod(rest_us, 1_000_000)
    return f"{_day_text(day)}T{_minute_text(minute)}:{second:02d}.{us:06d}{_offset_text(offset_s)}"


def day_text(day: int) -> str:
    """A day, as `date.toordinal` counts them, as ``2024-03-04``."""
    return _day_text(day - EPOCH_ORDINAL)


def read_day(text: str, at: datetime, where: str) -> int:
    """The practice day that `text` states of the moment `at`, as `date.toordinal` counts.

    Raises ReviewError beginning with `where` unless it is the day of the moment's own clock, or the day before.
    """
    try:
        day = date.fromisoformat(text).toordinal()
    except ValueError:
        day = 0
    if not 0 <= at.toordinal() - day <= 1:
        raise ReviewError(
            f"{where}: expected {at.date()} or the day before, as the time is {at.isoformat()}, got {text!r:.80}"
        )
    return day


@lru_cache(maxsize=1_000)
def _day_text(days: int) -> str:
    return date.fromordinal(EPOCH_ORDINAL + days).isoformat()


@lru_cache(maxsize=1440)
def _minute_text(minute: int) -> str:
    return f"{minute // 60:02d}:{minute % 60:02d}"


@lru_cache(maxsize=1_000)
def _offset_text(offset_s: int) -> str:
    zone = timezone(timedelta(seconds=offset_s))
    return datetime.min.replace(tzinfo=zone).isoformat()[len("0001-01-01T00:00:00") :]


def read_time(text: str, where: str) -> datetime:
    """The time `text` states; raises ReviewError beginning with `where` unless it is ISO 8601 with an offset."""
    try:
        at = datetime.fromisoformat(text)
        # An offset may push the first or last hours of the calendar out of it.
        at.astimezone(UTC)
        if at.utcoffset() is not None:
            return at
    except (ValueError, OverflowError):
        pass
    raise ReviewError(f"{where}: expected an ISO 8601 time with an offset, got {text!r:.80}")
