"""A report read from a log: what every form of `neckwork progress` begins with."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from pathlib import Path

from drills.progress.card_parts import is_away, kind_of_card
from drills.progress.claim_groups import judged
from drills.progress.player_causes import cause_of
from drills.progress.report import RECENT_DAYS, Report, make_report
from scheduler.days.practice_day import practice_day
from scheduler.log.events import Flag
from scheduler.log.review_log import ReviewLog
from scheduler.log.rows import DigestRow, skills_from_text
from scheduler.saved.saved_digest import saved_digest
from scheduler.statistics.agreement import agreement_of
from scheduler.statistics.counts import FEWEST_TRIES, sample_range
from scheduler.statistics.digest import Digest, Tally, digest
from scheduler.statistics.log_digest import digest_of_log
from scheduler.statistics.recent_tries import tries_of_log

__all__ = ["SAMPLE_TICKET", "empty_report", "read_report", "sample_words"]

SAMPLE_TICKET = "sample:blind"
"""Under which the log keeps the latest blind sample."""


def read_report(
    log: ReviewLog,
    now: datetime,
    day_starts_at_hour: float,
    words: Mapping[str, str] | None = None,
    saved: Path | None = None,
) -> Report:
    """The report of a log as it stood at a moment, which carries the local offset.

    words: the state of each skill by the memory, when it was asked. saved: the file that keeps what a long log adds
    up to, see `scheduler.saved.saved_digest`.
    """
    standing = log.standing(until=now)
    if saved is None:
        whole = digest_of_log(log, day_starts_at_hour, kind_of_card, until=now)
    else:
        whole = saved_digest(log, saved, now, day_starts_at_hour, kind_of_card)
    tries = tries_of_log(log, now, day_starts_at_hour)
    claims = judged(tries, words)
    rows = list(log.digest_rows(now - timedelta(days=RECENT_DAYS), now))
    return make_report(
        whole,
        _digest(rows, day_starts_at_hour),
        practice_day(now, day_starts_at_hour),
        away=_digest([row for row in rows if is_away(row[0])], day_starts_at_hour),
        words=words,
        locks=len(standing.locks),
        flags=[event.body.card for event in standing.flags if isinstance(event.body, Flag)],
        rested=len(standing.rested),
        claims=claims,
        cause=cause_of(tries.each, claims),
        heard=agreement_of(log.witnessed(until=now)),
        sample=sample_words(standing.tickets.get(SAMPLE_TICKET), practice_day(now, day_starts_at_hour)),
    )


def _digest(rows: Iterable[DigestRow], day_starts_at_hour: float) -> Digest:
    tally = Tally(day_starts_at_hour, skills_from_text)
    tally.add(rows)
    return tally.digest(kind_of_card)


def empty_report(now: datetime, day_starts_at_hour: float) -> Report:
    """The report of a player who has not begun."""
    nothing = digest(())
    return make_report(nothing, nothing, practice_day(now, day_starts_at_hour))


def sample_words(ticket: str | None, today: date) -> str:
    """What the latest blind sample says on a day, or ``""`` when there was none, or too small a one.

    ticket: what the log keeps of it, ``2001-05-14 17 20 144``: day, clean, asked, thought firm.
    """
    try:
        day_text, *numbers = (ticket or "").split()
        day = date.fromisoformat(day_text)
        clean, asked, firm = map(int, numbers)
        low, high = sample_range(clean, asked, firm)
    except ValueError:
        return ""  # none yet, or written by a later version
    if day > today or asked < FEWEST_TRIES:
        return ""
    return f"Blind sample {day.isoformat()}, {clean} clean of {asked}: somewhere between {low} and {high} of {firm}."
