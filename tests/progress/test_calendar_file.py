"""The practice days as iCalendar: read back, counted by another library, and byte by byte."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta, timezone
from zoneinfo import ZoneInfo

import icalendar
import pytest
from dateutil.rrule import rrulestr
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from drills.errors import SettingsError
from drills.progress.icalendar_file import calendar_file
from scheduler.days.calendar import PracticeCalendar, absence
from scheduler.errors import CalendarError

TODAY = date(2026, 3, 20)
NOW = datetime(2026, 3, 20, 21, 5, tzinfo=timezone(timedelta(hours=1)))
RULES = (
    "every day", "weekdays", "not Sundays", "Mondays and Thursdays", "FREQ=DAILY;INTERVAL=3",
    "FREQ=WEEKLY;INTERVAL=2;BYDAY=MO,TH", "FREQ=DAILY;COUNT=900", "FREQ=WEEKLY;BYDAY=SA;UNTIL=20261231",
    "FREQ=DAILY;BYMONTH=1,2,10", "FREQ=WEEKLY;INTERVAL=2;BYDAY=SU;WKST=SU", "FREQ=WEEKLY",
)  # fmt: skip


def event_of(content: bytes):
    """The one event in a calendar file, as the icalendar library reads it."""
    calendar = icalendar.Calendar.from_ical(content)
    (event,) = calendar.walk("VEVENT")
    assert not calendar.errors and not event.errors
    return event


def days_of(event, last: date) -> list[date]:
    """The days the event falls on, from the file alone."""
    start = event["DTSTART"].dt
    whole_days = not isinstance(start, datetime)
    begin = datetime.combine(start, time()) if whole_days else start
    rule = rrulestr(event["RRULE"].to_ical().decode(), dtstart=begin)
    out = event.get("EXDATE", [])
    gone = {
        (value.dt if whole_days else value.dt.date())
        for one in (out if isinstance(out, list) else [out])
        for value in one.dts
    }
    found = []
    for moment in rule:
        if moment.date() > last:
            break
        if moment.date() not in gone:
            found.append(moment.date())
    return found


@settings(max_examples=60)
@given(
    st.sampled_from(RULES), st.integers(0, 700), st.one_of(st.none(), st.just(time(18, 30))),
    st.one_of(st.none(), st.integers(1, 120)), st.integers(0, 40), st.integers(0, 12),
)  # fmt: skip
@example("FREQ=DAILY;COUNT=900", 10, time(18, 30), 60, 5, 4)
def test_another_reader_finds_the_same_days(words, later, at, days, gone, length):
    """Every rule, entered on any day, cut short or not, with days away, gives the calendar's own days."""
    today = TODAY + timedelta(days=later)
    away = absence(today + timedelta(days=gone), today + timedelta(days=gone + length)) if length else frozenset()
    calendar = PracticeCalendar(words, absences=away)
    last = today + timedelta(days=(days or 150) - 1)
    own = list(calendar.days(today, last))
    assume(own)
    event = event_of(calendar_file(calendar, today, NOW, "x", at=at, days=days))
    assert days_of(event, today + timedelta(days=150) if days else last) == own


@pytest.mark.parametrize("at", [None, time(7, 5)])
def test_the_bytes_keep_the_standard(at):
    """CR LF line ends, at most 75 octets a line, UID, DTSTAMP in UTC, PRODID and VERSION (RFC 5545)."""
    content = calendar_file(
        PracticeCalendar("FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR,SA;BYMONTH=1,2,3,4,5,6,7,8,9,10,11;WKST=MO"),
        TODAY,
        NOW,
        "x",
        at=at,
    )
    assert content.endswith(b"END:VCALENDAR\r\n")
    assert b"\n" not in content.replace(b"\r\n", b"")
    lines = content.split(b"\r\n")[:-1]
    assert max(map(len, lines)) <= 75
    assert any(line.startswith(b" ") for line in lines)
    for needed in (b"VERSION:2.0", b"DTSTAMP:20260320T200500Z", b"BEGIN:VCALENDAR"):
        assert lines.count(needed) == 1
    assert [line.split(b":")[0] for line in lines if line[:3] == b"UID"] == [b"UID"]


