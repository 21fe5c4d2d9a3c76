"""Honest counts from reviews: first tries, and what came back after a gap.

Everything here is self-reported by the player, and repeats after a miss are
never counted. `scheduler.statistics.digest` has these and more from one reading of a long log.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable

from scheduler.days.ask_of_day import Ask
from scheduler.days.practice_day import DAY_STARTS_AT_HOUR
from scheduler.review import Review
from scheduler.statistics.counts import Count
from scheduler.statistics.first_tries import first_tries

__all__ = ["Key", "clean_after_gap", "count_by"]

Key = Callable[[Review], Hashable | None]
"""Names the group a review belongs to; None leaves it out."""


def count_by(
    reviews: Iterable[Review], key: Key, day_starts_at_hour: float = DAY_STARTS_AT_HOUR
) -> dict[Hashable, Count]:
    """First-try counts by whatever `key` says of a review; None leaves it out. reviews: a whole log in its order."""
    counts: dict[Hashable, list[int]] = {}
    for review, _ in first_tries(reviews, day_starts_at_hour):
        if (group := key(review)) is not None:
            pair = counts.setdefault(group, [0, 0])
            pair[0] += review.grade.clean
            pair[1] += 1
    return {group: Count(*pair) for group, pair in counts.items()}


def clean_after_gap(told: Iterable[tuple[Review, int, Ask]], gap_days: int) -> Count:
    """First tries at cards not played for `gap_days` practice days or more: the number that speaks of retention.

    told: from the beginning of a log, in its order, as `first_tries.asks` answers. A repeat is not counted, but the
    card has been played, so its gap begins anew.
    """
    last: dict[str, int] = {}
    count = Count()
    for review, day, ask in told:
        if ask is Ask.FIRST_TRY and day - last.get(review.card, day) >= max(gap_days, 1):
            count += Count(int(review.grade.clean), 1)
        last[review.card] = day
    return count
