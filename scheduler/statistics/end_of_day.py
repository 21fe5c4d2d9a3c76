"""The moment at which a practice day ended for the player, by the clock the player's own tries were written under."""

from __future__ import annotations

from contextlib import closing
from datetime import date, datetime, time, timedelta, timezone
from typing import TYPE_CHECKING

from scheduler.days.practice_day import DAY_STARTS_AT_HOUR, practice_day_numbering

if TYPE_CHECKING:
    from scheduler.log.review_log import ReviewLog

__all__ = ["end_of_day"]

_FARTHEST = timedelta(hours=26)
"""The clocks of the world lie up to 26 hours apart, from UTC-12 to UTC+14."""


def end_of_day(log: ReviewLog | None, day: date, day_starts_at_hour: float = DAY_STARTS_AT_HOUR) -> datetime:
    """The last microsecond of a practice day, with the offset of the last try of that day or before.

    So a log that was played elsewhere is cut between the same two tries wherever it is read. With no try within 26
    hours before the end it is the offset of the first try after it, and without any the offset of this machine.

    log: read only around the day; None for a player who has none yet. day_starts_at_hour: local hour, 0 to under 24.
    Reading raises what `ReviewLog.digest_rows` raises.
    """
    ends = datetime.combine(day + timedelta(days=1), time()) + timedelta(hours=day_starts_at_hour, microseconds=-1)
    here, number = ends.astimezone(), practice_day_numbering(day_starts_at_hour)
    if log is None:
        return here
    until, since = (0, 0), (2**62, 0)
    with closing(log.digest_rows(here - _FARTHEST, here + _FARTHEST)) as rows:
        for _, clock_us, offset_s, *_ in rows:
            if number(clock_us, offset_s) <= day.toordinal():
                until = max(until, (clock_us, offset_s))
            else:
                since = min(since, (clock_us, offset_s))
    if until[0] or since[0] < 2**62:
        return ends.replace(tzinfo=timezone(timedelta(seconds=until[1] if until[0] else since[1])))
    return here
