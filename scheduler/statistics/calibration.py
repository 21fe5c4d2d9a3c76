"""Compares predicted recall with what happened: how far the memory's predictions can be trusted."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import log
from typing import Any

from scheduler.memory.baseline import baseline_recalls
from scheduler.review import Review
from scheduler.statistics.counts import Count

__all__ = ["Calibration", "Trust", "calibrate", "calibration"]

_BINS = 10
_SURE = 1e-6
"""A prediction is taken as no surer than this, so that one surprise costs 14 nats and not all of them."""


@dataclass(frozen=True, slots=True)
class Calibration:
    """Predicted against actual over first tries whose prediction was stored.

    tries: how many. predicted, actual: mean predicted recall and share clean, 0 to 1.
    log_loss: in nats; base_loss: of always predicting the share clean so far; plain_loss: of the simplest memory,
    see `scheduler.memory.baseline`, over the same tries.
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
    plain_loss: float

    @property
    def beats_simplest(self) -> bool:
        """Whether the predictions did better than a half-life for each card by itself."""
        return self.log_loss < self.plain_loss

    @property
    def helps(self) -> bool:
        """Whether the predictions did better than the running average."""
        return self.log_loss < self.base_loss


def calibration(reviews: Iterable[Review]) -> Calibration | None:
    """How far the stored predictions deserve trust, or None when there are none."""
    history = list(reviews)
    return calibrate(
        (review.predicted, review.grade.clean, plain)
        for review, plain in zip(history, baseline_recalls(history), strict=True)
        if review.attempt == "first" and review.predicted is not None
    )


def calibrate(tries: Iterable[tuple[float, bool, float]]) -> Calibration | None:
    """The calibration of first tries in order.

    Each is the recall predicted just before, 0 to 1, whether it came clean, and what the simplest memory predicted.
    """
    trust = Trust()
    trust.add(tries)
    return trust.calibration()


class Trust:
    """A calibration in the making: the sums over the tries so far."""

    def __init__(self) -> None:
        self._bins: list[list[Any]] = [[0.0, 0, 0] for _ in range(_BINS)]
        self._sums = (0.0, 0.0, 0.0, 0.0, 0.0)
        self._seen = self._good = 0

    def add(self, tries: Iterable[tuple[float, bool, float]]) -> None:
        """Take in more tries, in order; see `calibrate`."""
        bins, seen, good = self._bins, self._seen, self._good
        log_loss, base_loss, plain_loss, brier, base_brier = self._sums
        sure = 1 - _SURE
        for predicted, clean, simplest in tries:
            p = predicted if _SURE < predicted < sure else min(max(predicted, _SURE), sure)
            plain = simplest if _SURE < simplest < sure else min(max(simplest, _SURE), sure)
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
            else:
                p, plain, average = 1 - p, 1 - plain, 1 - average
            log_loss -= log(p)
            base_loss -= log(average)
            plain_loss -= log(plain)
            brier += (1 - p) * (1 - p)
            base_brier += (1 - average) * (1 - average)
        self._seen, self._good = seen, good
        self._sums = (log_loss, base_loss, plain_loss, brier, base_brier)

    def calibration(self) -> Calibration | None:
        """The calibration of the tries so far, or None when there are none."""
        seen, bins = self._seen, self._bins
        if not seen:
            return None
        log_loss, base_loss, plain_loss, brier, base_brier = self._sums
        return Calibration(
            tries=seen,
            predicted=sum(total for total, _, _ in bins) / seen,
            actual=self._good / seen,
            log_loss=log_loss / seen,
            base_loss=base_loss / seen,
            bins=tuple((total / tries, Count(clean, tries)) for total, clean, tries in bins if tries),
            brier=brier / seen,
            base_brier=base_brier / seen,
            error=sum(abs(total - clean) for total, clean, _ in bins) / seen,
            plain_loss=plain_loss / seen,
        )

    def export(self) -> Any:
        """The sums as a JSON value; floats come back to the last bit."""
        return [self._bins, self._sums, self._seen, self._good]

    def restore(self, state: Any) -> None:
        """Take over exported sums in place of one's own."""
        self._bins, sums, self._seen, self._good = state
        self._sums = tuple(sums)
