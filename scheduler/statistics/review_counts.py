"""Honest counts from reviews: first tries, what came back after a gap, days played, time to reveal.

Everything here is self-reported by the player, and repeats after a miss are
never counted. These are the plain functions, one for each number and for any
grouping; `scheduler.statistics.digest` has all of them from one reading of a long log.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable
from datetime import date, timedelta
from statistics import median

from scheduler.days.practice_day import DAY_STARTS_AT_HOUR, practice_day_number
from scheduler.review import SECONDS_CAP, Review
from scheduler.statistics.calibration import Calibration, calibration
from scheduler.statistics.counts import FEWEST_TRIES, Count
from scheduler.statistics.intervals import sample_range, wilson

__all__ = [
    "FEWEST_TRIES", "Calibration", "Count", "calibration", "clean_after_gap", "count_by", "count_by_skill",
    "covered", "days_played", "median_seconds", "sample_range", "slips_by", "wilson",
]  # fmt: skip

Key = Callable[[Review], Hashable | None]
"""Names the group a review belongs to; None leaves it out."""


def count_by(reviews: Iterable[Review], key: Key) -> dict[Hashable, Count]:
    """First-try counts by whatever `key` says of a review; None leaves it out."""
    return _count_each(reviews, lambda review: () if (group := key(review)) is None else (group,))


def count_by_skill(reviews: Iterable[Review]) -> dict[Hashable, Count]:
    """First-try counts by skill: a try counts once for each skill its card needed."""
    return _count_each(reviews, lambda review: review.skills)


def clean_after_gap(reviews: Iterable[Review], gap_days: int, day_starts_at_hour: float = DAY_STARTS_AT_HOUR) -> Count:
    """First tries at cards not played for `gap_days` practice days or more: the number that speaks of retention.

    reviews: in the order of the log. A repeat is not counted, but the card
    has been played, so its gap begins anew.
    """
    last: dict[str, int] = {}
    count = Count()
    for review in reviews:
        day = practice_day_number(review.at, day_starts_at_hour)
        if review.attempt == "first" and day - last.get(review.card, day) >= max(gap_days, 1):
            count += Count(int(review.grade.clean), 1)
        last[review.card] = day
    return count


def covered(
    reviews: Iterable[Review],
    today: date,
    key: Key,
    days: int = 30,
    day_starts_at_hour: float = DAY_STARTS_AT_HOUR,
) -> frozenset[Hashable]:
    """The groups played clean at a first try at all in the last `days` practice days, today included.

    A clean try that a wrong clock put after today counts too.
    """
    since = today.toordinal() - days + 1
    return frozenset(
        group
        for review in reviews
        if review.attempt == "first"
        and review.grade.clean
        and practice_day_number(review.at, day_starts_at_hour) >= since
        and (group := key(review)) is not None
    )


def days_played(
    reviews: Iterable[Review], today: date, days: int = 14, day_starts_at_hour: float = DAY_STARTS_AT_HOUR
) -> int:
    """On how many of the last `days` practice days, today included, anything was graded."""
    first, last = (today - timedelta(days=days - 1)).toordinal(), today.toordinal()
    return len(
        {day for review in reviews if first <= (day := practice_day_number(review.at, day_starts_at_hour)) <= last}
    )


def median_seconds(reviews: Iterable[Review], key: Key) -> dict[Hashable, float]:
    """Median time from prompt to reveal in seconds by group, clean first tries only, capped at 60 s.

    A group should hold one kind of prompt: times of different kinds do not compare.
    """
    times: dict[Hashable, list[float]] = defaultdict(list)
    for review in reviews:
        if review.attempt == "first" and review.grade.clean and (group := key(review)) is not None:
            times[group].append(min(review.seconds, SECONDS_CAP))
    return {group: median(values) for group, values in times.items()}


def slips_by(reviews: Iterable[Review], key: Key) -> dict[Hashable, dict[str, int]]:
    """How often each slip was named at a first try, by group; only those named."""
    slips: dict[Hashable, dict[str, int]] = {}
    for review in reviews:
        if review.slip and review.attempt == "first" and (group := key(review)) is not None:
            named = slips.setdefault(group, {})
            named[review.slip] = named.get(review.slip, 0) + 1
    return slips


def _count_each(reviews: Iterable[Review], keys: Callable[[Review], Iterable[Hashable]]) -> dict[Hashable, Count]:
    counts: dict[Hashable, list[int]] = {}
    for review in reviews:
        if review.attempt == "first":
            for group in keys(review):
                pair = counts.setdefault(group, [0, 0])
                pair[0] += review.grade.clean
                pair[1] += 1
    return {group: Count(*pair) for group, pair in counts.items()}
