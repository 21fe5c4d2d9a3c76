"""How many bars a page may have when its repeats are written out."""

import pytest

from drills.changes.changes import Metre, Section, Slot, WrittenBar
from drills.changes.playing_order import MOST_BARS, played_bars
from drills.errors import ChangesError

BAR = WrittenBar((Slot(1, 4, None, "N.C."),), Metre())


def test_as_many_bars_as_allowed_are_played_and_one_more_is_refused():
    """2,000 bars are played, numbered to the last; 2,001 are refused by name."""
    assert MOST_BARS == 2_000
    assert [bar.number for bar in played_bars((Section("", (BAR,) * 2_000),), ())][-1] == 2_000
    with pytest.raises(ChangesError, match="2,001 bars; expected at most 2,000"):
        played_bars((Section("", (BAR,) * 2_001),), ())
