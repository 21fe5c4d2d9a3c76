"""`neckwork progress`: what is firm and what is not, in counts; the days ahead; the calendar."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from drills.cli.files import OUT_FILE, written
from drills.cli.output import echo, echo_json
from drills.cli.player_files import PlayerFiles, player_of
from drills.safe_text import one_line

if TYPE_CHECKING:
    from datetime import date, datetime

    from drills.progress.ahead import DayAhead, Remembered
    from drills.progress.report import Report
    from scheduler.days.calendar import PracticeCalendar
    from scheduler.log.review_log import ReviewLog

__all__ = ["command"]

HTML_DAYS = 56
"""How far the page looks ahead."""

YEARS = range(1970, 9000)
"""Days that may be asked about: there was no log before, and a calendar ends with the year 9999."""


@click.command("progress")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
@click.option("--csv", "as_csv", is_flag=True, help="Print the statistics: a row a skill, a set and quality, a week.")
@click.option("--html", type=OUT_FILE, help="Write one page with pictures, to read or to print.")
@click.option(
    "--ahead", metavar="DAYS", type=click.IntRange(1, 366), help="What to expect of the days ahead, with its range."
)
@click.option("--ics", type=OUT_FILE, help="Write your practice days as a calendar file.")
@click.option("--at", "at_hour", metavar="HH:MM", help="With --ics: the time of day, wherever you are.")
@click.option(
    "--alarm", type=click.IntRange(0, 1440), metavar="MINUTES", help="With --at: remind so many minutes before."
)
@click.option("--name", metavar="NAME", default="", help="With --html: your name, at the head of the page.")
@click.option("--away", metavar="FROM..TO", multiple=True, help="Days without practice, e.g. 2026-12-24..2027-01-02.")
@click.option("--on", "day", metavar="DATE", help="As it stood on another day, e.g. 2026-03-31.")
@click.option("--log", metavar="FILE", help="Another log than the usual one.")
def command(
    as_json: bool, as_csv: bool, html: str | None, ahead: int | None, ics: str | None, at_hour: str | None,
    alarm: int | None, name: str, away: tuple[str, ...], day: str | None, log: str | None,
) -> None:  # fmt: skip
    """First tries, days played, and what comes back after a gap; repeats are never counted.

    --csv has a row for the total and for each gap, kind of prompt, place (set and quality), skill and week:
    group, name, set, quality; clean, tries and the range that is compatible with, low to high, 19 times in 20;
    recent_clean, recent_tries of the last 60 days; after_7_clean, after_7_tries, after_21_clean, after_21_tries at
    cards so many days away; roots_clean_30_days of 12; seconds from prompt to reveal, mean for a skill and median
    elsewhere, of seconds_of clean first tries; minutes and days played, cards met first; state, the memory's word;
    last_day played.

    Everything is self-reported, first tries only, in counts; under five tries nothing is claimed. --html is one
    page with pictures, to show, on a phone or printed; --ics puts your practice days into any calendar.

    \b
    Examples:
      neckwork progress
      neckwork progress --html progress.html
      neckwork progress --ahead 14
      neckwork progress --html page.html --name "Student 1"
      neckwork progress --ics practice.ics --at 18:30 --alarm 10 --away 2026-12-24..2027-01-02
      neckwork progress --csv
    """
    if as_json and as_csv:
        raise click.UsageError("--json and --csv exclude one another")
    if at_hour and not ics:
        raise click.UsageError("--at belongs to --ics")
    if alarm is not None and not at_hour:
        raise click.UsageError("--alarm belongs to --at: a whole day has no hour to remind before")
    if name and not html:
        raise click.UsageError("--name belongs to --html")
    player, asked = player_of(log), _read_day(day)
    calendar = _calendar(player, away) if away or ahead or ics or html else None
    report, forecast, owner, now = _read(player, asked, calendar, ahead or (HTML_DAYS if html else 0))
    if ics and calendar is not None:
        _write_calendar(player, ics, calendar, at_hour, ahead, now, owner, alarm)
    if html:
        from drills.progress.progress_page import report_page

        with written(html, player) as out:
            next_day = calendar.next_day(report.today) if calendar is not None else None
            out.write(report_page(report, forecast, one_line(name), next_day))
        echo(f"written: {html}", err=True)
    if as_json:
        from drills.progress.ahead import ahead_json
        from drills.progress.statistics_tables import report_json

        answer = report_json(report)
        if ahead:
            answer["ahead"] = ahead_json(forecast)
        echo_json(answer)
    elif as_csv:
        from drills.progress.statistics_tables import report_csv

        echo(report_csv(report), nl=False)
    elif ahead:
        from drills.progress.ahead import ahead_lines

        echo("\n".join(ahead_lines(forecast, ahead)))
    elif day is not None and not (html or ics or report.graded):
        echo(f"Nothing was graded up to {report.today.day} {report.today:%B %Y}.")
    elif not (html or ics):
        _show(player, report)


def _read_day(day: str | None) -> date | None:
    """The practice day of ``--on``; None when it was left out."""
    from datetime import date

    if day is None:
        return None
    try:
        asked = date.fromisoformat(day)
        if asked.year in YEARS:
            return asked
    except ValueError:
        pass
    raise click.UsageError(f"--on {day[:40]!r}: expected a date such as 2026-03-31")


def _moment(review_log: ReviewLog | None, day: date | None, day_starts_at: float) -> datetime:
    """Now, or the end of another practice day as the player's own clock had it."""
    from datetime import datetime

    from scheduler.statistics.end_of_day import end_of_day

    return datetime.now().astimezone() if day is None else end_of_day(review_log, day, day_starts_at)


