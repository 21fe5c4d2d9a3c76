"""Practice days: a recurrence rule, and an hour at which a practice day begins."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, datetime, timedelta

from scheduler.errors import CalendarError

__all__ = ["PracticeCalendar", "practice_day"]

_DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_CODES = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
_ANCHOR = datetime(2024, 1, 1)
"""A Monday: rules that count (every second day) count from it unless they name a start."""

_SEARCHED_DAYS = 800


def practice_day(at: datetime, day_starts_at_hour: float = 4.0) -> date:
    """The practice day of a moment, by its own local time: 00:30 belongs to the evening before.

    at: must carry a UTC offset, so that a day stays what it was for a player who
    travels or changes to summer time. Raises CalendarError otherwise.
    """
    if at.utcoffset() is None:
        raise CalendarError(f"moment {at!r}: expected a date and time with a UTC offset")
    return (at.replace(tzinfo=None) - timedelta(hours=day_starts_at_hour)).date()


def _rule_text(words: str) -> str:
    """A rule in words as the value of an RRULE (RFC 5545)."""
    plain = " ".join(words.lower().replace(",", " ").split())
    if plain in ("every day", "daily"):
        return "FREQ=DAILY"
    if plain == "weekdays":
        return "FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR"
    if plain == "weekends":
        return "FREQ=WEEKLY;BYDAY=SA,SU"
    named = [re.sub(r"s$", "", word) for word in plain.removeprefix("not ").split() if word != "and"]
    places = [next((i for i, day in enumerate(_DAYS) if len(word) >= 3 and day.startswith(word)), None) for word in named]
    if named and None not in places:
        chosen = set(range(7)) - set(places) if plain.startswith("not ") else set(places)
        if chosen:
            return "FREQ=WEEKLY;BYDAY=" + ",".join(_CODES[place] for place in sorted(chosen))
    if "FREQ=" in words.upper():
        return words.strip().upper().removeprefix("RRULE:")
    raise CalendarError(
        f"practice days {words[:60]!r}: expected 'every day', 'weekdays', 'not Sundays', names of days, "
        "or an RRULE such as FREQ=WEEKLY;BYDAY=MO,TH"
    )


class PracticeCalendar:
    """Which days are practice days.

    rule: in words or as an RRULE (RFC 5545, without months or years as the unit of
    spacing: those are not whole numbers of days). day_starts_at_hour: local hour, 0 to
    under 24. absences: days without practice whatever the rule says.

    Raises CalendarError when the rule cannot be read.
    """

    def __init__(
        self, rule: str = "every day", day_starts_at_hour: float = 4.0, absences: frozenset[date] = frozenset()
    ) -> None:
        from dateutil.rrule import rrulestr

        if not 0 <= day_starts_at_hour < 24:
            raise CalendarError(f"day_starts_at_hour: expected 0 to under 24, got {day_starts_at_hour!r}")
        self.rrule_text = _rule_text(rule)
        if re.search(r"FREQ=(?!DAILY|WEEKLY)", self.rrule_text):
            raise CalendarError(f"practice days {rule[:60]!r}: expected a daily or weekly rule")
        self.day_starts_at_hour = day_starts_at_hour
        self.absences = absences
        try:
            self._rule = rrulestr(self.rrule_text, dtstart=_ANCHOR)
        except (ValueError, TypeError, AttributeError, KeyError) as error:
            raise CalendarError(f"practice days {rule[:60]!r}: not a readable RRULE ({error})") from error

    def day_of(self, at: datetime) -> date:
        """The practice day of a moment."""
        return practice_day(at, self.day_starts_at_hour)

    def is_practice_day(self, day: date) -> bool:
        """Whether the rule and the absences make a day a practice day."""
        return next(self.days(day, day), None) is not None

    def days(self, first: date, last: date) -> Iterator[date]:
        """The practice days from first to last, both included."""
        start = datetime(first.year, first.month, first.day)
        end = datetime(last.year, last.month, last.day)
        for moment in self._rule.between(start, end, inc=True):
            if moment.date() not in self.absences:
                yield moment.date()

    def next_day(self, after: date) -> date | None:
        """The first practice day after a day, or None within the next two years."""
        return next(self.days(after + timedelta(days=1), after + timedelta(days=_SEARCHED_DAYS)), None)
