"""`neckwork handout` and the files of `neckwork shape`: every layout, every format, refusals in a line."""

from __future__ import annotations

import zipfile
from datetime import UTC, datetime
from xml.etree import ElementTree

import mido
import pytest
from pypdf import PdfReader

from scheduler.log.review_log import ReviewLog


@pytest.mark.parametrize(
    ("args", "pages", "said"),
    [
        (("sets", "--quality", "m7b5"), 1, "m7♭5 on 3 string sets"),
        (("set", "--strings", "543", "--answers", "both"), 2, "4 qualities on 5-4-3"),
        (("key", "--key", "Eb"), 3, "E♭ major on 6-5-4"),
        (("overview", "--key", "Gb", "--paper", "Letter"), 1, "The key of G♭ major"),
        (("place", "Dm7", "G7", "Cmaj7", "--strings", "543"), 1, "D Dorian"),
        (("neck", "Bb7", "--large"), 1, "B♭7 on the whole neck"),
        (("deck", "--deck", "set-543", "--teacher", "Teacher 1"), 4, "fingerings: Teacher 1"),
    ],
)
def test_every_layout_prints(neckwork, tmp_path, args, pages, said):
    """Each layout comes out as a PDF of the pages expected, saying what it should."""
    path = tmp_path / "page.pdf"
    ran = neckwork("handout", *args, "-o", str(path))
    assert ran.code == 0, ran.err
    assert "diagram" in ran.err
    read = PdfReader(path).pages
    assert len(read) == pages
    assert said in "\n".join(page.extract_text() for page in read)


@pytest.mark.parametrize(
    ("args", "titles"),
    [
        (("sets", "--quality", "m7", "--form", "scale"), ["m7 on 3 string sets, scale"]),
        (("sets", "--form", "grip-drop2"), ["maj7 on 3 string sets, drop 2 grip, root in the bass"]),
        (("set", "--strings", "543", "--form", "arpeggio-from3,arpeggio-down"),
         ["4 qualities on 5-4-3, arpeggio from the 3rd", "4 qualities on 5-4-3, arpeggio, downward"]),
        (("key", "--key", "F", "--form", "scale-three-per-string"), ["F major on 6-5-4-3-2-1, scale"]),
        (("deck", "--deck", "grips-drop2", "--root", "C"), ["Drop 2 grips: maj7", "Drop 2 grips: m7"]),
        (("deck", "--deck", "pentatonics", "--root", "C"), ["Pentatonics in five positions: Scales"]),
    ],
)  # fmt: skip
def test_other_forms_are_printed_on_their_own_strings(neckwork, args, titles):
    """Scales, grips and starts on other tones are what is printed when asked for, each on the strings it needs."""
    ran = neckwork("handout", *args)
    assert ran.code == 0, ran.err
    found = [line for line in ran.out.splitlines() if line in titles]
    assert found == titles


def test_a_teachers_title_note_and_marks_are_printed_or_refused(neckwork, tmp_path):
    """Title and note stand on the page; a mark where no note is, an unread one, and empty paper are refused."""
    path = tmp_path / "page.pdf"
    words = ("--title", "Monday", "--note", "Say the notes aloud.")
    asked = ("sets", "--root", "C", *words, "--mark", "6/8", "--mark", "6/8-5/10")
    assert neckwork("handout", *asked, "-o", str(path)).code == 0
    read = PdfReader(path)
    text = read.pages[0].extract_text()
    assert "Monday" in text and "Say the notes aloud." in text and "on 3 string sets" not in text
    assert read.metadata.title == "Monday"
    assert "Say the notes aloud." in neckwork("handout", *asked).out
    ran = neckwork("handout", "sets", "--root", "C", "--mark", "1/1")
    assert ran.code == 2 and "no diagram of this page has a note on string 1 at fret 1" in ran.err
    ran = neckwork("handout", "sets", "--mark", "6-8")
    assert ran.code == 2 and "expected string/fret such as 6/8" in ran.err
    ran = neckwork("handout", "tab", *words, "-o", str(path))
    assert ran.code == 2 and "tab has no room for them" in ran.err


