"""Practice days: the hour they begin, the rule that names them, summer time, travel and absences."""

from __future__ import annotations

import zoneinfo
from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from dateutil.rrule import rrulestr
from hypothesis import given
from hypothesis import strategies as st

from scheduler.card import CardSpec
from scheduler.days.calendar import PracticeCalendar, absence, read_zone
from scheduler.days.practice_day import practice_day, practice_day_number, practice_day_of_days
from scheduler.days.recurrence import DAY_CODES, rule_text
from scheduler.errors import CalendarError, SchedulerError
from scheduler.grade import Grade
from scheduler.planning.planner import Planner
from scheduler.planning.rules import TeachingRules
from scheduler.review import Review
from tests.strategies import moments, odd_text

MONDAY = date(2024, 3, 4)
BERLIN = zoneinfo.ZoneInfo("Europe/Berlin")


def test_half_past_midnight_counts_for_the_evening_before():
    """drills/RULES.md, G23: practice at 00:30 counts for the day before, or not, as the player sets it."""
    at = datetime(2024, 3, 5, 0, 30, tzinfo=UTC)
    assert practice_day(at) == MONDAY
    assert practice_day(at, day_starts_at_hour=0) == MONDAY + timedelta(days=1)
    assert practice_day(at.replace(hour=4, minute=0)) == MONDAY + timedelta(days=1)
    assert practice_day(at.replace(hour=4, minute=29), 4.5) == MONDAY
    assert practice_day(at.replace(hour=3, minute=59, second=59)) == MONDAY


@given(moments(), st.floats(0, 23.99))
def test_a_practice_day_is_the_local_day_or_the_one_before(at, hour):
    """The practice day is the date the player's clock showed, or the day before it ahead of the hour."""
    day = practice_day(at, hour)
    assert day == (at.replace(tzinfo=None) - timedelta(days=1 if day < at.date() else 0)).date()
    assert practice_day(at, 0) == at.date()
    assert practice_day_number(at, hour) == day.toordinal()


def test_a_player_who_travels_keeps_the_days_played():
    """One instant is Monday in New York and Tuesday in Tokyo, and each review keeps its own local day."""
    at = datetime(2024, 3, 4, 23, 0, tzinfo=UTC)
    assert practice_day(at.astimezone(timezone(timedelta(hours=-5)))) == MONDAY
    assert practice_day(at.astimezone(timezone(timedelta(hours=9)))) == MONDAY + timedelta(days=1)


def test_a_moment_without_an_offset_is_refused():
    """A time that does not say where it was cannot be given a day."""
    with pytest.raises(CalendarError, match="expected a date and time with a UTC offset"):
        practice_day(datetime(2024, 3, 4, 18))


@pytest.mark.parametrize(("day", "hours"), [(date(2024, 3, 31), 23), (date(2024, 10, 27), 25), (MONDAY, 24)])
def test_summer_time_takes_and_gives_an_hour_but_no_day(day, hours):
    """In Berlin the day the clocks change has 23 or 25 hours, and every one of them belongs to one practice day."""
    calendar = PracticeCalendar(zone="Europe/Berlin", day_starts_at_hour=0)
    start, end = calendar.starts(day), calendar.starts(day + timedelta(days=1))
    assert (end.astimezone(UTC) - start.astimezone(UTC)) == timedelta(hours=hours)
    quarter = timedelta(minutes=15)
    steps = [start.astimezone(UTC) + quarter * n for n in range(hours * 4)]
    assert {practice_day(step.astimezone(BERLIN), 0) for step in steps} == {day}


def test_an_hour_that_does_not_exist_is_moved_past():
    """A practice day that would begin at half past two on the night summer time begins starts at half past three."""
    calendar = PracticeCalendar(zone="Europe/Berlin", day_starts_at_hour=2.5)
    assert calendar.starts(date(2024, 3, 31)).isoformat() == "2024-03-31T03:30:00+02:00"
    assert calendar.starts(date(2024, 4, 1)).isoformat() == "2024-04-01T02:30:00+02:00"
    assert calendar.day_of(datetime(2024, 3, 31, 3, 30, tzinfo=BERLIN)) == date(2024, 3, 31)


