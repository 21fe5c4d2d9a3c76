"""Sessions under signals, changing windows, clocks and zones, odd terminals and locales: a share of the storms."""

from __future__ import annotations

import os

import pytest

from tests.faults.storm import ENDS, drawn, weathered

SHARE = (3,)
"""One ended by a signal; `python -m tests.faults.storm` plays any number of them."""


@pytest.mark.long
@pytest.mark.skipif(os.name != "posix", reason="pseudo-terminals and signals")
@pytest.mark.parametrize("number", SHARE)
def test_a_storm_costs_no_grade(tmp_path, number):
    """The exit code is the documented one, the log is whole, and what the screen went on from is in it."""
    found, _ = weathered(drawn(13, number), tmp_path / "home")
    assert found == []


def test_the_storms_differ_and_end_in_every_way():
    """A number draws the same storm again; numbers next to each other end in all ways there are."""
    storms = [drawn(13, number) for number in range(len(ENDS))]
    assert {storm.end for storm in storms} == set(ENDS)
    assert storms == [drawn(13, number) for number in range(len(ENDS))]
    assert len({storm.environ for storm in storms}) > 1
