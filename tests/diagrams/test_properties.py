"""Whatever the tuning, chord and width: what is drawn sounds what it says, and stays on the page."""

from hypothesis import assume, given
from hypothesis import strategies as st

from drills.diagrams.grid import grid_of
from drills.diagrams.grid_picture import grid_picture
from drills.diagrams.picture import Mark, Picture, Rect, Ring, Stroke, Words
from drills.diagrams.text import PLAIN, UNICODE, neck_lines
from drills.diagrams.typesetting import printed
from drills.errors import DrillsError
from drills.neck.neck import Neck
from drills.neck.strings import core_sets
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import Form
from drills.theory.interval import Interval, transpose_note
from drills.theory.note import Note
from tests import strategies as own
from tests.diagrams.reading import neck_places

GRIP = Form("grip", voicing="drop2")
FORMS = (Form(), Form(start=1, down=True), GRIP, Form("grip", voicing="drop2", inversion=2), Form(octaves=2))


def _shape(named, chord, form, pick):
    neck = Neck(tuning=named.tuning, scale_mm=named.scale_mm, top_fret=18, open_roots=True)
    sets = core_sets(named.tuning, 4 if form.kind == "grip" else 3)
    assume(sets)
    try:
        return neck, ShapeFinder(neck).find(chord, form, sets[pick % len(sets)])
    except DrillsError:
        assume(False)


@given(own.tunings(), own.chords(), st.sampled_from(FORMS), st.integers(0, 5), st.integers(40, 200), st.booleans())
def test_what_is_drawn_sounds_what_it_says(named, chord, form, pick, width, left_handed):
    """Read off the drawing, every place sounds the note and the degree written on it, in any tuning at any width."""
    neck, shape = _shape(named, chord, form, pick)
    strings = neck.tuning.strings
    for labels in ("notes", "degrees"):
        lines = neck_lines(grid_of(shape, strings, labels, left_handed), width, UNICODE)
        places = neck_places(lines)
        assert len(places) == len({(note.string, note.fret) for note in shape.notes})
        for string, fret, label, is_root in places:
            sounding = neck.tuning.midi(string, fret) % 12
            if labels == "notes":
                named_note = Note.parse(label)
            else:
                named_note = transpose_note(chord.root, Interval.from_degree(label))
            assert named_note.pitch_class == sounding
            assert is_root == (sounding == chord.root.pitch_class)


@given(own.tunings(), own.chords(), st.sampled_from(FORMS), st.integers(0, 5), st.integers(40, 200), st.booleans())
def test_a_drawing_keeps_within_its_width(named, chord, form, pick, width, left_handed):
    """No line of a neck is wider than the screen, and Unicode and plain drawings differ only in their glyphs."""
    neck, shape = _shape(named, chord, form, pick)
    grid = grid_of(shape, neck.tuning.strings, "degrees", left_handed)
    fine, plain = neck_lines(grid, width, UNICODE), neck_lines(grid, width, PLAIN)
    assert max(map(len, fine)) <= width
    assert "\n".join(plain).isascii()
    assert [line.translate(str.maketrans("║─│", "#-|")) for line in fine] == plain


@given(own.tunings(), own.chords(), st.sampled_from(FORMS), st.integers(0, 5), st.sampled_from(("neck", "box")))
def test_a_left_handed_picture_is_the_mirror_of_the_right_handed(named, chord, form, pick, orientation):
    """Mirrored, every mark keeps its string, fret and label, and lies the same way up on the other side."""
    neck, shape = _shape(named, chord, form, pick)
    pictures = [grid_picture(grid_of(shape, neck.tuning.strings, "notes", hand), orientation) for hand in (False, True)]
    spots = [
        {(m.string, m.fret, m.label): (m.parts[-1].x, m.parts[-1].y) for m in picture.parts if isinstance(m, Mark)}
        for picture in pictures
    ]
    assert spots[0].keys() == spots[1].keys()
    sums = [spots[0][place][0] + spots[1][place][0] for place in spots[0]]
    assert max(sums) - min(sums) < 0.01
    assert all(abs(spots[0][place][1] - spots[1][place][1]) < 0.01 for place in spots[0])


def _ends(part):
    match part:
        case Stroke():
            return [(part.x1, part.y1), (part.x2, part.y2)]
        case Rect():
            return [(part.x, part.y), (part.x + part.wide, part.y + part.high)]
        case Ring():
            return [(part.x - part.radius, part.y - part.radius), (part.x + part.radius, part.y + part.radius)]
        case Words():
            return [(part.x, part.y - part.size * 0.75), (part.x, part.y)]
        case _:
            return [end for inner in part.parts for end in _ends(inner)]


@given(own.tunings(), own.chords(), st.sampled_from(FORMS), st.integers(0, 5), st.sampled_from(("neck", "box")))
def test_nothing_of_a_picture_lies_outside_it(named, chord, form, pick, orientation):
    """Every part of a picture lies on its own area, so that pages can be put together from them."""
    neck, shape = _shape(named, chord, form, pick)
    picture: Picture = grid_picture(grid_of(shape, neck.tuning.strings), orientation)
    for part in picture.parts:
        for x, y in _ends(part):
            assert 0 <= x <= picture.wide
            assert 0 <= y <= picture.high


@given(own.chords())
def test_printed_names_keep_every_sign_and_lose_every_letter_b(chord):
    """Printed, a chord's accidentals are as many as before, as signs; nothing else changes."""
    name = chord.name
    flats = (name[1:] if name[0] == "B" else name).count("b")
    text = printed(name)
    assert text.count("♭") == flats
    assert text.count("♯") == name.count("#")
    assert text.replace("♭", "b").replace("♯", "#") == name
    assert [printed(label) for label in ("b3", "bb7", "#5", "1", "F##", "B", "Ebb", "ii of Bb")] == [
        "♭3", "♭♭7", "♯5", "1", "F×", "B", "E♭♭", "ii of B♭",
    ]  # fmt: skip
