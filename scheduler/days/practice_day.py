"""The practice day of a moment: the day by the local clock, counted from an early hour and not from midnight.

The calendar, the memory, the planner, exports and every count ask here. The hour is 4 o'clock, or the player's own,
which the settings keep as `practice.day_starts_at`. A phone page counts its day by the same rule, `practiceDay` of
`data/phone/page.js`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import date, datetime, timedelta

from scheduler.errors import CalendarError

__all__ = [
    "AWAY_DAYS",
    "DAY_STARTS_AT_HOUR",
    "EPOCH_ORDINAL",
    "LONG_AWAY_DAYS",
    "practice_day",
    "practice_day_number",
    "practice_day_numbering",
    "practice_day_of_days",
]

DAY_STARTS_AT_HOUR = 4.0
"""Local hour at which a practice day begins by default (common practice: after a late evening)."""

AWAY_DAYS = 7
"""So many days without practice are an absence and no habit (common practice: whoever practises comes every week)."""

LONG_AWAY_DAYS = 21
"""So many days away are a long absence: three times a short one (common practice)."""

_EPOCH = datetime(1970, 1, 1)
EPOCH_ORDINAL = _EPOCH.toordinal()
"""1970-01-01 as `date.toordinal` counts days; the memory and some tickets of the log count from it."""

_MICROSECOND = timedelta(microseconds=1)
_HOUR_US = 3_600_000_000
_DAY_US = 24 * _HOUR_US
_DAY_SECONDS = 86_400.0


def practice_day(at: datetime, day_starts_at_hour: float = DAY_STARTS_AT_HOUR) -> date:
    """The practice day of a moment, by its own local time: 00:30 belongs to the evening before.

    at: must carry a UTC offset, so that a day stays what it was for a player who
    travels or changes to summer time. Raises CalendarError otherwise.
    """
    return date.fromordinal(practice_day_number(at, day_starts_at_hour))


def practice_day_number(at: datetime, day_starts_at_hour: float = DAY_STARTS_AT_HOUR) -> int:
    """The practice day of a moment as `date.toordinal` counts days; see `practice_day`."""
    if at.tzinfo is None:
        raise CalendarError(f"moment {at!r}: expected a date and time with a UTC offset")
    # The hands of the clock decide, so that the hour that summer time takes
    # or gives moves no day: hence no arithmetic in UTC.
    local_us = (at.replace(tzinfo=None) - _EPOCH) // _MICROSECOND
    return max(1, practice_day_numbering(day_starts_at_hour)(local_us, 0))


def practice_day_numbering(day_starts_at_hour: float = DAY_STARTS_AT_HOUR) -> Callable[[int, int], int]:
    """The same for long logs: a function of a clock and its offset.

    The function takes microseconds since 1970 UTC and local time minus UTC in
    seconds, and answers the practice day as `date.toordinal` counts days.
    """
    shift_us = round(day_starts_at_hour * _HOUR_US) - EPOCH_ORDINAL * _DAY_US

    def number(clock_us: int, offset_s: int) -> int:
        return (clock_us + offset_s * 1_000_000 - shift_us) // _DAY_US

    return number


def practice_day_of_days(at_days: float, offset_seconds: float, day_starts_at_hour: float = DAY_STARTS_AT_HOUR) -> int:
    """The same for the memory, whose clock is a number of days; counted from 1970-01-01, which is 0.

    at_days: days since 1970-01-01 UTC. offset_seconds: local time minus UTC.
    """
    return math.floor(at_days + (offset_seconds - day_starts_at_hour * 3600.0) / _DAY_SECONDS)
