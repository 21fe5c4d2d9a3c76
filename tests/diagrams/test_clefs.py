"""Clefs on staff paper: which one an instrument reads, and where it stands."""

import pytest

from drills.diagrams.clefs import CLEFS, OCTAVES_UP, clef, clef_of, place_on_staff, signature_places
from drills.diagrams.picture import MusicSign
from drills.diagrams.staff_signs import SIGNS, staff_sign, staff_sign_wide
from drills.lines.notation import signature_letters
from drills.neck.tuning import read_tunings
from drills.paper.empty import empty_page
from drills.paper.page_style import PageStyle
from drills.theory.key import parse_key
from drills.theory.note import Pitch
from tests.tunes.staff_reading import ink

LINES = tuple(100.0 + 6 * number for number in range(5))


def test_each_instrument_reads_its_own_clef():
    """Guitars a G clef an octave up, basses an F clef, ukuleles and mandolins a G clef at pitch (common practice)."""
    read = {name: clef_of(named.tuning) for name, named in read_tunings().items()}
    assert {name for name, found in read.items() if found == "F"} == {name for name in read if "bass" in name}
    assert {name for name, found in read.items() if found == "G"} == {
        name for name in read if name.startswith(("ukulele", "mandolin"))
    }
    assert read["standard"] == read["seven-low-a"] == "G8"


@pytest.mark.parametrize("name", CLEFS)
def test_a_clef_stands_around_the_line_it_names(name):
    """The G clef reaches over the staff and under it around the second line from below, the F clef hangs from the top
    line with its dots around the second from above; its ink begins right of the staff's edge."""
    left, top, right, bottom = ink(clef(name, 50.0, LINES, 6.0))
    assert left > 50.0 and right < 50.0 + 4 * 6
    if name == "F":
        assert LINES[0] - 6 < top < LINES[0] + 1 and LINES[3] - 3 < bottom < LINES[4]
    else:
        assert LINES[0] - 12 < top < LINES[0] and LINES[4] < bottom < LINES[4] + (24 if name == "G8" else 12)


@pytest.mark.parametrize("name", sorted(SIGNS))
def test_a_sign_is_as_wide_as_the_font_draws_it(name):
    """Ink begins where asked and is as wide as told, by the outline of the font itself."""
    left, top, right, bottom = ink(staff_sign(name, 10.0, 20.0, 5.0))
    assert left == pytest.approx(10.0, abs=0.02)
    assert right - left == pytest.approx(staff_sign_wide(name, 5.0), abs=0.02)
    if name.endswith(("head", "natural", "sharp")):
        assert (top + bottom) / 2 == pytest.approx(20.0, abs=0.1)


@pytest.mark.parametrize(
    ("key", "clef_name", "heights"),
    [
        ("A", "G8", ["F5", "C5", "G5"]),
        ("E", "F", ["F3", "C3", "G3", "D3"]),
        ("Eb", "G", ["B4", "E5", "A4"]),
        ("Ab", "F", ["B2", "E3", "A2", "D3"]),
    ],
)
def test_a_key_signature_stands_where_it_is_written(key, clef_name, heights):
    """Order and octave of its signs under both clefs (common practice), as written pitches."""
    found = parse_key(key)
    places = signature_places(signature_letters(found), found.signature > 0, clef_name)
    sounding = "G" if clef_name == "G8" else clef_name
    down = 7 * OCTAVES_UP[sounding]
    assert [place + down for place in places] == [place_on_staff(Pitch.parse(height), sounding) for height in heights]


def test_another_clef_is_refused_and_every_staff_has_one():
    """A clef that is not drawn here is named with those that are; each staff of a page begins with its clef."""
    with pytest.raises(ValueError, match="expected one of G, G8, F, got 'C'"):
        clef("C", 0.0, LINES, 6.0)
    for name, text in (("F", "\U0001d122"), ("G8", "\U0001d120")):
        page = empty_page("tab", PageStyle(), rows=4, strings=4, clef_name=name)
        assert [part.text for part in page.parts if isinstance(part, MusicSign)] == [text] * 4
