"""The planned path against every path there is, and against an independent shortest-path library."""

from __future__ import annotations

from itertools import pairwise, product
from random import Random

import networkx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.changes.changes_reading import parse_changes
from drills.errors import PathError
from drills.harmony.planned_path import MEASURES, planned_path
from drills.harmony.root_path import step_path
from drills.neck.neck import Neck
from drills.shapes.root_places import HandPosition
from tests.strategies import USUAL_ROOTS, progressions

STRINGS = (6, 5, 4)


def places_of(neck: Neck, chord, strings=STRINGS) -> list[tuple[int, int]]:
    """Every (string, fret) of a root in the window, from pitches alone."""
    low, high = neck.root_frets
    return [
        (string, fret)
        for string in strings
        for fret in range(low, high + 1)
        if neck.tuning.midi(string, fret) % 12 == chord.root.pitch_class
    ]


def measured(neck: Neck, measure: str, hand: HandPosition, chord, place, after, other) -> int:
    """One move in frets, frets of hand position, or micrometres by L (1 - 2^(-n/12))."""
    if measure == "frets":
        return abs(place[1] - other[1])
    if measure == "position":
        return abs(hand(chord, *place) - hand(after, *other))
    nut = [neck.scale_mm * (1 - 2 ** (-fret / 12)) for fret in (place[1], other[1])]
    return round(1000 * abs(nut[0] - nut[1]))


def cost_of(neck, measure, hand, chords, line, loop) -> int:
    """Total of a line of places."""
    moves = list(pairwise(zip(chords, line, strict=True)))
    if loop:
        moves.append(((chords[-1], line[-1]), (chords[0], line[0])))
    return sum(measured(neck, measure, hand, *before, *after) for before, after in moves)


def stays(chords, line) -> bool:
    """Whether every repeated chord stays in its place."""
    return all(
        place == other
        for (chord, place), (after, other) in pairwise(zip(chords, line, strict=True))
        if chord.root.pitch_class == after.root.pitch_class and chord.quality == after.quality
    )


NECKS = [Neck(), Neck(top_fret=22, root_frets=(3, 15)), Neck(root_frets=(1, 8), scale_mm=628.0)]


@settings(max_examples=120)
@given(
    progressions(7),
    st.sampled_from(NECKS),
    st.sampled_from(sorted(MEASURES)),
    st.booleans(),
    st.sampled_from((None, 6, 5, 4)),
)
def test_a_planned_path_costs_what_the_best_of_all_paths_costs(text, neck, measure, loop, start) -> None:
    """Up to seven chords, every line of places is tried: none is cheaper, for each measure, loop and start."""
    changes = parse_changes(text)
    chords = [slot.chord for _, slot in changes.slots]
    hand = HandPosition(neck)
    options = [places_of(neck, chord) for chord in chords]
    if start is not None:
        options[0] = [place for place in options[0] if place[0] == start][:1]
    if not all(options):
        with pytest.raises(PathError):
            planned_path(changes, neck, start=start, measure=measure, loop=loop)
        return
    least = min(cost_of(neck, measure, hand, chords, line, loop) for line in product(*options) if stays(chords, line))
    path = planned_path(changes, neck, start=start, measure=measure, loop=loop)
    line = [(step.string, step.fret) for step in path.steps]
    assert stays(chords, line)
    assert cost_of(neck, measure, hand, chords, line, loop) == least


def long_progression(seed: int, count: int) -> str:
    """Random chords of the first four qualities, one bar each."""
    rng = Random(seed)
    return " ".join(rng.choice(USUAL_ROOTS) + rng.choice(("maj7", "m7", "7", "m7b5")) for _ in range(count))


@pytest.mark.parametrize("measure", sorted(MEASURES))
@pytest.mark.parametrize("loop", [False, True])
def test_long_plans_equal_the_shortest_path_of_networkx(measure: str, loop: bool) -> None:
    """Over 150 chords the total equals Dijkstra's on the layered graph, looped or not."""
    neck, hand = Neck(), HandPosition(Neck())
    changes = parse_changes(long_progression(7, 150))
    chords = [slot.chord for _, slot in changes.slots]
    layers = [places_of(neck, chord) for chord in chords]
    graph = networkx.DiGraph()
    for index, (chord, after) in enumerate(pairwise(chords)):
        same = chord.root.pitch_class == after.root.pitch_class and chord.quality == after.quality
        for place, other in product(layers[index], layers[index + 1]):
            if not same or place == other:
                weight = measured(neck, measure, hand, chord, place, after, other)
                graph.add_edge((index, place), (index + 1, other), weight=weight)
    totals = []
    for first in layers[0]:
        reached = networkx.single_source_dijkstra_path_length(graph, (0, first))
        for last in layers[-1]:
            if (len(chords) - 1, last) in reached:
                back = measured(neck, measure, hand, chords[-1], last, chords[0], first) if loop else 0
                totals.append(reached[len(chords) - 1, last] + back)
    path = planned_path(changes, neck, measure=measure, loop=loop)
    line = [(step.string, step.fret) for step in path.steps]
    assert cost_of(neck, measure, hand, chords, line, loop) == min(totals)


@given(progressions(12), st.sampled_from(STRINGS))
def test_planning_never_moves_further_than_stepping(text: str, start: int) -> None:
    """From one start the planned total is at most the step-by-step total."""
    changes = parse_changes(text)
    assert planned_path(changes, Neck(), start=start).total_frets <= step_path(changes, Neck(), start=start).total_frets


def test_a_loop_may_choose_another_line_than_a_single_pass() -> None:
    """Closing the loop is part of what is made least: somewhere it pays to leave the best open line."""
    gains = 0
    for seed in range(30):
        changes = parse_changes(long_progression(seed, 6))
        open_path, loop = (planned_path(changes, Neck(), loop=closed) for closed in (False, True))
        back = abs(open_path.steps[-1].fret - open_path.steps[0].fret)
        assert loop.total_frets <= open_path.total_frets + back
        gains += loop.total_frets < open_path.total_frets + back
    assert gains > 0


def test_an_unknown_measure_is_refused_with_the_known_ones() -> None:
    """The message lists the measures there are."""
    with pytest.raises(PathError, match="frets, position, mm"):
        planned_path(parse_changes("C7"), Neck(), measure="inches")
