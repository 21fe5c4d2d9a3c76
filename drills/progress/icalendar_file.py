"""The practice days as an iCalendar file (RFC 5545) that any calendar reads.

Each practice day is an event of a whole day, or at a time of day with no zone: both stay
what they are through daylight saving and on a journey (RFC 5545, section 3.3.5, form 1).
"""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from hashlib import sha256
from typing import TYPE_CHECKING

from drills.errors import SettingsError
from scheduler.days.calendar import PracticeCalendar
from scheduler.days.recurrence import rule_parts

if TYPE_CHECKING:
    from icalendar import Alarm

__all__ = ["calendar_file"]


def calendar_file(
    calendar: PracticeCalendar,
    today: date,
    now: datetime,
    owner: str = "",
    *,
    minutes: float = 10.0,
    at: time | None = None,
    days: int | None = None,
    alarm: int | None = None,
) -> bytes:
    """The calendar from `today` on, as bytes.

    now: for DTSTAMP, with an offset. owner: anything lasting that tells this player's calendar from another's, such
    as the log's random id; only its hash is written, so that a calendar taken in again replaces itself.
    minutes: length of a session. at: the time of day, or None for whole days. days: how many days from today on are
    wanted; without an end when None. alarm: minutes before the session at which a calendar reminds, or None for never.
    Raises SettingsError when no practice day is left.
    """
    last = None if days is None else today + timedelta(days=days - 1)
    first = calendar.next_day(today - timedelta(days=1))
    if first is None or (last is not None and first > last):
        raise SettingsError(
            f"practice days {calendar.rrule_text}: none is left from {today.isoformat()} on; "
            "neckwork setup --days sets others"
        )
    from icalendar import Calendar, Event, vRecur

    event = Event()
    event.add("uid", sha256(f"{owner} practice days".encode()).hexdigest()[:32])
    event.add("dtstamp", now)
    event.add("dtstart", first if at is None else datetime.combine(first, at))
    if at is not None:
        event.add("duration", timedelta(minutes=max(1, round(minutes))))
    event.add("rrule", vRecur.from_ical(_rule(calendar, first, last, at)))
    for day in sorted(day for day in calendar.absences if day > first):
        event.add("exdate", day if at is None else datetime.combine(day, at), {"VALUE": "DATE"} if at is None else {})
    event.add("summary", f"Guitar, {minutes:g} minutes")
    event.add("description", "The cards are chosen when you sit down: neckwork")
    event.add("transp", "TRANSPARENT")
    if alarm is not None:
        event.add_component(_alarm(alarm, minutes))
    whole = Calendar()
    for name, value in (("version", "2.0"), ("prodid", "-//neckwork//practice days//EN"), ("calscale", "GREGORIAN")):
        whole.add(name, value)
    whole.add_component(event)
    return bytes(whole.to_ical())


def _alarm(before: int, minutes: float) -> Alarm:
    """A reminder so many minutes before the session (RFC 5545, section 3.6.6)."""
    from icalendar import Alarm

    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", f"Guitar, {minutes:g} minutes")
    alarm.add("trigger", timedelta(minutes=-before))
    return alarm


def _rule(calendar: PracticeCalendar, first: date, last: date | None, at: time | None) -> str:
    """The rule as it goes on from `first`: what is left of a count, an end of the same type as the start."""
    parts = rule_parts(calendar.rrule_text)
    if "COUNT" in parts:
        # The rule counts absences too: they are taken out by EXDATE, not by the rule.
        whole = PracticeCalendar(calendar.rrule_text, calendar.day_starts_at_hour, start=calendar.start)
        parts["COUNT"] = str(int(parts["COUNT"]) - whole.count(calendar.start, first - timedelta(days=1)))
    ends = [date.fromisoformat(parts["UNTIL"])] if "UNTIL" in parts else []
    ends += [last] if last is not None else []
    if ends:
        if "COUNT" in parts:
            return _counted(calendar, parts, first, min(ends))
        parts["UNTIL"] = f"{min(ends):%Y%m%d}" + ("" if at is None else f"T{at:%H%M%S}")
    return ";".join(f"{name}={value}" for name, value in parts.items())


def _counted(calendar: PracticeCalendar, parts: dict[str, str], first: date, last: date) -> str:
    """A counting rule that must also end: RFC 5545 allows COUNT or UNTIL, not both, so the count is cut."""
    whole = PracticeCalendar(calendar.rrule_text, calendar.day_starts_at_hour, start=calendar.start)
    parts = {**parts, "COUNT": str(min(int(parts["COUNT"]), whole.count(first, last)))}
    return ";".join(f"{name}={value}" for name, value in parts.items())
