"""Predicted against actual: how far the memory's predictions deserve trust."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import log

from scheduler.counts import Count
from scheduler.review import Review

__all__ = ["Calibration", "calibrate", "calibration"]

_BINS = 10
_SURE = 1e-6
"""A prediction is taken as no surer than this, so that one surprise costs 14 nats and not all of them."""


@dataclass(frozen=True, slots=True)
class Calibration:
    """Predicted against actual over first tries whose prediction was stored.

    tries: how many. predicted, actual: mean predicted recall and share clean, 0 to 1.
    log_loss: in nats; base_loss: of always predicting the share clean so far.
    brier, base_brier: mean squared error (Brier 1950), of the same two.
    error: expected calibration error, the mean distance of the bins from the
    diagonal, weighted by their tries.
    bins: (mean predicted, count) for ten equal bins of prediction, empty ones left out.
    """

    tries: int
    predicted: float
    actual: float
    log_loss: float
    base_loss: float
    bins: tuple[tuple[float, Count], ...]
    brier: float
    base_brier: float
    error: float

    @property
    def helps(self) -> bool:
        """Whether the predictions did better than the running average."""
        return self.log_loss < self.base_loss


def calibration(reviews: Iterable[Review]) -> Calibration | None:
    """How far the stored predictions deserve trust, or None when there are none."""
    return calibrate(
        (review.predicted, review.grade.clean)
        for review in reviews
        if review.attempt == "first" and review.predicted is not None
    )


def calibrate(tries: Iterable[tuple[float, bool]]) -> Calibration | None:
    """The calibration of first tries in order, each the recall predicted just before, 0 to 1, and whether clean."""
    bins = [[0.0, 0, 0] for _ in range(_BINS)]
    log_loss = base_loss = brier = base_brier = 0.0
    seen = good = 0
    for predicted, clean in tries:
        p = predicted if _SURE < predicted < 1 - _SURE else min(max(predicted, _SURE), 1 - _SURE)
        # What a bystander would say who knows only the share clean so far
        # (Laplace's rule of succession: the first guess is a half).
        average = (good + 1) / (seen + 2)
        one = bins[int(p * _BINS)]
        one[0] += p
        one[2] += 1
        seen += 1
        if clean:
            good += 1
            one[1] += 1
            log_loss -= log(p)
            base_loss -= log(average)
            brier += (1 - p) * (1 - p)
            base_brier += (1 - average) * (1 - average)
        else:
            log_loss -= log(1 - p)
            base_loss -= log(1 - average)
            brier += p * p
            base_brier += average * average
    if not seen:
        return None
    return Calibration(
        tries=seen,
        predicted=sum(total for total, _, _ in bins) / seen,
        actual=good / seen,
        log_loss=log_loss / seen,
        base_loss=base_loss / seen,
        bins=tuple((total / tries, Count(clean, tries)) for total, clean, tries in bins if tries),
        brier=brier / seen,
        base_brier=base_brier / seen,
        error=sum(abs(total - clean) for total, clean, _ in bins) / seen,
    )
