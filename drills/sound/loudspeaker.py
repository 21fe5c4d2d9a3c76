"""What a guitar's loudspeaker lets through: from the pitch of its low strings to where a hiss would begin.

An electric guitar is heard through a loudspeaker of its own, usually of twelve inches, which carries about 75 Hz to
5 kHz (Wikipedia, "Guitar speaker"; an adviser's column in Premier Guitar, "Optimizing Mids and Highs", has it end at
4 to 5 kHz, with a hump at 2 kHz that is left out here, since no figures are given). Both edges are Butterworth filters,
of the second order below and of the fourth above; how steeply it ends is common practice, no source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from typing import Any

    from numpy.typing import NDArray

    from drills.sound.envelope import Samples

__all__ = ["LOWEST_HZ", "TOP_HZ", "loudspeaker"]

LOWEST_HZ, TOP_HZ = 75.0, 5000.0
"""Where a guitar's loudspeaker has fallen by 3 dB, below and above."""

# Damping of the two second-order sections of a Butterworth filter of the fourth order: 2 sin(pi/8), 2 sin(3 pi/8).
_SECTIONS = (0.765_366_864_730_18, 1.847_759_065_022_57)
_ONE_SECTION = 2**0.5


def loudspeaker(hz: Samples) -> NDArray[Any]:
    """Return what becomes of partials at these frequencies, above 0: complex gains, 1 in the middle of the range.

    The string, its loop and the loudspeaker are linear, so a pluck may pass through the loudspeaker before it goes
    round the string. So a note costs no more with one than without, and a page in a browser needs none of its own.
    """
    below, above = 1j * hz / LOWEST_HZ, 1j * hz / TOP_HZ
    gain: NDArray[Any] = below**2 / (below**2 + _ONE_SECTION * below + 1)
    for damping in _SECTIONS:
        gain = gain / (above**2 + damping * above + 1)
    return gain
