"""A count of first tries, clean n of m, and what it is compatible with: intervals for a proportion and for a deck."""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = ["FEWEST_TRIES", "Z95", "Count", "sample_range", "wilson"]

FEWEST_TRIES = 5
"""Under so many tries a rate says nothing: 3 of 4 is compatible with anything from 30 % to 95 %."""

Z95 = 1.959963984540054
"""Two-sided 95 % quantile of the normal distribution."""


def wilson(clean: int, tries: int, z: float = Z95) -> tuple[float, float]:
    """The score interval of a proportion, each bound 0 to 1.

    E. B. Wilson (1927), "Probable inference, the law of succession, and
    statistical inference", JASA 22, 209-212. Raises ValueError unless
    0 <= clean <= tries and tries > 0.
    """
    if not 0 <= clean <= tries or tries == 0:
        raise ValueError(f"wilson: expected 0 <= clean <= tries with tries above 0, got {clean} of {tries}")
    p, n = clean / tries, tries
    centre = (p + z * z / (2 * n)) / (1 + z * z / n)
    half = z / (1 + z * z / n) * math.sqrt(p * (1 - p) / n + z * z / (4 * n * n))
    # At either end the bound is exact and only rounding would miss it.
    return (0.0 if clean == 0 else centre - half), (1.0 if clean == tries else centre + half)


def sample_range(clean: int, tries: int, whole: int) -> tuple[int, int]:
    """How many of `whole` cards are clean, given `clean` of `tries` drawn at random from them.

    Wilson's 95 % interval times the deck, to the nearest card, and never
    outside what the draw itself proves: at least the clean ones seen, at most
    all but the misses seen. 17 of 20 from 144 gives 92 to 136.

    Drawing without putting back only narrows what is possible, so for the
    draw this is made for (20 of 144) the interval holds for at least .94 of
    draws whatever the truth and .97 on average, computed from the
    hypergeometric distribution; an exact one (Clopper and Pearson's way) would
    say 92 to 138 here. When the whole deck was drawn the answer is the count.

    Raises ValueError unless 0 <= clean <= tries <= whole and tries > 0.
    """
    if not 0 <= clean <= tries <= whole or tries == 0:
        raise ValueError(
            f"sample_range: expected 0 <= clean <= tries <= whole with tries above 0, got {clean} of {tries} of {whole}"
        )
    low, high = wilson(clean, tries)
    return max(clean, round(low * whole)), min(whole - (tries - clean), round(high * whole))


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
