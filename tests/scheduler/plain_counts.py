"""Counts from reviews, one plain function for each number: what the one quick reading of a log is held to."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable
from datetime import date, timedelta
from statistics import median

from scheduler.days.practice_day import DAY_STARTS_AT_HOUR, practice_day_number
from scheduler.review import SECONDS_CAP, Review
from scheduler.statistics.counts import Count
from scheduler.statistics.review_counts import Key

__all__ = ["count_by_skill", "covered", "days_played", "median_seconds", "slips_by"]


def count_by_skill(reviews: Iterable[Review]) -> dict[Hashable, Count]:
    """First-try counts by skill: a try counts once for each skill its card needed."""
    counts: dict[Hashable, Count] = defaultdict(Count)
    for review in reviews:
        for skill in review.skills if review.attempt == "first" else ():
            counts[skill] += Count(int(review.grade.clean), 1)
    return dict(counts)


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
