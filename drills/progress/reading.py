"""A report read from a log: what every form of `neckwork progress` begins with."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, timedelta

from drills.progress.card_parts import kind_of_card
from drills.progress.report import RECENT_DAYS, Report, make_report
from scheduler.calendar import practice_day
from scheduler.digest import digest
from scheduler.intervals import sample_range
from scheduler.log import ReviewLog

__all__ = ["SAMPLE_TICKET", "empty_report", "read_report", "sample_words"]

SAMPLE_TICKET = "sample:"
"""A ticket ``sample:2026-11-25`` says ``17 of 20 of 144``: clean, drawn, thought firm (see `neckwork sample`)."""


def read_report(
    log: ReviewLog, now: datetime, day_starts_at_hour: float, words: Mapping[str, str] | None = None
) -> Report:
    """The report of a log as it stood at a moment, which carries the local offset.

    words: the state of each skill by the memory, when it was asked.
    """
    standing = log.standing()
    whole = log.digest(day_starts_at_hour, kind_of_card, until=now)
    since = now - timedelta(days=RECENT_DAYS)
    return make_report(
        whole,
        log.digest(day_starts_at_hour, kind_of_card, since=since, until=now),
        practice_day(now, day_starts_at_hour),
        words=words,
        locks=len(standing.locks),
        flags=[event.body.card for event in standing.flags],
        rested=len(standing.rested),
        sample=sample_words(standing.tickets, practice_day(now, day_starts_at_hour)),
    )


def empty_report(now: datetime, day_starts_at_hour: float) -> Report:
    """The report of a player who has not begun."""
    nothing = digest(())
    return make_report(nothing, nothing, practice_day(now, day_starts_at_hour))


def sample_words(tickets: Mapping[str, str], today: date) -> str:
    """The latest blind sample up to a day, with what it says of the whole, or ``""``."""
    days = sorted(subject for subject in tickets if subject.startswith(SAMPLE_TICKET))
    for subject in reversed(days):
        text = subject.removeprefix(SAMPLE_TICKET)
        numbers = tickets[subject].split(" of ")
        try:
            day = date.fromisoformat(text)
            clean, drawn, whole = map(int, numbers)
            low, high = sample_range(clean, drawn, whole)
        except ValueError:
            continue  # written by a later version, or by hand
        if day <= today:
            return (
                f"Blind sample of {day.isoformat()}: {clean} clean of {drawn}: "
                f"somewhere between {low} and {high} of your {whole}, 19 times in 20."
            )
    return ""
