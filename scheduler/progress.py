"""Honest counts from reviews: first tries, what came back after a gap, days played, predicted against actual.

Everything here is self-reported by the player. Repeats right after a miss are never counted.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import median

from scheduler.calendar import practice_day
from scheduler.review import Review

__all__ = [
    "FEWEST_TRIES", "Calibration", "Count", "calibration", "clean_after_gap", "count_by", "days_played",
    "median_seconds", "wilson",
]  # fmt: skip

FEWEST_TRIES = 5
"""Under so many tries a rate says nothing: 3 of 4 is compatible with anything from 30 % to 95 %."""

Z95 = 1.959963984540054
"""Two-sided 95 % quantile of the normal distribution."""


def wilson(clean: int, tries: int, z: float = Z95) -> tuple[float, float]:
    """The score interval of a proportion (Wilson 1927), each bound 0 to 1.

    Raises ValueError unless 0 <= clean <= tries and tries > 0.
    """
    if not 0 <= clean <= tries or tries == 0:
        raise ValueError(f"wilson: expected 0 <= clean <= tries with tries above 0, got {clean} of {tries}")
    p, n = clean / tries, tries
    centre = (p + z * z / (2 * n)) / (1 + z * z / n)
    half = z / (1 + z * z / n) * math.sqrt(p * (1 - p) / n + z * z / (4 * n * n))
    return max(0.0, centre - half), min(1.0, centre + half)


@dataclass(frozen=True, slots=True)
class Count:
    """First-try clean n of m. Adding two counts adds both numbers."""

    clean: int = 0
    tries: int = 0

    def __add__(self, other: Count) -> Count:
        return Count(self.clean + other.clean, self.tries + other.tries)

    @property
    def interval(self) -> tuple[float, float] | None:
        """Wilson's 95 % interval, or None under FEWEST_TRIES tries."""
        return wilson(self.clean, self.tries) if self.tries >= FEWEST_TRIES else None

    def __str__(self) -> str:
        return f"{self.clean} of {self.tries}"


def count_by(reviews: Iterable[Review], key: Callable[[Review], Hashable | None]) -> dict[Hashable, Count]:
    """First-try counts by whatever `key` says of a review; None leaves it out."""
    clean: dict[Hashable, int] = defaultdict(int)
    tries: dict[Hashable, int] = defaultdict(int)
    for review in reviews:
        if review.attempt == "first" and (group := key(review)) is not None:
            tries[group] += 1
            clean[group] += review.grade.clean
    return {group: Count(clean[group], tries[group]) for group in tries}


def clean_after_gap(reviews: Iterable[Review], gap_days: float) -> Count:
    """First tries at cards unseen for `gap_days` or more (in days of 24 hours): the number that speaks of retention."""
    last: dict[str, float] = {}
    clean = tries = 0
    for review in reviews:
        at = review.at.timestamp() / 86400.0
        if review.attempt == "first" and at - last.get(review.card, at) >= gap_days:
            tries += 1
            clean += review.grade.clean
        last[review.card] = at
    return Count(clean, tries)


def days_played(reviews: Iterable[Review], today: date, days: int = 14, day_starts_at_hour: float = 4.0) -> int:
    """On how many of the last `days` practice days, today included, anything was graded."""
    first = today - timedelta(days=days - 1)
    return len({day for review in reviews if first <= (day := practice_day(review.at, day_starts_at_hour)) <= today})


def median_seconds(reviews: Iterable[Review], key: Callable[[Review], Hashable | None]) -> dict[Hashable, float]:
    """Median time from prompt to reveal in seconds by group, clean first tries only, capped at 60 s."""
    times: dict[Hashable, list[float]] = defaultdict(list)
    for review in reviews:
        if review.attempt == "first" and review.grade.clean and (group := key(review)) is not None:
            times[group].append(min(review.seconds, 60.0))
    return {group: median(values) for group, values in times.items()}


@dataclass(frozen=True, slots=True)
class Calibration:
    """Predicted against actual over first tries whose prediction was stored.

    tries: how many. predicted, actual: mean predicted recall and share clean, 0 to 1.
    log_loss: in nats; base_loss: of always predicting the share clean so far.
    bins: (mean predicted, count) for ten equal bins of prediction, empty ones left out.
    """

    tries: int
    predicted: float
    actual: float
    log_loss: float
    base_loss: float
    bins: tuple[tuple[float, Count], ...]

    @property
    def helps(self) -> bool:
        """Whether the predictions did better than the running average."""
        return self.log_loss < self.base_loss


def calibration(reviews: Iterable[Review]) -> Calibration | None:
    """How far the stored predictions deserve trust, or None when there are none."""
    sums = [[0.0, 0, 0] for _ in range(10)]
    loss = base = 0.0
    seen, good = 0, 0
    for review in reviews:
        if review.attempt != "first" or review.predicted is None:
            continue
        p = min(max(review.predicted, 1e-6), 1 - 1e-6)
        clean = review.grade.clean
        loss -= math.log(p if clean else 1 - p)
        average = (good + 1) / (seen + 2)  # Laplace's rule: the first guess is a half
        base -= math.log(average if clean else 1 - average)
        seen, good = seen + 1, good + clean
        row = sums[min(9, int(p * 10))]
        row[0], row[1], row[2] = row[0] + p, row[1] + clean, row[2] + 1
    if not seen:
        return None
    bins = tuple((total / n, Count(clean, n)) for total, clean, n in sums if n)
    mean = sum(total for total, _, _ in sums) / seen
    return Calibration(seen, mean, good / seen, loss / seen, base / seen, bins)
