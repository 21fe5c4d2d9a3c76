"""The days on which a player practises: a recurrence rule, days away, and the hour at which a day begins."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta, tzinfo
from itertools import islice

from scheduler.days.practice_day import DAY_STARTS_AT_HOUR, practice_day
from scheduler.days.recurrence import rule_parts, rule_text
from scheduler.errors import CalendarError

__all__ = ["PracticeCalendar", "absence", "read_zone"]

_SOON_DAYS = 28
_SEARCHED_DAYS = 2_000
_UNIT_DAYS = {"DAILY": 1, "WEEKLY": 7}
_START = date(2024, 1, 1)  # a Monday


def absence(first: date, last: date) -> frozenset[date]:
    """The days from first to last, both included, as days without practice."""
    if last < first:
        raise CalendarError(f"absence: expected its first day before its last, got {first} to {last}")
    return frozenset(first + timedelta(days=n) for n in range((last - first).days + 1))


def read_zone(name: str) -> tzinfo:
    """The time zone of an IANA name such as ``Europe/Berlin``; raises CalendarError for any other."""
    from dateutil import tz

    zone: tzinfo | None = tz.gettz(name) if re.fullmatch(r"[A-Za-z]\w*(?:[/+-]\w+)*", name, re.ASCII) else None
    if zone is None:
        raise CalendarError(f"time zone {name[:60]!r}: expected a name such as Europe/Berlin or UTC")
    return zone


class PracticeCalendar:
    """Which days are practice days, and when each begins.

    rule: in words or as an RRULE, see `scheduler.days.recurrence.rule_text`.
    day_starts_at_hour: local hour, 0 to under 24, at which a practice day
        begins; what is played before it counts for the day before.
    absences: days without practice whatever the rule says, see `absence`.
    zone: the player's time zone, an IANA name, for `starts`; UTC if left out.
    start: the day from which a rule that counts (every second day, ten
        times) counts; such a rule has no days before it. A Monday by default.

    Raises CalendarError when one of them cannot be read, or when the rule
    names no day in the first five years.
    """

    def __init__(
        self,
        rule: str = "every day",
        day_starts_at_hour: float = DAY_STARTS_AT_HOUR,
        absences: frozenset[date] = frozenset(),
        zone: str = "UTC",
        start: date = _START,
    ) -> None:
        if not 0 <= day_starts_at_hour < 24:
            raise CalendarError(f"day_starts_at_hour: expected 0 to under 24, got {day_starts_at_hour!r}")
        self.rrule_text = rule_text(rule)
        self.day_starts_at_hour = day_starts_at_hour
        self.absences = absences
        self.zone = read_zone(zone)
        self.start = start
        parts = rule_parts(self.rrule_text)
        # A rule that names its days and counts nothing is the same from any
        # day on, so it need not be followed from its start.
        weekday_by_start = parts["FREQ"] == "WEEKLY" and "BYDAY" not in parts
        self._counts = parts.get("INTERVAL", "1") != "1" or "COUNT" in parts or weekday_by_start
        self._period_days = 0 if "COUNT" in parts else int(parts.get("INTERVAL", "1")) * _UNIT_DAYS[parts["FREQ"]]
        if not self._names_a_day(parts):
            raise CalendarError(
                f"practice days {rule[:60]!r}: expected a rule that names a day within five years of {start}"
            )

    def _names_a_day(self, parts: dict[str, str]) -> bool:
        """Whether the rule names a day in its first five years; one that never does is not followed for ever."""
        from dateutil.rrule import rrulestr

        last = self.start + timedelta(days=_SEARCHED_DAYS)
        if "UNTIL" in parts:
            last = min(last, date.fromisoformat(parts["UNTIL"]))
        bounded = {name: value for name, value in parts.items() if name != "COUNT"}
        bounded["UNTIL"] = last.isoformat().replace("-", "")  # %Y writes a year before 1000 with fewer digits
        text = ";".join(f"{name}={value}" for name, value in bounded.items())
        begin = datetime(self.start.year, self.start.month, self.start.day)
        return next(iter(rrulestr(text, dtstart=begin)), None) is not None

    def _rule(self, first: date) -> Iterable[datetime]:
        from dateutil.rrule import rrulestr

        begin = self.start if self._counts else first
        if self._counts and self._period_days and first > begin:
            # A rule is the same from any of its periods on: those long past are not gone through one by one.
            begin += timedelta(days=(first - begin).days // self._period_days * self._period_days)
        rule: Iterable[datetime] = rrulestr(self.rrule_text, dtstart=datetime(begin.year, begin.month, begin.day))
        return rule

    def day_of(self, at: datetime) -> date:
        """The practice day of a moment, by the local time it carries."""
        return practice_day(at, self.day_starts_at_hour)

    def starts(self, day: date) -> datetime:
        """When a practice day begins in the player's zone; an hour that summer time skips is moved past."""
        from dateutil.tz import resolve_imaginary

        midnight = datetime(day.year, day.month, day.day, tzinfo=self.zone)
        begin: datetime = resolve_imaginary(midnight + timedelta(hours=self.day_starts_at_hour))
        return begin

    def days(self, first: date, last: date) -> Iterator[date]:
        """The practice days from first to last, both included."""
        for moment in self._rule(first):
            day = moment.date()
            if day > last:
                return
            if day >= first and day not in self.absences:
                yield day

    def count(self, first: date, last: date) -> int:
        """How many practice days lie from first to last, both included; 0 when last is before first."""
        return sum(1 for _ in self.days(first, last))

    def mean_gap_days(self, today: date) -> float:
        """Mean days from one practice day to the next over the coming four weeks, 1 to 28."""
        return _SOON_DAYS / max(1, self.count(today, today + timedelta(days=_SOON_DAYS - 1)))

    def missed(self, last_played: date, today: date) -> int:
        """How many practice days lie between the day last played and today, neither included."""
        return self.count(last_played + timedelta(days=1), today - timedelta(days=1))

    def next_days(self, after: date, number: int) -> list[date]:
        """The first `number` practice days after a day, fewer if the rule ends or five years hold no more."""
        first = after + timedelta(days=1)
        return list(islice(self.days(first, first + timedelta(days=_SEARCHED_DAYS)), number))

    def next_day(self, after: date) -> date | None:
        """The first practice day after a day, or None when the rule has ended."""
        return next(iter(self.next_days(after, 1)), None)
