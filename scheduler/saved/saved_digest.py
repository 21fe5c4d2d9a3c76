"""The digest of a log is saved beside it, so that a long log is not added up anew for every progress page."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from scheduler.days.practice_day import DAY_STARTS_AT_HOUR
from scheduler.log.events import as_us
from scheduler.log.review_log import ReviewLog
from scheduler.log.rows import skills_from_text
from scheduler.saved.learned_states import read_states, state_key, write_states
from scheduler.statistics.digest import Digest, Tally
from scheduler.statistics.log_digest import add_up, digest_of_log

__all__ = ["saved_digest"]

_SOURCES = (
    "statistics/digest.py",
    "days/ask_of_day.py",
    "statistics/log_digest.py",
    "days/practice_day.py",
    "statistics/calibration.py",
    "statistics/counts.py",
    "memory/baseline.py",
    "memory/growth.py",
    "grade.py",
    "review.py",
    "log/review_log.py",
    "log/rows.py",
)
"""The modules that read the rows and add them up. What another version of them has saved is thrown away."""

_WORTH_SAVING = 2_000
"""Reading fewer new events than this is quicker than writing the file."""


def saved_digest(
    log: ReviewLog,
    path: Path,
    until: datetime,
    day_starts_at_hour: float = DAY_STARTS_AT_HOUR,
    kind: Callable[[str], str] = lambda card: "",
) -> Digest:
    """What `digest_of_log(log, day_starts_at_hour, kind, until=until)` answers, by the file at `path` as far
    as it goes.

    The file is made, or written anew, when much was read. With it, without it and with any other file in its place
    the digest is the same to the last bit.
    """
    latest = log.latest()
    if latest is not None and latest.at >= until:
        return digest_of_log(log, day_starts_at_hour, kind, until=until)
    tally = Tally(day_starts_at_hour, skills_from_text)
    key = state_key("digest", day_starts_at_hour, _SOURCES)
    last = log.fingerprint()
    seq = 0
    entry = next((one for one in read_states(path) if one["key"] == key), None)
    if entry is not None and log.continues(entry["log"], entry["seq"], entry["last_id"], entry["order"]):
        tally.restore(entry["state"])
        seq = entry["seq"]
    add_up(log, tally, after=seq, up_to=last.last_seq)
    if last.last_seq - seq > _WORTH_SAVING:
        order = log.last_review(last.last_seq)
        write_states(
            path,
            [
                {
                    "key": key,
                    "log": log.id,
                    "seq": last.last_seq,
                    "last_id": last.last_id,
                    "order": order,
                    "state": tally.export(),
                }
            ],
        )
    if tally.latest_us >= as_us(until):  # a clock was set back since
        return digest_of_log(log, day_starts_at_hour, kind, until=until)
    return tally.digest(kind)