def _read(
    player: PlayerFiles, day: date | None, calendar: PracticeCalendar | None, days: int
) -> tuple[Report, list[DayAhead], str, datetime]:
    """Report, forecast of so many days, what tells this player's calendar from others', and the moment of it all."""
    from drills.progress.report_of_log import empty_report, read_report

    hour = player.settings.practice.day_starts_at
    if not player.has_log():
        now = _moment(None, day, hour)
        return empty_report(now, hour), [], "", now
    with player.read_log() as review_log:
        now = _moment(review_log, day, hour)
        memory = _memory(player, review_log, now, hour, patient=days > 0)
        words = memory.words(now) if memory is not None else None
        report = read_report(review_log, now, hour, words, player.log_path.with_suffix(".counts"))
        forecast: list[DayAhead] = []
        if days and memory is not None and calendar is not None:
            from drills.progress.ahead import days_ahead

            to_come = list(calendar.days(*_span(report.today, days)))
            forecast = days_ahead(memory.memory, memory.skills, to_come, now)
        return report, forecast, review_log.id, now


def _memory(
    player: PlayerFiles, review_log: ReviewLog, now: datetime, day_starts_at: float, patient: bool
) -> Remembered | None:
    """The player's memory as the log teaches it, or None when nothing was graded by then.

    patient: whether it is worth seconds to the player; else None where a long log would have to be read.
    """
    from functools import partial

    from drills.progress.ahead import read_memory
    from scheduler.saved.learned_states import LONG

    latest = review_log.latest()
    if latest is not None and latest.at > now:  # as it stood on a day gone by: no saved state will do
        if not patient and review_log.fingerprint().last_seq > LONG:
            return None
        earlier = (review for review in review_log.reviews() if review.at <= now)
        return read_memory(earlier, day_starts_at, player.constants)
    return read_memory(partial(player.bring_forward, review_log, patient=patient), day_starts_at, player.constants)


def _span(today: date, days: int) -> tuple[date, date]:
    from datetime import timedelta

    return today + timedelta(days=1), today + timedelta(days=days)


def _calendar(player: PlayerFiles, away: tuple[str, ...]) -> PracticeCalendar:
    from datetime import date

    from scheduler.days.calendar import PracticeCalendar, absence
    from scheduler.errors import CalendarError

    absences: frozenset[date] = frozenset()
    for span in away:
        first, _, last = span.partition("..")
        try:
            absences |= absence(date.fromisoformat(first), date.fromisoformat(last or first))
        except CalendarError:
            raise
        except ValueError:
            raise click.UsageError(
                f"--away {span[:40]!r}: expected a day or two such as 2026-12-24..2027-01-02"
            ) from None
    practice = player.settings.practice
    return PracticeCalendar(practice.days, practice.day_starts_at, absences)


def _write_calendar(
    player: PlayerFiles,
    name: str,
    calendar: PracticeCalendar,
    at_hour: str | None,
    days: int | None,
    now: datetime,
    owner: str,
    alarm: int | None,
) -> None:
    from datetime import time

    from drills.progress.icalendar_file import calendar_file

    try:
        at = time.fromisoformat(at_hour) if at_hour else None
    except ValueError:
        raise click.UsageError(f"--at {(at_hour or '')[:20]!r}: expected a time such as 18:30") from None
    minutes = player.settings.practice.minutes
    content = calendar_file(calendar, calendar.day_of(now), now, owner, minutes=minutes, at=at, days=days, alarm=alarm)
    with written(name, player) as out:
        out.write(content.decode())
    echo(f"written: {name}", err=True)


def _show(player: PlayerFiles, report: Report) -> None:
    import os
    import shutil
    import sys

    from drills.progress.progress_screen import screen_lines

    reading = player.settings.reading
    encoding = (getattr(sys.stdout, "encoding", None) or "ascii").lower()
    plain_characters = reading.ascii or not encoding.startswith("utf")
    color = sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") not in ("", "dumb", None)
    for line in screen_lines(report, shutil.get_terminal_size().columns, ascii_only=plain_characters, color=color):
        echo(line, bold=color)