@pytest.mark.parametrize(
    ("words", "rule"),
    [
        ("every day", "FREQ=DAILY"),
        ("Daily", "FREQ=DAILY"),
        ("weekdays", "FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR"),
        ("weekends", "FREQ=WEEKLY;BYDAY=SA,SU"),
        ("not Sundays", "FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR,SA"),
        ("not Saturdays and Sundays", "FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR"),
        ("not weekends", "FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR"),
        ("Mondays, Wednesdays & Fri", "FREQ=WEEKLY;BYDAY=MO,WE,FR"),
        ("every tues and thurs", "FREQ=WEEKLY;BYDAY=TU,TH"),
        ("weekdays and Sunday", "FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR,SU"),
        ("rrule:freq=daily;interval=2", "FREQ=DAILY;INTERVAL=2"),
        ("FREQ=WEEKLY;BYDAY=MO;UNTIL=20251231T235959Z", "FREQ=WEEKLY;BYDAY=MO;UNTIL=20251231"),
    ],
)
def test_words_are_a_rule(words, rule):
    """Practice days said in words, or as RFC 5545 writes them, become one checked RRULE."""
    assert rule_text(words) == rule
    assert rule_text(rule) == rule


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("", "expected 'every day'"),
        ("not", "expected 'every day'"),
        ("and", "expected 'every day'"),
        ("not every day", "expected 'every day'"),
        ("mo", "expected 'every day'"),
        ("now and then", "'now and then': expected 'every day', 'weekdays', 'not Sundays', names of days, or an RRULE"),
        ("FREQ=MONTHLY", "FREQ: expected DAILY or WEEKLY, got 'MONTHLY'"),
        ("FREQ=SECONDLY", "FREQ: expected DAILY or WEEKLY"),
        ("BYDAY=MO", "expected one FREQ"),
        ("FREQ=DAILY;FREQ=DAILY", "'FREQ': expected each of"),
        ("FREQ=DAILY;BYHOUR=3", "'BYHOUR': expected each of FREQ, INTERVAL, BYDAY, BYMONTH, WKST, COUNT, UNTIL"),
        ("FREQ=WEEKLY;BYDAY=1MO", "BYDAY: expected days such as MO,TH, got '1MO'"),
        ("FREQ=DAILY;INTERVAL=0", "INTERVAL: expected 1 to 366, got '0'"),
        ("FREQ=DAILY;INTERVAL=99999999999", "INTERVAL: expected 1 to 366"),
        ("FREQ=DAILY;COUNT=3;UNTIL=20250101", "COUNT or UNTIL but not both"),
        ("FREQ=DAILY;UNTIL=20250230", "UNTIL: expected a date such as 20251231, got '20250230'"),
        ("FREQ=DAILY;BYMONTH=13", "BYMONTH: expected months such as 1,2,12, got '13'"),
    ],
)
def test_words_that_name_no_days_are_refused(words, said):
    """What cannot be read as practice days names the part, what was expected and what came."""
    with pytest.raises(CalendarError, match=said) as caught:
        PracticeCalendar(words)
    assert isinstance(caught.value, SchedulerError)
    assert isinstance(caught.value, ValueError)


@given(odd_text("FREQ=DAILYWEEKLY;BYDAY=MO,TUINTERVALUNTIL=20 not every sundays,", most=24))
def test_any_words_are_a_rule_or_refused(words):
    """Any text either names days or is refused as a calendar error."""
    try:
        text = rule_text(words)
    except CalendarError:
        return
    assert rule_text(text) == text


