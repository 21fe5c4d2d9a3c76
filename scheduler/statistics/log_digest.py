"""The digest of a whole log, straight from its rows, which is quicker than from its reviews."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import closing
from datetime import datetime

from scheduler.days.practice_day import DAY_STARTS_AT_HOUR
from scheduler.log.review_log import ReviewLog
from scheduler.log.rows import skills_from_text
from scheduler.log.schema import explained
from scheduler.statistics.digest import Digest, Tally

__all__ = ["add_up", "digest_of_log"]


def digest_of_log(
    log: ReviewLog,
    day_starts_at_hour: float = DAY_STARTS_AT_HOUR,
    kind: Callable[[str], str] = lambda card: "",
    since: datetime | None = None,
    until: datetime | None = None,
) -> Digest:
    """Everything the progress page adds up, from one reading of the log.

    kind: names the kind of a card by its id. since, until: only reviews whose clock showed a time
    from the first on and before the second. Raises LogError when the log cannot be read.
    """
    tally = Tally(day_starts_at_hour, skills_from_text)
    add_up(log, tally, since, until)
    return tally.digest(kind)


def add_up(
    log: ReviewLog,
    tally: Tally,
    since: datetime | None = None,
    until: datetime | None = None,
    after: int = 0,
    up_to: int = 2**62,
) -> None:
    """Give a tally the rows of `ReviewLog.digest_rows`, which explains the arguments.

    A row that cannot be added up is a fault of the log: raises LogError.
    """
    with explained(log.path, "read"), closing(log.digest_rows(since, until, after, up_to)) as rows:
        tally.add(rows)