def test_a_day_stays_a_day_through_summer_time_and_travel():
    """Whole days carry no time, and times of day no zone: no clock change moves them (RFC 5545, section 3.3.5)."""
    whole = event_of(calendar_file(PracticeCalendar(), TODAY, NOW))
    assert type(whole["DTSTART"].dt) is date
    timed = event_of(calendar_file(PracticeCalendar(), TODAY, NOW, at=time(18, 30), minutes=15))
    assert timed["DTSTART"].dt == datetime(2026, 3, 20, 18, 30) and timed["DTSTART"].dt.tzinfo is None
    assert timed["DURATION"].dt == timedelta(minutes=15)
    assert timed["DTSTAMP"].dt == NOW.astimezone(UTC)


def test_a_reminder_comes_before_the_session_and_only_when_asked_for():
    """An alarm shows words so many minutes before (RFC 5545, section 3.6.6); without one there is none."""
    event = event_of(calendar_file(PracticeCalendar(), TODAY, NOW, at=time(18, 30), alarm=10))
    (alarm,) = event.walk("VALARM")
    assert alarm["ACTION"] == "DISPLAY" and alarm["TRIGGER"].dt == timedelta(minutes=-10) and alarm["DESCRIPTION"]
    assert b"VALARM" not in calendar_file(PracticeCalendar(), TODAY, NOW, at=time(18, 30))


def test_the_same_player_keeps_one_entry():
    """Written again later the event keeps its UID, so that a calendar replaces it; another log has its own."""
    one = event_of(calendar_file(PracticeCalendar(), TODAY, NOW, "abc"))
    other_day = event_of(calendar_file(PracticeCalendar("weekdays"), TODAY + timedelta(days=9), NOW, "abc"))
    other_log = event_of(calendar_file(PracticeCalendar(), TODAY, NOW, "abd"))
    assert one["UID"] == other_day["UID"] != other_log["UID"]
    assert b"abc" not in calendar_file(PracticeCalendar(), TODAY, NOW, "abc")


def test_no_day_left_is_refused():
    """A rule that has ended is named, with what to do."""
    with pytest.raises(SettingsError, match="none is left from 2026-03-20 on; neckwork setup --days"):
        calendar_file(PracticeCalendar("FREQ=DAILY;UNTIL=20250101"), TODAY, NOW)
    with pytest.raises(SettingsError):
        calendar_file(PracticeCalendar("Sundays"), TODAY, NOW, days=1)
    with pytest.raises(CalendarError):
        PracticeCalendar("FREQ=HOURLY")


@pytest.mark.parametrize(("hour", "first"), [(4.0, date(2026, 3, 28)), (0.0, date(2026, 3, 29))])
def test_half_past_midnight_belongs_to_the_day_the_player_says(hour, first):
    """At 00:30 on the night summer time begins the calendar opens with the evening before where a day starts at four,
    and with the new day where it starts at midnight."""
    calendar = PracticeCalendar("every day", hour, zone="Europe/Berlin")
    now = datetime(2026, 3, 29, 0, 30, tzinfo=ZoneInfo("Europe/Berlin"))
    event = event_of(calendar_file(calendar, calendar.day_of(now), now))
    assert event["DTSTART"].dt == first
    assert event["DTSTAMP"].dt == datetime(2026, 3, 28, 23, 30, tzinfo=UTC)


@pytest.mark.parametrize("zone", ["Europe/Berlin", "America/New_York", "Australia/Lord_Howe"])
def test_half_past_six_is_half_past_six_wherever_the_player_is(zone):
    """Each day of a year, both changes of the clock within it, the session is at 18:30 by the clock on the wall."""
    event = event_of(calendar_file(PracticeCalendar("not Sundays"), TODAY, NOW, at=time(18, 30)))
    start = event["DTSTART"].dt
    offsets = set()
    for moment in rrulestr(event["RRULE"].to_ical().decode(), dtstart=start)[:313]:
        there = moment.replace(tzinfo=ZoneInfo(zone))
        offsets.add(there.utcoffset())
        seen = there.astimezone(UTC).astimezone(ZoneInfo(zone))
        assert (seen.hour, seen.minute, seen.date()) == (18, 30, moment.date())
        assert seen.weekday() != 6
    assert len(offsets) == 2
