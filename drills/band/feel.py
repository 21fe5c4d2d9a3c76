"""The feel of a page: swing, ballad, straight or waltz, and how far the ride cymbal and a soloist swing at a tempo."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from drills.changes.changes import Changes
from drills.errors import TrackError
from drills.lines.rhythm import swings

__all__ = ["FEELS", "Feel", "feel_of", "ride_ratio", "solo_ratio", "swing_place"]

FEELS = ("swing", "ballad", "straight", "waltz")

BALLAD_BELOW_BPM = 76.0
"""A swung page slower than this is played as a ballad, with brushes and the bass in two (common practice)."""

_SLOW_BPM, _SLOW_RATIO = 120.0, 3.5
_FAST_BPM, _FAST_RATIO = 300.0, 1.0
_SOLO = ((90.0, 1.58), (135.0, 1.35), (165.0, 1.31), (195.0, 1.35), (225.0, 1.26), (260.0, 1.16), (300.0, 1.12))
"""Middle of each range of tempi, in beats a minute, and the median ratio of soloists' eighths there."""


@dataclass(frozen=True, slots=True)
class Feel:
    """How a band plays.

    name: one of `FEELS`. swing: where the second half of a beat falls in drums and comping, from 0.5 (straight) to
    0.8. two: whether the bass plays half notes.
    """

    name: str
    swing: float
    two: bool


def ride_ratio(tempo_bpm: float) -> float:
    """Long to short of a ride cymbal's eighths.

    About 3.5 to 1 at 120 quarters a minute and slower, even at 300, and linear between: Friberg and Sundström 2002,
    "Swing ratios and ensemble timing in jazz performance", Music Perception 19(3), doi 10.1525/mp.2002.19.3.333.
    """
    share = (tempo_bpm - _SLOW_BPM) / (_FAST_BPM - _SLOW_BPM)
    return _SLOW_RATIO + min(1.0, max(0.0, share)) * (_FAST_RATIO - _SLOW_RATIO)


def solo_ratio(tempo_bpm: float) -> float:
    """Long to short of a soloist's eighths: the median of 18,711 pairs in 347 transcribed solos, by tempo.

    Measured on the Weimar Jazz Database as packaged in github.com/klausfrieler/jazzodata; linear between the middles
    of its ranges of tempi. A soloist swings less than the cymbal, which Friberg and Sundström 2002 found too.
    """
    if tempo_bpm <= _SOLO[0][0]:
        return _SOLO[0][1]
    for (low, before), (high, after) in pairwise(_SOLO):
        if tempo_bpm <= high:
            return before + (tempo_bpm - low) / (high - low) * (after - before)
    return _SOLO[-1][1]


def swing_place(ratio: float) -> float:
    """Where the second half of a beat falls when long and short are in this ratio, 1 to 4; raises TrackError."""
    if not 1.0 <= ratio <= 4.0:
        raise TrackError(f"track, swing ratio: expected 1 (even) to 4, got {ratio!r}")
    return ratio / (1.0 + ratio)


def feel_of(
    changes: Changes, tempo_bpm: float, name: str | None = None, ratio: float | None = None, two: bool | None = None
) -> Feel:
    """How a band plays some changes.

    name: one of `FEELS`, or None for what the page says: straight where it says so or is counted in eighths, a waltz
    in three, a ballad where it is slow, swing otherwise. ratio: long to short of the eighths in place of what goes
    with the tempo. two: whether the bass plays in two, in place of what goes with the feel.
    Raises TrackError for an unknown feel or a ratio out of range.
    """
    if name is not None and name not in FEELS:
        raise TrackError(f"track, feel {name!r}: expected one of {', '.join(FEELS)}")
    if name is None:
        swung = changes.feel != "straight" and swings(changes, "swing")
        slow = "ballad" if tempo_bpm < BALLAD_BELOW_BPM else "swing"
        in_three = all(bar.metre.quarters == 3 for bar in changes.bars)
        name = "straight" if not swung else "waltz" if in_three else slow
    if name == "straight" or not swings(changes, "swing"):
        ride = 0.5 if ratio is None else swing_place(ratio)
    else:
        ride = swing_place(ride_ratio(tempo_bpm) if ratio is None else ratio)
    return Feel(name, ride, name in ("ballad", "straight") if two is None else two)