def test_a_rule_without_a_day_is_refused():
    """A rule that no day ever meets is said at once and not searched for again."""
    with pytest.raises(CalendarError, match="expected a rule that names a day within five years of 2024-01-01"):
        PracticeCalendar("FREQ=DAILY;INTERVAL=91;BYDAY=TU")


@given(
    st.sets(st.integers(0, 6), min_size=1),
    st.dates(date(1990, 1, 1), date(2090, 1, 1)),
    st.integers(0, 40),
)
def test_days_of_the_week_agree_with_the_calendar(weekdays, first, length):
    """The practice days of a weekly rule are the days whose `date.weekday` it names, in any year."""
    calendar = PracticeCalendar("FREQ=WEEKLY;BYDAY=" + ",".join(DAY_CODES[day] for day in sorted(weekdays)))
    every = [first + timedelta(days=n) for n in range(length + 1)]
    want = [day for day in every if day.weekday() in weekdays]
    assert list(calendar.days(first, every[-1])) == want
    assert calendar.count(first, every[-1]) == len(want)
    assert [day for day in every if list(calendar.days(day, day))] == want
    following = [first + timedelta(days=n) for n in range(1, 50)]
    assert calendar.next_days(first, 5) == [day for day in following if day.weekday() in weekdays][:5]


def test_a_rule_that_counts_counts_from_its_start():
    """Every second day is counted from the start given, and a rule of ten days ends."""
    every_other = PracticeCalendar("FREQ=DAILY;INTERVAL=2", start=MONDAY)
    assert every_other.next_days(MONDAY + timedelta(days=99), 2) == [
        MONDAY + timedelta(days=100), MONDAY + timedelta(days=102)
    ]  # fmt: skip
    assert list(every_other.days(MONDAY - timedelta(days=9), MONDAY)) == [MONDAY]
    ten = PracticeCalendar("FREQ=DAILY;COUNT=10", start=MONDAY)
    assert ten.count(MONDAY, MONDAY + timedelta(days=99)) == 10
    assert ten.next_day(MONDAY + timedelta(days=9)) is None
    assert PracticeCalendar("FREQ=WEEKLY", start=MONDAY).next_day(MONDAY) == MONDAY + timedelta(days=7)


@pytest.mark.parametrize(("rule", "gap"), [("every day", 1.0), ("weekdays", 7 / 5), ("mondays", 7.0)])
def test_the_mean_gap_is_the_days_of_a_week_over_those_practised(rule, gap):
    """Common practice: five days of seven are a day in 1.4."""
    assert PracticeCalendar(rule).mean_gap_days(date(2026, 3, 4)) == pytest.approx(gap)


def test_an_absence_takes_its_days_out():
    """A fortnight away holds no practice days, and the day after it is the next one."""
    away = absence(MONDAY, MONDAY + timedelta(days=13))
    calendar = PracticeCalendar("not Sundays", absences=away)
    assert len(away) == 14
    assert calendar.count(MONDAY, MONDAY + timedelta(days=13)) == 0
    assert calendar.next_day(MONDAY - timedelta(days=1)) == MONDAY + timedelta(days=14)
    with pytest.raises(CalendarError, match="expected its first day before its last"):
        absence(MONDAY, MONDAY - timedelta(days=1))


def test_days_missed_are_practice_days_between():
    """From Friday to Monday a player of weekdays has missed nothing, and one of every day has missed two."""
    friday = MONDAY - timedelta(days=3)
    assert PracticeCalendar("weekdays").missed(friday, MONDAY) == 0
    assert PracticeCalendar().missed(friday, MONDAY) == 2
    assert PracticeCalendar().missed(MONDAY, MONDAY) == 0
    assert PracticeCalendar().missed(MONDAY, friday) == 0


