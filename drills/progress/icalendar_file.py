"""The practice days as an iCalendar file (RFC 5545) that any calendar reads.

Each practice day is an event of a whole day, or at a time of day with no zone: both stay
what they are through daylight saving and on a journey (RFC 5545, section 3.3.5, form 1).
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta
from hashlib import sha256

from drills.errors import SettingsError
from scheduler.days.calendar import PracticeCalendar
from scheduler.days.recurrence import rule_parts

__all__ = ["calendar_file"]

_LINE_OCTETS = 75


def calendar_file(
    calendar: PracticeCalendar,
    today: date,
    now: datetime,
    owner: str = "",
    *,
    minutes: float = 10.0,
    at: time | None = None,
    days: int | None = None,
) -> bytes:
    """The calendar from `today` on, as bytes.

    now: for DTSTAMP, with an offset. owner: anything lasting that tells this player's calendar from another's, such
    as the log's random id; only its hash is written, so that a calendar taken in again replaces itself.
    minutes: length of a session. at: the time of day, or None for whole days. days: how many days from today on are
    wanted; without an end when None.
    Raises SettingsError when no practice day is left.
    """
    last = None if days is None else today + timedelta(days=days - 1)
    first = calendar.next_day(today - timedelta(days=1))
    if first is None or (last is not None and first > last):
        raise SettingsError(
            f"practice days {calendar.rrule_text}: none is left from {today.isoformat()} on; "
            "neckwork setup --days sets others"
        )
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//neckwork//practice days//EN",
        "CALSCALE:GREGORIAN",
        "BEGIN:VEVENT",
        f"UID:{sha256(f'{owner} practice days'.encode()).hexdigest()[:32]}",
        f"DTSTAMP:{now.astimezone(UTC):%Y%m%dT%H%M%SZ}",
        *_times(first, at, minutes),
        f"RRULE:{_rule(calendar, first, last, at)}",
        *(_exception(day, at) for day in sorted(calendar.absences) if day > first),
        "SUMMARY:" + _escaped(f"Guitar, {minutes:g} minutes"),
        "DESCRIPTION:" + _escaped("The cards are chosen when you sit down: neckwork"),
        "TRANSP:TRANSPARENT",
        "END:VEVENT",
        "END:VCALENDAR",
    ]
    return b"".join(_folded(lines))


def _times(first: date, at: time | None, minutes: float) -> list[str]:
    if at is None:
        return [f"DTSTART;VALUE=DATE:{first:%Y%m%d}"]
    return [f"DTSTART:{first:%Y%m%d}T{at:%H%M%S}", f"DURATION:PT{max(1, round(minutes))}M"]


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


def _exception(day: date, at: time | None) -> str:
    return f"EXDATE;VALUE=DATE:{day:%Y%m%d}" if at is None else f"EXDATE:{day:%Y%m%d}T{at:%H%M%S}"


def _escaped(text: str) -> str:
    """Text as RFC 5545, section 3.3.11, writes it."""
    for plain, written in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n")):
        text = text.replace(plain, written)
    return text


def _folded(lines: Iterable[str]) -> Iterable[bytes]:
    """Lines of at most 75 octets, ended by CR LF, no character split (RFC 5545, section 3.1)."""
    for line in lines:
        here = b""
        for character in line:
            octets = character.encode()
            if len(here) + len(octets) > _LINE_OCTETS:
                yield here + b"\r\n"
                here = b" "
            here += octets
        yield here + b"\r\n"
