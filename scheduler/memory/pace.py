"""The pace says how long this player takes over a card, from one prompt to the next."""

from __future__ import annotations

import math
from typing import NamedTuple

__all__ = ["Pace"]

_PRIOR_COUNT = 4.0
_MISS_FACTOR = 1.8
_CAP_SECONDS = 180.0
_LEAST_SHARE = 8.0 / 18.0
"""Least share of the expected seconds that is believed: a player who knows a card well is through it in 8 of the
usual 18 seconds (common practice). Keys pressed faster are not playing, and must not fill a plan with 100 cards."""


class Pace(NamedTuple):
    """Running log-means of spent / expected seconds, for clean and other attempts.

    The geometric mean stands for the median (equal for log-normal times). A
    miss is taken to cost 1.8 clean attempts until the player's own show
    (answer looked up and played twice; common practice).
    """

    log_clean: float = 0.0
    clean: int = 0
    log_other: float = 0.0
    other: int = 0

    def after(self, clean: bool, spent_seconds: float, card_seconds: float) -> Pace:
        """The pace with one more card, of which `card_seconds` was expected.

        Times under `_LEAST_SHARE` of those count as that much. Beyond three minutes the player was away
        from the card, and the pace stays as it was.
        """
        if spent_seconds > _CAP_SECONDS:
            return self
        ratio = math.log(max(spent_seconds / card_seconds, _LEAST_SHARE))
        log_clean, cleans, log_other, others = self
        if clean:
            return Pace(log_clean + ratio, cleans + 1, log_other, others)
        return Pace(log_clean, cleans, log_other + ratio, others + 1)

    def factors(self) -> tuple[float, float]:
        """(clean, other): seconds spent per second expected, both above 0."""
        clean = math.exp(self.log_clean / (self.clean + _PRIOR_COUNT))
        prior = math.log(_MISS_FACTOR * clean)
        other = math.exp((self.log_other + _PRIOR_COUNT * prior) / (self.other + _PRIOR_COUNT))
        return clean, other

    def seconds(self, card_seconds: float, recall: float) -> float:
        """Expected seconds for a card that is clean with chance `recall`."""
        clean, other = self.factors()
        return card_seconds * (recall * clean + (1.0 - recall) * other)
