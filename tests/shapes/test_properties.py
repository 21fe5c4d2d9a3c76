"""What holds for every shape: it sounds what it says, keeps its intervals, and a hand can play it."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.errors import NotPlayableError
from drills.neck.neck import Neck
from drills.neck.strings import StringSet
from drills.neck.tuning import read_tunings
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import GRIP_KINDS, Form
from drills.theory.chord import Chord
from drills.theory.interval import Interval
from drills.theory.note import Note
from drills.theory.quality import shipped_qualities
from drills.theory.spelling import free_roots

FINDERS = {name: ShapeFinder(Neck(tuning=row.tuning, scale_mm=row.scale_mm)) for name, row in read_tunings().items()}
QUALITIES = tuple(shipped_qualities())
LINES = [
    *(Form(start=s, closed=closed, down=down) for s in range(4) for closed in (True, False) for down in (True, False)),
    Form(octaves=2),
]
RISING = [form for form in LINES if form.octaves == 1 and not form.down]
VOICINGS = [
    Form("grip", voicing=kind, inversion=i) for kind in GRIP_KINDS for i in range(4) if i < 2 or kind != "shell"
]


def sets_of(strings: int, size: int) -> list[StringSet]:
    """Every set of so many neighbouring strings."""
    return [StringSet(tuple(range(first, first - size, -1))) for first in range(strings, size - 1, -1)]


def new_sets(tuning: str, size: int) -> list[StringSet]:
    """Neighbouring strings of a tuning that no tuning listed earlier has, on a neck as long."""

    def sounding(finder, on):
        return finder.neck.scale_mm, tuple(finder.tuning.midi(number, 0) for number in on.numbers)

    earlier = list(FINDERS.values())[: list(FINDERS).index(tuning)]
    known = {sounding(finder, on) for finder in earlier for on in sets_of(finder.tuning.strings, size)}
    finder = FINDERS[tuning]
    return [on for on in sets_of(finder.tuning.strings, size) if sounding(finder, on) not in known]


def line_playable(shape, neck) -> str:
    """Why a hand cannot play a line as fingered, or "": written from rules C2 alone, apart from the search.

    Between shifts every finger stays within a hand of four frets stretched by at most one
    outward (two with both ends), fingers never cross, no finger hops to another fret.
    """
    fretted = [note for note in shape.notes if note.fret]
    for note in shape.notes:
        if (note.fret == 0) != (note.finger == 0) or note.finger not in range(5):
            return f"finger {note.finger} at fret {note.fret}"
    for a, b in pairwise(fretted):
        hand_moves = a.finger == b.finger and a.fret != b.fret
        if a.finger < b.finger and b.fret < a.fret and a.fret - b.fret > 4:
            return "fingers cross"
        natural = (b.fret - a.fret) - (b.finger - a.finger)
        # A change of the hand's place by more than two frets at once is a shift; never more than a position.
        if abs(natural) > 7 or (hand_moves and abs(natural) > 7):
            return "a jump"
        together = a.finger != b.finger and abs(natural) <= 2
        if together and neck.reach_mm(a.fret, b.fret) > neck.reach_limit_mm and abs(natural) == 0:
            return "out of reach"
    return ""


def grip_playable(shape, neck) -> str:
    """Why a grip cannot be held, or ""."""
    held = [note for note in shape.notes if note.fret]
    for a in held:
        for b in held:
            if a.finger < b.finger and a.fret > b.fret:
                return "fingers cross"
            if a.finger == b.finger and a.fret != b.fret:
                return "one finger at two frets"
            if 0 < b.finger - a.finger < 3 and b.fret - a.fret > b.finger - a.finger + 1:
                return "neighbouring fingers too far apart"
            if neck.reach_mm(a.fret, b.fret) > neck.reach_limit_mm:
                return "out of reach"
    for finger in {note.finger for note in held}:
        strings = [note.string for note in held if note.finger == finger]
        fret = next(note.fret for note in held if note.finger == finger)
        for note in shape.notes:
            if min(strings) < note.string < max(strings) and note.fret < fret:
                return "a barre over a lower note"
    return ""


def check(shape, finder):
    for note in shape.notes:
        assert finder.tuning.midi(note.string, note.fret) == note.pitch.midi, "it sounds what it says"
        assert 0 <= note.fret <= finder.neck.highest
    root = shape.chord.root
    for note in shape.notes:
        degree = Interval.from_degree({"8": "1", "15": "1"}.get(note.degree, note.degree))
        assert (root.semitones + degree.semitones) % 12 == note.pitch.note.pitch_class
        assert (root.step + degree.steps) % 7 == note.pitch.note.step, "spelled by letters"
    playable = grip_playable if shape.form.kind == "grip" else line_playable
    assert playable(shape, finder.neck) == ""


@pytest.mark.long
@pytest.mark.parametrize("tuning", list(FINDERS))
def test_every_generated_shape_sounds_what_it_says(tuning):
    """Every quality, root and rising form on every set of neighbouring strings of every shipped tuning.

    A set that an earlier tuning has is not tried twice; down is up backwards, which has its own test.
    """
    finder = FINDERS[tuning]
    threes, fours = new_sets(tuning, 3), new_sets(tuning, 4)
    made = 0
    for quality in QUALITIES:
        scales = [Form("scale", mode=mode) for mode in quality.modes]
        for root in free_roots(quality):
            chord = Chord(root, quality)
            wanted = [(form, s) for form in (*RISING, *scales) for s in threes]
            wanted += [(form, s) for form in VOICINGS for s in (fours if form.voicing.startswith("drop") else threes)]
            for form, on in wanted:
                try:
                    shape = finder.find(chord, form, on)
                except NotPlayableError as error:
                    assert str(error)
                    continue
                check(shape, finder)
                made += 1
    assert made > 500 * (len(threes) + len(fours)) / (10 if tuning in ("ukulele", "mandolin") else 1)


@given(
    quality=st.sampled_from(QUALITIES), form=st.sampled_from(LINES + VOICINGS), tuning=st.sampled_from(list(FINDERS)),
    pitch_class=st.integers(0, 11), other=st.integers(0, 11), data=st.data(),
)  # fmt: skip
def test_transposition_keeps_the_shape(quality, form, tuning, pitch_class, other, data):
    """On another root the intervals, the signature and (closed, in easy reach) the fingers are the same."""
    finder = FINDERS[tuning]
    size = 6 if form.octaves == 2 else 4 if form.voicing.startswith("drop") else 3
    sets = sets_of(finder.tuning.strings, size)
    if not sets:
        return
    on = data.draw(st.sampled_from(sets))
    roots = free_roots(quality)
    try:
        one = finder.find(Chord(roots[pitch_class], quality), form, on)
        two = finder.find(Chord(roots[other], quality), form, on)
    except NotPlayableError:
        return
    steps = [[n.pitch.midi - s.notes[0].pitch.midi for n in s.notes] for s in (one, two)]
    assert steps[0] == steps[1]
    assert [n.degree for n in one.notes] == [n.degree for n in two.notes]
    if one.signature == two.signature and 0 not in one.fingers + two.fingers:
        if max(one.reach_mm, two.reach_mm) <= finder.neck.reach_limit_mm:
            assert one.fingers == two.fingers


@given(quality=st.sampled_from(QUALITIES), pitch_class=st.integers(0, 11), first=st.sampled_from([6, 5, 4, 3]))
def test_down_is_up_backwards(quality, pitch_class, first):
    """The same places and fingers, played from the top (C2, rule 6)."""
    finder = FINDERS["standard"]
    chord, on = Chord(free_roots(quality)[pitch_class], quality), StringSet((first, first - 1, first - 2))
    try:
        up = finder.find(chord, Form(), on)
    except NotPlayableError:
        return
    down = finder.find(chord, Form(down=True), on)
    assert down.notes == up.notes[::-1]


@given(quality=st.sampled_from(QUALITIES), pitch_class=st.integers(0, 11), form=st.sampled_from(LINES[:4]))
def test_root_lowest(quality, pitch_class, form):
    """G28: a root-position arpeggio has its root as lowest note on the lowest string of its set."""
    finder = FINDERS["standard"]
    try:
        shape = finder.find(Chord(free_roots(quality)[pitch_class], quality), Form(), StringSet((5, 4, 3)))
    except NotPlayableError:
        return
    lowest = min(shape.notes, key=lambda note: note.pitch.midi)
    assert lowest.degree == "1"
    assert lowest.string == 5


def test_low_roots_on_other_instruments():
    """C7: a seven-string's 7-6-5 is one more set like 6-5-4; a bass's 4-3-2 is the guitar's 6-5-4."""
    maj7 = shipped_qualities().named("maj7")
    chord = Chord(Note.parse("C"), maj7)
    guitar = FINDERS["standard"].find(chord, Form(), StringSet((6, 5, 4)))
    bass = FINDERS["bass"].find(chord, Form(), StringSet((4, 3, 2)))
    seven = FINDERS["seven-low-b"].find(chord, Form(), StringSet((7, 6, 5)))
    assert guitar.signature == bass.signature == seven.signature