@pytest.mark.parametrize("name", ["Europe/Nowhere", "", "/etc/passwd", "../../etc/passwd", "EST5EDT,M3.2.0", "a\0b"])
def test_a_time_zone_is_a_name(name):
    """Only an IANA name is a time zone; a path or a rule is refused."""
    with pytest.raises(CalendarError, match="expected a name such as Europe/Berlin or UTC"):
        PracticeCalendar(zone=name)


@pytest.mark.parametrize("name", ["Europe/Berlin", "America/Argentina/Buenos_Aires", "UTC", "Etc/GMT+5"])
def test_zones_agree_with_the_standard_library(name):
    """A zone has the offsets that Python's own reader of the IANA tables gives."""
    for month in range(1, 13):
        naive = datetime(2024, month, 15, 12)
        assert (
            naive.replace(tzinfo=read_zone(name)).utcoffset()
            == naive.replace(tzinfo=zoneinfo.ZoneInfo(name)).utcoffset()
        )


@pytest.mark.parametrize("hour", [-1, 24, float("nan")])
def test_the_hour_of_a_day_is_an_hour(hour):
    """A day begins at an hour from 0 to under 24."""
    with pytest.raises(CalendarError, match="day_starts_at_hour: expected 0 to under 24"):
        PracticeCalendar(day_starts_at_hour=hour)


def test_the_planner_and_the_calendar_agree_on_the_day():
    """A moment on the very hour, or a second before, has one practice day for the calendar and the teaching rules."""
    epoch = date(1970, 1, 1).toordinal()
    zones = [BERLIN, zoneinfo.ZoneInfo("America/St_Johns"), zoneinfo.ZoneInfo("Asia/Kathmandu"), UTC]
    for hour in (0.0, 2.5, 4.0, 23.75):
        for zone in zones:
            for day in range(0, 366 * 30, 13):
                start = datetime(2000, 1, 1, tzinfo=zone) + timedelta(days=day, hours=hour)
                for second in (-1, 0, 1):
                    at = start + timedelta(seconds=second)
                    number = practice_day_of_days(at.timestamp() / 86400.0, at.utcoffset().total_seconds(), hour)
                    assert number + epoch == practice_day_number(at, hour), (at, hour)


@given(moments(), st.floats(0, 23.99))
def test_the_planner_and_the_calendar_agree_at_any_moment(at, hour):
    """Wherever the player is and whenever the day begins, both name the same day."""
    number = practice_day_of_days(at.timestamp() / 86400.0, at.utcoffset().total_seconds(), hour)
    assert abs(number + date(1970, 1, 1).toordinal() - practice_day_number(at, hour)) == 0


def test_a_card_missed_late_is_asked_again_the_next_practice_day():
    """Looked up at half past midnight the card is owed from the next evening on, or already that evening at hour 0."""
    miss = datetime(2024, 3, 5, 0, 30, tzinfo=BERLIN)
    evening = datetime(2024, 3, 5, 19, 0, tzinfo=BERLIN)
    cards = [CardSpec(f"c{n}", (f"form:{n}",)) for n in range(6)]

    def first_of_the_evening(hour):
        planner = Planner(cards, rules=TeachingRules(again_weight=1.0, day_starts_at_hour=hour))
        for number, card in enumerate(cards[1:], 1):
            planner.record(Review(card.id, Grade.LOOKED, miss - timedelta(days=2, minutes=number), 5.0))
            planner.record(Review(card.id, Grade.IN_TIME, miss - timedelta(minutes=60 - number), 5.0))
        planner.record(Review("c0", Grade.LOOKED, miss, 5.0))
        today = practice_day_of_days(evening.timestamp() / 86400.0, evening.utcoffset().total_seconds(), hour)
        return planner.learner.missed_on["c0"], today

    owed, today = first_of_the_evening(4.0)
    assert owed == today - 1
    owed, today = first_of_the_evening(0.0)
    assert owed == today


