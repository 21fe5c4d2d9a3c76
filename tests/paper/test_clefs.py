"""Clefs on staff paper: which one an instrument reads, and where it stands."""

import pytest

from drills.diagrams.picture import Ring, Stroke, Words
from drills.neck.tuning import read_tunings
from drills.paper.clefs import CLEFS, clef, clef_of
from drills.paper.empty import empty_page
from drills.paper.page_style import PageStyle
from tests.paper.pages import bounds

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
    """The G clef's curl is around the second line from below, the F clef's dots are around the second from above; the
    pen's way is unbroken and the clef stays within four gaps of the staff."""
    parts = clef(name, 50.0, LINES, 6.0)
    strokes = [part for part in parts if isinstance(part, Stroke)]
    assert all((a.x2, a.y2) == (b.x1, b.y1) for a, b in zip(strokes, strokes[1:], strict=False))
    named = LINES[1] if name == "F" else LINES[3]
    rings = [part for part in parts if isinstance(part, Ring)]
    if name == "F":
        assert sorted(ring.y - named for ring in rings) == pytest.approx([-3.0, 0.0, 3.0])
    else:
        assert min(((s.x1 - 59.6) ** 2 + (s.y1 - named) ** 2) ** 0.5 for s in strokes) < 6.0
        assert min(s.y1 for s in strokes) < LINES[0] and max(s.y1 for s in strokes) > LINES[4]
    assert [part.text for part in parts if isinstance(part, Words)] == ["8"] * (name == "G8")
    for left, top, right, bottom in map(bounds, parts):
        assert left >= 50.0 and right <= 50.0 + 4 * 6 and top > LINES[0] - 12 and bottom < LINES[4] + 24


def test_another_clef_is_refused_and_every_staff_has_one():
    """A clef that is not drawn here is named with those that are; each staff of a page begins with its clef."""
    with pytest.raises(ValueError, match="expected one of G, G8, F, got 'C'"):
        clef("C", 0.0, LINES, 6.0)
    page = empty_page("tab", PageStyle(), rows=4, strings=4, clef_name="F")
    assert sum(isinstance(part, Ring) for part in page.parts) == 4 * 3
    assert [p.text for p in empty_page("tab", PageStyle(), rows=4).parts if isinstance(p, Words)].count("8") == 4
