"""Any instrument, any settings, any form: a shape that sounds what it says, or a reason in one line."""

from hypothesis import given, settings
from hypothesis import strategies as st

from drills.errors import NotPlayableError
from drills.neck.neck import Neck
from drills.neck.strings import StringSet
from drills.neck.tuning import Tuning
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import GRIP_KINDS, Form
from drills.theory.interval import Interval
from drills.theory.mode import modes
from tests import strategies as own
from tests.examples import examples

OPEN = own.pitches(1).filter(lambda pitch: 20 <= pitch.midi <= 80)
TUNINGS = st.builds(Tuning, st.lists(OPEN, min_size=1, max_size=9).map(tuple)) | own.tunings().map(
    lambda row: row.tuning
)


@st.composite
def necks(draw):
    """Any instrument within the limits a neck allows, most settings as players have them."""
    top = draw(st.integers(1, 36))
    low = draw(st.integers(1, 12))
    return Neck(
        draw(TUNINGS),
        top_fret=top,
        root_frets=(low, draw(st.integers(low, 24))),
        open_roots=draw(st.booleans()),
        alternates=draw(st.booleans()),
        scale_mm=draw(st.floats(200, 1200)),
        capo=draw(st.integers(0, min(top - 1, 7))),
        reach_limit_mm=draw(st.floats(40, 300)),
    )


LINES = st.builds(
    Form, st.just("arpeggio"), st.integers(0, 3), st.integers(1, 2), closed=st.booleans(), down=st.booleans()
)
SCALES = st.builds(
    lambda mode, octaves, closed, down: Form("scale", 0, octaves, closed, down, mode),
    st.sampled_from(sorted(modes())), st.integers(1, 2), st.booleans(), st.booleans(),
)  # fmt: skip
GRIPS = st.builds(
    lambda voicing, inversion: Form("grip", voicing=voicing, inversion=inversion),
    st.sampled_from(GRIP_KINDS[:2]),
    st.integers(0, 3),
)
STRINGS = st.sets(st.integers(1, 9), min_size=1, max_size=6).map(
    lambda found: StringSet(tuple(sorted(found, reverse=True)))
)


def check(shape, neck):
    """Asserts that a shape is on its neck, sounds the chord it names, and rises or falls as its form says."""
    sounding = []
    for note in shape.notes:
        assert 0 <= note.fret <= neck.highest and (note.fret == 0) == (note.finger == 0)
        assert neck.tuning.midi(note.string, note.fret + neck.capo) == note.pitch.midi
        degree = Interval.from_degree({"8": "1", "15": "1"}.get(note.degree, note.degree))
        above = Interval(note.pitch.note.step - shape.chord.root.step, 0)
        assert above.steps % 7 == degree.steps % 7
        assert (note.pitch.midi - shape.chord.root.pitch_class - degree.semitones) % 12 == 0
        sounding.append(note.pitch.midi)
    assert sounding == sorted(set(sounding), reverse=shape.form.down)
    assert {note.string for note in shape.notes} == set(shape.strings.numbers)
    assert shape.reach_mm >= 0 and 1 <= shape.position <= 36


@settings(max_examples=examples(250, 1000))
@given(necks(), own.chords(), LINES | SCALES | GRIPS, STRINGS, st.data())
def test_any_shape_on_any_neck_is_right_or_refused_in_one_line(neck, chord, form, strings, data):
    """On any instrument a shape sounds what it says within the neck, or is refused in one line; alternates too."""
    if data.draw(st.booleans()):
        start = data.draw(st.integers(1, neck.tuning.strings))
        size = 6 if form.octaves == 2 else 4 if form.kind == "grip" else 3
        strings = StringSet(tuple(range(start, max(start - size, 0), -1)))
    finder = ShapeFinder(neck)
    try:
        shape = finder.find(chord, form, strings)
        others = finder.alternates(chord, form, strings, 2)
    except NotPlayableError as error:
        assert str(error).isprintable() and 10 < len(str(error)) < 400
        return
    for found in (shape, *others):
        check(found, neck)
