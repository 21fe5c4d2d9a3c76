"""Fingerings against the rules of the hand, and against trying every fingering.

The checker here is written from the rules alone (drills/RULES.md, C2, and common
practice): it knows nothing of the costs by which the fingerings were found.
"""

from itertools import combinations, pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.errors import NotPlayableError
from drills.neck.neck import Neck
from drills.neck.strings import StringSet
from drills.shapes.finder import ShapeFinder
from drills.shapes.fingering import line_cost, line_fingerings
from drills.shapes.form import Form
from drills.shapes.grip_fingering import grip_cost, grip_fingerings
from drills.shapes.hand import OUT_OF_REACH
from drills.theory.chord import Chord
from drills.theory.quality import shipped_qualities
from drills.theory.spelling import free_roots

NECK = Neck()
FINDER = ShapeFinder(NECK)
SETS = [StringSet(numbers) for numbers in ((6, 5, 4), (5, 4, 3), (4, 3, 2), (3, 2, 1))]
LINES = [Form(start=start, closed=closed) for start in range(4) for closed in (True, False)]

# ---- the rules, one note against another


def one_hand(first, second, adjacent):
    """Whether one hand position holds two notes, each (string, fret, finger), played in this order, within reach.

    One finger a fret, stretched by a fret at most between two fingers and by two between
    the first and the fourth; no crossing; one finger on two frets only when it opens or closes
    the hand by a fret with other notes between; on one fret across neighbouring strings it rolls.
    """
    (string, fret, finger), (other_string, other_fret, other_finger) = sorted((first, second), key=lambda note: note[2])
    if finger == other_finger:
        if fret == other_fret:
            return not adjacent or abs(string - other_string) <= 1
        return not adjacent and abs(fret - other_fret) <= 1
    reach = NECK.reach_mm(fret, other_fret)
    if reach > NECK.reach_limit_mm or other_fret < fret or (other_fret == fret and string == other_string):
        return False
    spread = 2 if (finger, other_finger) == (1, 4) else 1
    return other_fret - fret <= other_finger - finger + spread


def changes_of_position(shape):
    """How often the hand must move for a line as fingered: the fewest runs that one hand position holds, less one."""
    runs = []
    for note in shape.notes:
        if not note.fret:
            continue
        new = (note.string, note.fret, note.finger)
        if runs and all(one_hand(old, new, old is runs[-1][-1]) for old in runs[-1]):
            runs[-1].append(new)
        else:
            runs.append([new])
    return max(len(runs) - 1, 0)


def found(form, sets=SETS, finder=FINDER):
    """Every shape of a form on string sets, all qualities, twelve roots."""
    for quality in shipped_qualities():
        for root, strings in product(free_roots(quality), sets):
            try:
                yield finder.find(Chord(root, quality), form, strings)
            except NotPlayableError as error:
                assert str(error)


def assert_few_changes(shape, within_reach):
    """Asserts how often the hand moves at most: within its reach so often, in a five-fret form at the nut thrice."""
    if shape.reach_mm <= NECK.reach_limit_mm:
        assert changes_of_position(shape) <= within_reach, shape
    else:
        assert changes_of_position(shape) <= 3 and shape.lowest_fret <= 1, shape


@pytest.mark.parametrize("form", LINES, ids=str)
def test_a_line_within_reach_lies_under_one_hand_position(form):
    """An arpeggio within the hand's reach is fingered without a change of position."""
    seen = 0
    for shape in found(form):
        assert_few_changes(shape, 0)
        seen += 1
    assert seen > 350


def test_a_scale_takes_one_change_of_position_at_most():
    """Within reach, the usual modes over the same strings take one change of position at most."""
    modes = {mode for quality in shipped_qualities() for mode in quality.modes}
    seen = 0
    for mode in sorted(modes):
        for shape in found(Form("scale", mode=mode), SETS[:3]):
            assert_few_changes(shape, 1)
            seen += 1
    assert seen > 1000


def test_two_octaves_take_one_change_of_position_at_most():
    """Within reach, two octaves over six strings take one change of position at most."""
    shapes = list(found(Form(octaves=2), [StringSet((6, 5, 4, 3, 2, 1))]))
    assert len(shapes) > 150
    for shape in shapes:
        assert_few_changes(shape, 1)


@pytest.mark.parametrize("form", [*LINES, Form(octaves=2)], ids=str)
def test_fingers_are_numbered_as_players_number_them(form):
    """Fretted notes take fingers 1 to 4 and open strings none, and the position is the first finger's fret."""
    sets = SETS if form.octaves == 1 else [StringSet((6, 5, 4, 3, 2, 1))]
    for shape in found(form, sets):
        assert all(note.finger in (1, 2, 3, 4) if note.fret else note.finger == 0 for note in shape.notes)
        first = [note.fret for note in shape.notes if note.finger == 1]
        assert shape.position == first[0] if first else 1 <= shape.position <= shape.highest_fret


# ---- grips: all fingers at once

GRIPS = [
    *((Form("grip", voicing="drop2", inversion=i), (4, 0)) for i in range(4)),
    *((Form("grip", voicing="drop3", inversion=i), (4, 1)) for i in range(4)),
    *((Form("grip", voicing="close", inversion=i), (3, 0)) for i in range(3)),
    (Form("grip", voicing="shell"), (3, 1)),
    (Form("grip", voicing="shell", inversion=1), (3, 0)),
]


def grip_sets(size, skipped):
    """Neighbouring strings, the one above the bass left out when `skipped`."""
    for bass in range(6, size + skipped - 1, -1):
        yield StringSet((bass, *range(bass - 1 - skipped, bass - size - skipped, -1)))


