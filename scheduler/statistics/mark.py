"""Decides whether a share of clean tries surely lies above or below a mark, however often it is asked."""

from __future__ import annotations

from math import lgamma, log

from scheduler.statistics.counts import Count

__all__ = ["Side", "side_of"]

Side = int
"""1 surely above the mark, -1 surely below, 0 neither."""


def side_of(count: Count, mark: float, alpha: float) -> Side:
    """On which side of `mark` the chance behind a growing count surely lies.

    Looked at after every try for ever, a chance that equals the mark is said to lie above or below with probability
    `alpha` at most: the likelihood averaged over all chances, against that of the mark, is a martingale, and
    passes 1/alpha with probability alpha at most (H. Robbins 1970, "Statistical methods related to the law of the
    iterated logarithm", Annals of Mathematical Statistics 41, 1397-1409; J. Ville 1939). mark: between 0 and 1.
    """
    if not count.tries:
        return 0
    clean, missed = count.clean, count.tries - count.clean
    averaged = lgamma(clean + 1) + lgamma(missed + 1) - lgamma(count.tries + 2)
    if averaged - clean * log(mark) - missed * log(1 - mark) < -log(alpha):
        return 0
    return 1 if clean > mark * count.tries else -1
