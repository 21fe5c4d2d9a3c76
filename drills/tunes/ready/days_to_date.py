"""The practice days to a date, as moments to play at."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import islice

from drills.errors import DrillsError
from scheduler.days.calendar import PracticeCalendar

__all__ = ["MOST_SESSIONS", "DateError", "DaysTo", "days_to", "read_day"]

MOST_SESSIONS = 28
"""The most practice days a forecast covers: four weeks of every day. It says nothing of later days."""


class DateError(DrillsError, ValueError):
    """A date that cannot be read, or is past."""


@dataclass(frozen=True, slots=True)
class DaysTo:
    """What lies before a date.

    day: the date asked for. sessions: when each session begins, at the present time of day.
    at: the moment on that date for which is asked; where the days are too many, the morrow of the
    last session looked at. cut: whether there are more practice days than are looked at.
    """

    day: date
    sessions: tuple[datetime, ...]
    at: datetime
    cut: bool = False


def read_day(text: str) -> date:
    """Reads ``2026-12-12``. Raises DateError for anything else."""
    try:
        if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
            return date.fromisoformat(text)
    except ValueError:
        pass
    raise DateError(f"date {text[:40]!r}: expected year, month and day such as 2026-12-12")


def days_to(day: date, now: datetime, calendar: PracticeCalendar, *, played_today: bool) -> DaysTo:
    """The practice days from today to the eve of a date.

    now: with the player's UTC offset; the days to come keep its time of day, and its offset where it
    carries a time zone. played_today: whether today's session has been, so that it is not counted.
    Raises DateError when the date is past.
    """
    today = calendar.day_of(now)
    if day < today:
        raise DateError(f"date {day}: is past, today is {today}; give today or a day to come")
    first = today + timedelta(days=played_today)
    days = list(islice(calendar.days(first, day - timedelta(days=1)), MOST_SESSIONS + 1))
    kept, cut = days[:MOST_SESSIONS], len(days) > MOST_SESSIONS
    asked = kept[-1] + timedelta(days=1) if cut else day
    return DaysTo(day, tuple(now + (each - today) for each in kept), now + (asked - today), cut)
