"""The stops and joints of a tune, and how often each occurs."""

from __future__ import annotations

import pytest
from hypothesis import given

from drills.neck.neck import Neck
from drills.tunes.material import path_material, tune_material
from drills.tunes.path import step_path
from drills.tunes.reading import parse_changes
from tests.strategies import progressions


def test_one_pass_counts_stops_and_joints_of_a_chorus() -> None:
    """The blues in F from string 5: a held chord is one stop, and each joint counts as often as it is played."""
    blues = parse_changes("F7 Bb7 F7 F7 Bb7 Bdim7 F7 D7 Gm7 C7 F7 C7")
    found = path_material((step_path(blues, Neck(), start=5, loop=True),))
    stops = {stop.name: weight for stop, weight in found.stops}
    joints = {joint.name: weight for joint, weight in found.joints}
    assert stops["F7 F(5/8)"] == 4 and stops["C7 C(4/10)"] == stops["C7 C(6/8)"] == 1
    assert joints["F7 F(5/8) - Bb7 Bb(4/8)"] == 2
    assert joints["C7 C(6/8) - F7 F(5/8)"] == 1, "the way back to the top is a joint too"
    assert sum(stops.values()) == sum(joints.values()) == 11


def test_passes_are_averaged() -> None:
    """Three passes of ii-V-I weigh a chorus once: three stops, and with the way back three joints."""
    found = tune_material(parse_changes("Cm7 F7 Bbmaj7"), Neck())
    assert sum(weight for _, weight in found.stops) == pytest.approx(3)
    assert sum(weight for _, weight in found.joints) == pytest.approx(3)
    assert {stop.string for stop, _ in found.stops} == {6, 5, 4}


@given(progressions(10))
def test_joints_meet_at_stops_of_the_tune(text: str) -> None:
    """Every joint begins and ends at a stop, moves somewhere, and the most frequent comes first."""
    found = tune_material(parse_changes(text), Neck())
    stops = {stop for stop, _ in found.stops}
    for joint, _ in found.joints:
        assert {joint.before, joint.after} <= stops and joint.before != joint.after
        strings, frets = joint.shift
        assert (joint.before.string - strings, joint.before.fret + frets) == (joint.after.string, joint.after.fret)
    for weights in ([w for _, w in found.stops], [w for _, w in found.joints]):
        assert weights == sorted(weights, reverse=True)