@pytest.mark.parametrize("kind", ["boxes", "necks", "tab", "bars"])
@pytest.mark.parametrize("ending", ["pdf", "svg"])
def test_empty_paper_prints(neckwork, tmp_path, kind, ending):
    """Each kind of empty paper goes to a PDF or an SVG."""
    path = tmp_path / f"empty.{ending}"
    assert neckwork("handout", kind, "--rows", "3", "-o", str(path)).code == 0
    if ending == "svg":
        assert ElementTree.parse(path).getroot().tag.endswith("svg")
    else:
        assert len(PdfReader(path).pages) == 1


def test_a_handout_goes_to_text_svg_and_a_pack(neckwork, tmp_path):
    """Without a file it is read aloud on the screen; .svg pages are numbered; .zip holds the sounds."""
    spoken = neckwork("handout", "sets", "--quality", "m7", "--root", "C", "--strings", "654")
    assert "string 6 fret 8 C root" in spoken.out
    assert neckwork("handout", "key", "-o", str(tmp_path / "key.svg")).code == 0
    assert sorted(path.name for path in tmp_path.glob("*.svg")) == ["key-1.svg", "key-2.svg", "key-3.svg"]
    assert neckwork("handout", "place", "Cm7", "--strings", "543", "-o", str(tmp_path / "cm7.zip")).code == 0
    with zipfile.ZipFile(tmp_path / "cm7.zip") as archive:
        assert sum(name.endswith(".wav") for name in archive.namelist()) == 3


def test_the_weakest_are_of_the_players_own_log(neckwork, tmp_path):
    """Before anything is played there is nothing to print; then the card that was missed comes first."""
    from datetime import UTC, datetime, timedelta

    from drills.cards.deck import find_deck, read_deck
    from drills.cards.material import gather
    from drills.configuration.home import Home
    from drills.neck.neck import Neck
    from scheduler.grade import Grade
    from scheduler.log.review_log import ReviewLog
    from scheduler.review import Review

    empty = neckwork("handout", "weakest")
    assert empty.code == 1
    assert "no shape to print" in empty.err
    cards = gather(read_deck(find_deck("first", None)), Neck()).cards
    played = (("C/maj7/654", Grade.IN_TIME), ("C/m7/654", Grade.LOOKED), ("C/7/654", Grade.CLEAN))
    with ReviewLog(Home(tmp_path / "home").log) as log:
        for days in (9, 6, 3):
            for number, (card, grade) in enumerate(played):
                at = datetime.now(UTC) - timedelta(days=days) + timedelta(minutes=number)
                name = f"E2A2D3G3B3E4/arpeggio/{card}/name"
                log.record(Review(name, grade, at, 5.0, skills=cards[name].skills))
    path = tmp_path / "weak.pdf"
    assert neckwork("handout", "weakest", "--count", "1", "-o", str(path)).code == 0
    text = PdfReader(path).pages[0].extract_text()
    assert "1 least likely to come clean" in text and "Cm7" in text
    assert "Cmaj7" not in text and "C7" not in text


@pytest.mark.parametrize(
    ("args", "code", "said"),
    [
        (("sets", "-o", "page.doc"), 2, "expected a name ending in .pdf, .svg, .txt or .zip"),
        (("boxes",), 2, "expected -o FILE.pdf or FILE.svg"),
        (("circles",), 2, "circles"),
        (("place", "Cjunk"), 1, "Cjunk"),
        (("deck", "--deck", "roots", "-o", "r.pdf"), 1, "none of these cards asks for a shape"),
        ((), 2, "  overview,\n  place"),
        (("sets", "--quality", "m7", "--root", "E", "--strings", "654", "--top-fret", "12"), 1, "needs fret"),
        (("sets", "-o", "no/such/folder/page.pdf"), 1, "No such file"),
    ],
)
def test_what_cannot_be_printed_is_refused_in_a_line(neckwork, args, code, said):
    """A wrong ending, layout, name, neck or place: the right exit code and a sentence, no traceback."""
    ran = neckwork("handout", *args)
    assert ran.code == code
    assert said in ran.err
    assert "Traceback" not in ran.err