@pytest.mark.parametrize(("form", "kind"), GRIPS, ids=lambda value: str(value))
def test_a_grip_can_be_held(form, kind):
    """No fingers cross, none is on two frets, all notes are within reach, and a barre covers no lower note."""
    seen = 0
    for shape in found(form, list(grip_sets(*kind))):
        held = [note for note in shape.notes if note.fret]
        assert all(note.finger == 0 for note in shape.notes if not note.fret)
        for one, two in combinations(held, 2):
            assert NECK.reach_mm(one.fret, two.fret) <= NECK.reach_limit_mm
            if one.finger == two.finger:
                assert one.fret == two.fret
                between = [note for note in shape.notes if two.string < note.string < one.string]
                assert all(note.fret >= one.fret for note in between)
            else:
                low, high = sorted((one, two), key=lambda note: note.finger)
                assert 1 <= low.finger < high.finger <= 4
                assert low.fret <= high.fret
        seen += 1
    assert seen > 20


# ---- exactness: the search against trying everything

PLACES = st.lists(st.tuples(st.integers(1, 6), st.integers(0, 9)), min_size=1, max_size=5)


@settings(max_examples=150)
@given(PLACES, st.integers(1, 6))
def test_the_line_search_is_exact(places, count):
    """The search gives exactly the cheapest fingerings that trying all of them gives, ties by lower fingers first."""
    reachable = FINDER._within_reach
    choices = [(1, 2, 3, 4) if fret else (0,) for _, fret in places]
    every = ((line_cost(places, fingers, reachable), fingers) for fingers in product(*choices))
    expected = sorted((cost, fingers) for cost, fingers in every if cost < OUT_OF_REACH)
    assert line_fingerings(places, count, reachable) == expected[:count]


@settings(max_examples=150)
@given(
    st.lists(st.integers(1, 6), min_size=1, max_size=5, unique=True).map(lambda strings: sorted(strings, reverse=True)),
    st.data(),
)
def test_the_grip_search_is_exact(strings, data):
    """A grip's fingerings are all that can be held, cheapest first, open strings without a finger."""
    places = [(string, data.draw(st.integers(0, 7))) for string in strings]
    every = product(*((1, 2, 3, 4) if fret else (0,) for _, fret in places))
    priced = ((grip_cost(places, fingers, FINDER._within_reach), fingers) for fingers in every)
    expected = sorted((cost, fingers) for cost, fingers in priced if cost is not None)
    assert grip_fingerings(places, 1000, FINDER._within_reach) == expected


def test_a_wrong_number_of_fingers_is_no_fingering():
    """A finger on an open string, or none on a fretted one, is no fingering of a line or a grip."""
    for places, fingers in (([(6, 0)], (1,)), ([(6, 3)], (0,)), ([(6, 3), (5, 0)], (1, 2))):
        assert line_cost(places, fingers) >= OUT_OF_REACH
        assert grip_cost(places, fingers) is None


# ---- what a teacher says of particular cases (rules C1 to C4; common practice)


@pytest.mark.parametrize(
    ("chord", "strings", "fingers", "position"),
    [
        ("Cmaj7", "654", (2, 1, 4, 3, 4), 7),
        ("C7", "654", (2, 1, 4, 2, 4), 7),
        ("Cm7", "654", (1, 4, 3, 1, 3), 8),
        ("Cm7b5", "654", (1, 4, 2, 1, 3), 8),
        ("F#m7", "543", (1, 4, 3, 1, 3), 9),
        ("Cdim7", "432", (1, 4, 2, 1, 4), 10),
    ],
)
def test_positions_and_fingers_of_known_cards(chord, strings, fingers, position):
    """Cmaj7 and C7 at fret 8 lie in position VII, Cm7 and Cm7b5 in VIII, fingered as a teacher does (rule C1)."""
    from drills.neck.strings import parse_strings
    from drills.theory.symbol import parse_chord

    shape = FINDER.find(parse_chord(chord), Form(), parse_strings(strings))
    assert (shape.fingers, shape.position) == (fingers, position)


def test_rolls_use_the_first_or_third_finger():
    """Where one finger takes two strings in a row, it is the first or third (rule C2)."""
    rolled = 0
    for shape in found(Form()):
        if shape.chord.quality.tier not in (1, 2):
            continue
        for one, two in pairwise(shape.notes):
            if one.finger and one.finger == two.finger and one.string != two.string:
                assert one.fret == two.fret and one.finger in (1, 3)
                assert shape.has_roll
                rolled += 1
    assert rolled > 15


@given(st.sampled_from(list(shipped_qualities())), st.integers(0, 11), st.sampled_from(SETS), st.sampled_from(LINES))
def test_alternates_are_other_fingerings_or_places_of_the_same_notes(quality, pitch_class, strings, form):
    """Each alternate differs from the usual shape and from the rest, and sounds the same degrees in the same order."""
    chord = Chord(free_roots(quality)[pitch_class], quality)
    try:
        usual = FINDER.find(chord, form, strings)
    except NotPlayableError:
        return
    others = FINDER.alternates(chord, form, strings)
    played = [tuple((note.string, note.fret, note.finger) for note in shape.notes) for shape in [usual, *others]]
    assert len(set(played)) == len(played)
    for shape in others:
        assert [note.degree for note in shape.notes] == [note.degree for note in usual.notes]
        assert [note.pitch.note for note in shape.notes] == [note.pitch.note for note in usual.notes]
        assert shape.variant in ("fingering", "layout", "open strings", "octave")
        assert (shape.frets == usual.frets and shape.signature == usual.signature) == (shape.variant == "fingering")
        assert all(0 <= fret <= NECK.highest for fret in shape.frets)
    same = [shape.cost for shape in others if shape.variant == "fingering"]
    assert same == sorted(same) and (not same or same[0] >= usual.cost)
