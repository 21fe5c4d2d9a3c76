"""The moment at which a practice day ended for the player, by the clock the player's own tries were written under."""

from __future__ import annotations

from contextlib import closing
from datetime import date, datetime, time, timedelta, timezone, tzinfo
from typing import TYPE_CHECKING

from scheduler.days.practice_day import DAY_STARTS_AT_HOUR, practice_day, practice_day_numbering
from scheduler.log.events import from_us

if TYPE_CHECKING:
    from scheduler.log.review_log import ReviewLog

__all__ = ["end_of_day", "last_moment"]

_FARTHEST = timedelta(hours=26)
"""The clocks of the world lie up to 26 hours apart, from UTC-12 to UTC+14."""

_DAY = timedelta(days=1)


def last_moment(day: date, day_starts_at_hour: float = DAY_STARTS_AT_HOUR, zone: tzinfo | None = None) -> datetime:
    """The last microsecond of a practice day by the hands of a clock. zone: of that clock, None for one unknown."""
    return datetime.combine(day + _DAY, time(), zone) + timedelta(hours=day_starts_at_hour, microseconds=-1)


def end_of_day(log: ReviewLog | None, day: date, day_starts_at_hour: float = DAY_STARTS_AT_HOUR) -> datetime:
    """The last microsecond of a practice day, with the offset of the last try of that day or shortly before.

    So a log that was played elsewhere is cut between the same two tries wherever it is read. Who flew east may have
    begun the next day before this one was over by the old clock: then it ends just before that day's first try. With
    no try of that day or shortly before it is the offset of the first one after it, and without any the offset of this
    machine.

    log: read only around the day; None for a player who has none yet. day_starts_at_hour: local hour, 0 to under 24.
    Reading raises what `ReviewLog.digest_rows` raises.
    """
    ends = last_moment(day, day_starts_at_hour)
    here, number = ends.astimezone(), practice_day_numbering(day_starts_at_hour)
    last: tuple[int, int] | None = None
    following: tuple[int, int] | None = None
    if log is not None:
        with closing(log.digest_rows(here - _FARTHEST - _DAY, here + _FARTHEST)) as rows:
            for _, clock_us, offset_s, *_ in rows:
                one = clock_us, offset_s
                if number(*one) <= day.toordinal():
                    last = max(last or one, one)
                else:
                    following = min(following or one, one)
    told = last or following
    if told is None:
        return here
    there = ends.replace(tzinfo=timezone(timedelta(seconds=told[1])))
    if last and following and last < following:
        before_next = from_us(following[0] - 1).astimezone(there.tzinfo)
        if before_next < there and practice_day(before_next, day_starts_at_hour) == day:
            return before_next
    return there