def test_a_shape_goes_to_four_formats(neckwork, tmp_path):
    """One command writes SVG, PDF, MusicXML and MIDI of a shape, all with its notes."""
    paths = {kind: tmp_path / f"shape.{kind}" for kind in ("svg", "pdf", "musicxml", "midi")}
    options = [part for kind, path in paths.items() for part in (f"--{kind}", str(path))]
    ran = neckwork("shape", "F#m7", "--strings", "543", *options)
    assert ran.code == 0, ran.err
    assert "F♯m7" in paths["svg"].read_text(encoding="utf-8")
    assert "F♯m7" in PdfReader(paths["pdf"]).pages[0].extract_text()
    frets = [int(fret.text) for fret in ElementTree.parse(paths["musicxml"]).getroot().iter("fret")]
    assert frets == [9, 12, 11, 9, 11]
    struck = [m.note for m in mido.MidiFile(paths["midi"]) if m.type == "note_on" and m.velocity]
    assert struck == [54, 57, 61, 64, 66, 64, 61, 57, 54]


def test_several_shapes_are_numbered_and_follow_one_another(neckwork, tmp_path):
    """Three sets give three SVG files, three PDF pages, and MIDI in which no two overlap."""
    options = [part for kind in ("svg", "pdf", "midi") for part in (f"--{kind}", str(tmp_path / f"c.{kind}"))]
    ran = neckwork("shape", "Cmaj7", *options)
    assert ran.code == 0, ran.err
    assert sorted(path.name for path in tmp_path.glob("*.svg")) == ["c-1.svg", "c-2.svg", "c-3.svg"]
    assert len(PdfReader(tmp_path / "c.pdf").pages) == 3
    at, starts = 0.0, []
    for message in mido.MidiFile(tmp_path / "c.midi"):
        at += message.time
        if message.type == "note_on" and message.velocity:
            starts.append(round(at, 2))
    assert starts == [float(12 * shape + note) for shape in range(3) for note in range(9)]


@pytest.mark.parametrize(
    "args",
    [
        ("track", "Cm7", "--wav"),
        ("hear", "Cm7", "--midi"),
        ("etude", "Cm7", "--musicxml"),
        ("stages", "Cm7", "--pdf"),
        ("choruses", "Cm7", "--midi"),
        ("shape", "Cm7", "--svg"),
        ("handout", "sets", "--quality", "m7", "-o"),
        ("progress", "--html"),
        ("progress", "--ics"),
        ("export", "-o"),
        ("roster", ".", "-o"),
        ("decks", "new", "one", "-o"),
    ],
)
@pytest.mark.parametrize("name", ["log.sqlite3", "other.pdf"])
def test_no_option_that_writes_ever_writes_over_a_log(neckwork, tmp_path, args, name):
    """The player's own log, or another one of any name: refused in a line, and not a byte of it changed."""
    path = tmp_path / "home" / name
    path.parent.mkdir()
    with ReviewLog(path) as log:
        log.ticket("seen:caution", "yes", datetime(2026, 1, 5, tzinfo=UTC))
    before = path.read_bytes()
    ran = neckwork(*args, str(path))
    assert ran.code == 1 and "write to another file" in ran.err and "Traceback" not in ran.err
    assert path.read_bytes() == before


def test_hear_and_handout_play_and_print_an_altered_dominant_without_its_plain_fifth(neckwork, tmp_path):
    """Grip, arpeggio and mode of G7alt together are G B F with b9, #9, #11 and b13 (common practice), in what sounds
    and on the page."""
    song, page = tmp_path / "g7alt.mid", tmp_path / "g7alt.txt"
    heard = neckwork("hear", "G7alt", "--strings", "543", "--midi", str(song)).err
    assert "The plain 5th, D, is no note of G7alt: G7#5 sounds." in heard and "the shape is G7." not in heard
    struck = {one.note % 12 for one in mido.MidiFile(song) if one.type == "note_on" and one.velocity}
    assert struck == {7, 8, 10, 11, 1, 3, 5}
    assert neckwork("handout", "place", "G7alt", "--strings", "543", "-o", str(page)).code == 0
    said = page.read_text()
    assert "G7#5" in said and "G altered" in said and "Mixolydian" not in said and " D fifth" not in said