def test_a_day_lost_or_lived_twice_on_a_journey_is_no_error():
    """Flying west a player may practise twice on one date, flying east miss one: days are those the clocks showed."""
    tokyo, hawaii = timezone(timedelta(hours=9)), timezone(timedelta(hours=-10))
    evening = datetime(2024, 3, 5, 20, 0, tzinfo=tokyo)
    later = (evening + timedelta(hours=9)).astimezone(hawaii)
    assert practice_day(evening) == practice_day(later) == date(2024, 3, 5)
    back = (later + timedelta(hours=10)).astimezone(tokyo)
    assert practice_day(back) == date(2024, 3, 6)
    assert PracticeCalendar().missed(practice_day(evening), practice_day(back)) == 0


def test_absences_and_the_rule_are_taken_together():
    """A year of Mondays and Thursdays with a summer away: python-dateutil's own rule set counts the same days."""
    from dateutil.rrule import rruleset, rrulestr

    first, last = date(2024, 1, 1), date(2024, 12, 31)
    away = absence(date(2024, 7, 1), date(2024, 8, 15))
    calendar = PracticeCalendar("Mondays and Thursdays", absences=away)
    rules = rruleset()
    rules.rrule(rrulestr("FREQ=WEEKLY;BYDAY=MO,TH", dtstart=datetime(2024, 1, 1)))
    for day in away:
        rules.exdate(datetime(day.year, day.month, day.day))
    expected = [one.date() for one in rules.between(datetime(2024, 1, 1), datetime(2024, 12, 31), inc=True)]
    assert list(calendar.days(first, last)) == expected


def test_the_scheduler_reads_times_as_iso_and_never_counts_months():
    """No module guesses at a written date or adds a month, which is no number of days (ISO 8601 only)."""
    import re
    from pathlib import Path

    import scheduler

    text = "".join(path.read_text() for path in Path(scheduler.__file__).parent.rglob("*.py"))
    assert len(text) > 100_000
    assert not re.search(r"relativedelta|dateutil\.parser|parser\.parse|strptime", text)


@given(
    unit=st.sampled_from(["DAILY", "WEEKLY"]),
    interval=st.integers(1, 40),
    days=st.sets(st.sampled_from(["MO", "TU", "WE", "TH", "FR", "SA", "SU"])),
    week_start=st.sampled_from(["", ";WKST=SU", ";WKST=WE"]),
    start=st.dates(date(2024, 1, 1), date(2024, 3, 1)),
    first=st.dates(date(2024, 1, 1), date(2040, 1, 1)),
)
def test_a_rule_begun_late_names_the_days_it_would_have_named(unit, interval, days, week_start, start, first):
    """Long past periods are passed over at once, and what follows is what the whole rule says (dateutil's own)."""
    by_day = f";BYDAY={','.join(sorted(days))}" if days else ""
    rule = f"FREQ={unit};INTERVAL={interval}{by_day}{week_start}"
    last = first + timedelta(days=120)
    whole = rrulestr(rule, dtstart=datetime(start.year, start.month, start.day))
    try:
        calendar = PracticeCalendar(rule, start=start)
    except CalendarError:
        assert next(iter(whole.between(datetime(2024, 1, 1), datetime(2029, 1, 1), inc=True)), None) is None
        return
    expected = whole.between(datetime(first.year, first.month, first.day), datetime(last.year, last.month, last.day),
                             inc=True)  # fmt: skip
    assert list(calendar.days(first, last)) == [one.date() for one in expected]


def test_a_rule_that_never_names_a_day_is_refused_and_a_far_day_is_answered():
    """Every seventh day from a Monday is never a Tuesday; every second day is known seven thousand years on."""
    with pytest.raises(CalendarError, match="a day within five years"):
        PracticeCalendar("FREQ=DAILY;INTERVAL=7;BYDAY=TU")
    calendar = PracticeCalendar("FREQ=DAILY;INTERVAL=2")
    assert calendar.next_days(date(9000, 1, 1), 2) == [date(9000, 1, 3), date(9000, 1, 5)]
