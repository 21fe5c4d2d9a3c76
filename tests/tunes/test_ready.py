"""How ready a tune will be: the days that count, what is said, and what is not said too early."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from drills.cards.material import gather
from drills.neck.neck import Neck
from drills.tunes.ready.days_to_date import MOST_SESSIONS, DateError, days_to, read_day
from drills.tunes.ready.readiness import readiness, weak_joint
from drills.tunes.ready.readiness_words import forecast_line, ready_json, ready_lines, weak_line
from drills.tunes.tune_deck import tune_deck, tune_reader
from scheduler.days.calendar import PracticeCalendar
from scheduler.grade import Grade
from scheduler.planning.planner import Planner
from scheduler.review import Review

NOW = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)  # a Monday
EVERY_DAY = PracticeCalendar("every day")


def days(day, now=NOW, calendar=EVERY_DAY, played_today=False):
    return days_to(date.fromisoformat(day), now, calendar, played_today=played_today)


def test_days_to_a_date():
    """Today counts until it has been played; the day itself does not; the moment is the present time of day."""
    found = days("2026-03-07")
    assert [each.date().day for each in found.sessions] == [2, 3, 4, 5, 6]
    assert found.at == datetime(2026, 3, 7, 18, 0, tzinfo=UTC) and not found.cut
    assert [each.day for each in days("2026-03-07", played_today=True).sessions] == [3, 4, 5, 6]


def test_tomorrow_today_and_yesterday():
    """One session before tomorrow, none before today, and a day that is past is refused with what today is."""
    assert len(days("2026-03-03").sessions) == 1
    assert days("2026-03-03", played_today=True).sessions == ()
    assert days("2026-03-02").sessions == () and days("2026-03-02").at == NOW
    with pytest.raises(DateError, match="2026-03-01: is past, today is 2026-03-02"):
        days("2026-03-01")


def test_practice_days_are_the_players_own():
    """Weekdays only, by the recurrence rule; half past midnight still belongs to the evening before."""
    weekdays = PracticeCalendar("weekdays")
    assert [each.day for each in days("2026-03-10", calendar=weekdays).sessions] == [2, 3, 4, 5, 6, 9]
    late = datetime(2026, 3, 3, 0, 30, tzinfo=timezone(timedelta(hours=1)))
    assert len(days("2026-03-03", now=late).sessions) == 1, "the practice day of the 2nd is not over"
    assert days("2026-03-02", now=late).sessions == ()


def test_a_far_date_is_looked_at_no_further_than_is_sensible():
    """Four weeks of sessions are played through; the forecast is then for the day after, and says so."""
    found = days("2027-03-02")
    assert len(found.sessions) == MOST_SESSIONS and found.cut
    assert found.at == NOW + timedelta(days=MOST_SESSIONS)
    assert days("9999-12-31", calendar=PracticeCalendar("FREQ=DAILY;COUNT=900", start=date(2026, 3, 1))).cut
    over = days("9999-12-31", calendar=PracticeCalendar("FREQ=DAILY;COUNT=2", start=date(2026, 3, 1)))
    assert (len(over.sessions), over.cut) == (1, False)


@pytest.mark.parametrize("text", ["12.12.2026", "2026-13-01", "20261212", "2026-W10-1", "tomorrow", "", "2026-1-1"])
def test_only_iso_dates_are_read(text):
    """ISO 8601 calendar dates with hyphens and nothing else."""
    with pytest.raises(DateError, match="2026-12-12"):
        read_day(text)
    assert read_day("2026-12-12") == date(2026, 12, 12)


def player_of(changes="Cm7 F7 Bbmaj7", starts=(6,), clean=0, missed=()):
    """A tune's material and a planner that has had each card clean so often on as many days, some cards missed."""
    material = gather(tune_deck(changes, starts=starts, title="Tune"), Neck(), tune_reader=tune_reader())
    planner = Planner(material.specs(), 0, (), material.rules())
    for day in range(clean):
        for number, card in enumerate(material.cards.values()):
            at = NOW - timedelta(days=clean - day) + timedelta(minutes=number)
            grade = Grade.LOOKED if card.call in missed else Grade.CLEAN
            planner.record(Review(card.id, grade, at, 6.0, skills=card.skills, spent=15.0, session=f"{day}"))
    return material, planner


def found(by="2026-03-05", paths=None, **given):
    material, planner = player_of(**given)
    return readiness(material, planner, days(by), minutes=10.0, cards_minutes=8.5, paths=paths)


def text_of(forecast, width=80):
    lines = ready_lines(forecast, width)
    assert all(len(line) <= width for line in lines)
    return " ".join(" ".join(lines).split())


def test_without_evidence_it_says_how_little_it_knows():
    """No review yet: a wide range, no names, and no advice drawn from it."""
    forecast = found()
    text = text_of(forecast)
    assert not forecast.known and "You have played nothing yet" in text and "not known yet" in text
    assert "Likely" not in text and "Unlikely" not in text and "leave" not in text
    assert forecast_line(forecast).endswith("little is known yet.")


def test_what_is_known_is_named():
    """After two weeks of clean cards all is likely; a joint missed every time is not, and is named with its bars."""
    sure = found(clean=14)
    assert sure.known and all(row.likely for row in sure.rows)
    assert "All of it is likely to come clean." in text_of(sure)
    shaky = found(by="2026-03-02", clean=14, missed=("F7 to Bbmaj7",))
    row = next(row for row in shaky.rows if row.card.call == "F7 to Bbmaj7")
    assert row.unlikely and row.low <= row.chance <= row.high
    text = text_of(shaky)
    assert (
        re.search(r"first try: between .* \b\d+ of \d+ are likely to come clean, \d+ not yet\.", text)
        and "joints F7 to Bbmaj7" in text
    )
    assert "To leave for later, the rarest first: F7 to Bbmaj7, bars 2 to 3" in text
    assert "little to go by" not in text


def test_chords_stand_by_string_set_and_what_a_line_does_not_hold_is_counted():
    """Each set has one line with its chords, the joints have one; named and counted together they are all there are.
    With every one asked for each chord and joint has its sets beside it."""
    blues = "F7 Bb7 F7 F7 Bb7 Bdim7 F7 D7 Gm7 C7 F7 C7"
    forecast = found(changes=blues, starts=(6, 5, 4), clean=14)
    joints = [row for row in forecast.rows if row.card.to is not None]
    for width in (40, 60, 80, 200):
        lines = ready_lines(forecast, width)
        assert all(len(line) <= width for line in lines)
        names = next(line for line in lines if line.startswith("  joints")).strip().partition("  ")[2]
        named, _, more = names.partition("and ")
        times = [int(count) for count in re.findall(r"\((\d+)\)", named)]
        single = [name for name in named.split(", ") if name.strip() and "(" not in name]
        assert sum(times) + len(single) + int(more.partition(" ")[0] or 0) == len(joints)
        assert ("  --all names every one." in lines) == bool(more)
        for sets in ("6-5-4", "5-4-3", "4-3-2"):
            here = [row.card for row in forecast.rows if row.card.strings_text == f"strings {sets}"]
            chords = {card.call for card in here if card.to is None}
            (line,) = [line for line in lines if line.startswith(f"  {sets}")]
            assert width < 60 or {one.rstrip(",") for one in line.split()[1:]} == chords
    every = ready_lines(forecast, 200, every=True)
    named = [line.split("  ", 2)[1:] for line in every if line.startswith("  ")]
    assert sorted((call, one) for call, sets in named for one in sets.strip().split(", ")) == sorted(
        (row.card.call, row.card.strings_text.removeprefix("strings ")) for row in forecast.rows
    )
    assert not any("more" in line for line in every)
    assert all(len(line) <= 40 for line in ready_lines(forecast, 40, every=True))


def test_the_joint_that_is_not_there_yet_in_a_sentence():
    """Counts over every key and tune; nothing while it may be chance (drills/RULES.md, F4), nor when all were clean."""
    material, planner = player_of(clean=7, missed=("F7 to Bbmaj7",))
    weak = weak_joint(material, planner, NOW)
    assert (weak.card.call, weak.tries, weak.clean) == ("F7 to Bbmaj7", 7, 0)
    assert weak_line(weak) == (
        "Not yet: going from 7 to maj7, 1 string up, same fret, 0 of 7 clean so far; here F7 to Bbmaj7, bars 2 to 3."
    )
    assert weak_joint(*player_of(clean=4, missed=("F7 to Bbmaj7",)), NOW) is None
    assert weak_joint(*player_of(clean=7), NOW) is None and weak_line(None) == ""


def test_a_joint_is_the_same_in_another_tune():
    """What was missed in one key is the weak joint of a tune in another."""
    planner = player_of(clean=7, missed=("F7 to Bbmaj7",))[1]
    other = gather(tune_deck("Dm7 G7 Cmaj7", starts=(6,)), Neck(), tune_reader=tune_reader())
    elsewhere = Planner(other.specs(), 0, (), other.rules())
    elsewhere.restore(planner.export())
    assert weak_joint(other, elsewhere, NOW).card.call == "G7 to Cmaj7"


def test_a_narrower_choice_is_offered_only_where_it_helps():
    """Of three paths the one that is known; not before anything is known, and not when there are no days left."""
    changes = "Cm7 F7 Bbmaj7"
    material, planner = player_of(changes, starts=())
    paths = {
        string: frozenset(gather(tune_deck(changes, starts=(string,)), Neck(), tune_reader=tune_reader()).cards)
        for string in (6, 5, 4)
    }
    for day in range(14):
        for number, card in enumerate(sorted(paths[6])):
            at = NOW - timedelta(days=14 - day) + timedelta(minutes=number)
            skills = material.cards[card].skills
            planner.record(Review(card, Grade.CLEAN, at, 6.0, skills=skills, spent=40.0, session=f"{day}"))
    forecast = readiness(material, planner, days("2026-03-03"), minutes=3.0, cards_minutes=2.0, paths=paths)
    assert forecast.narrower is not None and forecast.narrower.string == 6
    assert forecast.narrower.outcome.expected / forecast.narrower.cards > forecast.outcome.expected / len(forecast.rows)
    assert "only the path from string 6 (--from 6)" in text_of(forecast)
    today = readiness(material, planner, days("2026-03-02"), minutes=3.0, cards_minutes=2.0, paths=paths)
    assert today.narrower is None


def test_json_says_the_same():
    """Every card once, chances from 0 to 1, the range around the expectation."""
    answer = ready_json(found(clean=8))
    assert answer["cards"][0]["prompt"] == "Cm7, strings 6-5-4"
    assert all(0 <= card["low"] <= card["chance"] <= card["high"] <= 1 for card in answer["cards"])
    assert answer["low"] <= answer["expected"] <= answer["high"] <= len(answer["cards"]) == 6
    assert answer["by"] == "2026-03-05" and len(answer["sessions"]) == 3


@pytest.mark.parametrize("width", [40, 80])
def test_it_fits_a_narrow_screen(width):
    """Every line within the width, and no word of shame or promise in any."""
    text = text_of(found(clean=5, missed=("Cm7 to F7",)), width).lower()
    assert not any(word in text for word in ("mastered", "guarantee", "promise", "fail", "%", "streak"))
