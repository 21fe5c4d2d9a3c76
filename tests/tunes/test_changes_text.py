"""Changes as text: what is read, what is refused and where, and that writing reads back."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from drills.changes.changes import Changes, Metre
from drills.changes.changes_reading import parse_changes, read_changes
from drills.changes.playing_order import excerpt
from drills.configuration.shipped import decks_folder
from drills.errors import ChangesError
from drills.harmony.page_text import chart_lines
from drills.lines.checker import check_line
from drills.lines.etude_line import etude_line
from drills.lines.etude_options import EtudeOptions
from drills.lines.lead_sheet_xml import changes_musicxml
from drills.lines.score_xml import line_musicxml
from drills.neck.neck import Neck
from drills.theory.key import parse_key
from tests.examples import examples
from tests.strategies import odd_text, pages_of_changes
from tests.tunes.changes_writing import write_changes


def played(text: str) -> list[str]:
    """The chords of each bar in playing order."""
    return [" ".join(slot.text for slot in bar.chords) for bar in parse_changes(text).bars]


def test_without_bar_lines_each_chord_is_a_bar() -> None:
    """A bare list of chords, as typed on a command line, is one bar per chord."""
    assert played("Cm7 F7 Bbmaj7") == ["Cm7", "F7", "Bbmaj7"]


def test_a_whole_page_is_read_with_everything_it_states() -> None:
    """Title, key, metre, tempo, feel, form, sections, repeats and endings all arrive in the value."""
    page = parse_changes(
        "title: A page\nkey: Bb\nmetre: 3/4\ntempo: 96.5\nfeel: swing\nform: A B A\n"
        "[A]\n|: Cm7 | F7 |1. Bbmaj7 :|2. Bb6 |\n[B] key: Eb\nmetre: 4/4\n| Fm7 Bb7 | Ebmaj7 |\n"
    )
    assert (page.title, page.tempo, page.feel, page.form) == ("A page", 96.5, "swing", ("A", "B", "A"))
    assert page.key == parse_key("Bb") and page.metre == Metre(3, 4)
    once = ["Cm7", "F7", "Bbmaj7", "Cm7", "F7", "Bb6"]
    assert [bar.chords[0].text for bar in page.bars] == [*once, "Fm7", "Ebmaj7", *once]
    assert [bar.section for bar in page.bars] == ["A"] * 6 + ["B"] * 2 + ["A"] * 6
    assert page.bars[6].key == parse_key("Eb") and page.bars[6].metre == Metre(4, 4)
    assert page.bars[8].key == parse_key("Bb"), "a section begins with the head's key again"
    assert page.bars[3].written == page.bars[0].written == (0, 0), "a played bar leads back to the written one"
    assert [bar.number for bar in page.bars] == list(range(1, 15))


@pytest.mark.parametrize(
    ("metre", "bar", "lengths"),
    [
        ("4/4", "C F", (2, 2)),
        ("4/4", "C . . F", (3, 1)),
        ("4/4", "C / / F", (3, 1)),
        ("4/4", "C . . F . . . .", (Fraction(3, 2), Fraction(5, 2))),
        ("4/4", "C*1.5 F", (Fraction(3, 2), Fraction(5, 2))),
        ("4/4", "C*3/2 F*1 G", (Fraction(3, 2), 1, Fraction(3, 2))),
        ("3/4", "C F", (Fraction(3, 2), Fraction(3, 2))),
        ("6/8", "C F", (3, 3)),
        ("5/4", "C . . F .", (3, 2)),
        ("4/4", "C F G", (Fraction(4, 3),) * 3),
    ],
)
def test_chords_share_a_bar_evenly_or_as_written(metre: str, bar: str, lengths: tuple) -> None:
    """Even shares, holds and lengths in beats fill the bar, and each chord starts where the last ends."""
    slots = parse_changes(f"metre: {metre}\n| {bar} |").bars[0].chords
    assert tuple(slot.beats for slot in slots) == lengths
    assert [slot.beat for slot in slots] == [1 + sum(lengths[:place]) for place in range(len(lengths))]


def test_an_uneven_share_is_read_and_remarked() -> None:
    """Three chords in four beats are thirds of the bar, and the page says how to write another rhythm."""
    page = parse_changes("| C F G |")
    assert len(page.remarks) == 1 and "4/3 each" in page.remarks[0] and "line 1" in page.remarks[0]


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("| C | D :| E |", "C D C D E"),
        ("| C |: D | E :| F |", "C D E D E F"),
        ("|: C :| x3", "C C C"),
        ("|: C :|: D :|", "C C D D"),
        ("|: C |1. D :|2. E | F |", "C D C E F"),
        ("|: C |1. D | E :|2. F | G |", "C D E C F G"),
        ("|: C |1,2. D :|3. E |", "C D C D C E"),
        ("|: C |1. D :|2. E :|3. F |", "C D C E C F"),
        ("|: C |1. D :|2. E :| F |", "C D C E F"),
        ("| C | % | D |", "C C D"),
        ("C\nD | E\nF", "C D E F"),
        ("|: C |\n| D :|\n| E ||", "C D C D E"),
        ("form: B A B; [A] C | D; [B] E", "E C D E"),
        ("form: first part, second; [first part] C |; [second] D |", "C D"),
        ("# all of it\n| C | # and this\n#\n\n| D |", "C D"),
        ("C#m7 | F# # sharp is no remark", "C#m7 F#"),
    ],
)
def test_repeats_endings_and_forms_are_played_in_order(text: str, order: str) -> None:
    """The bars come out in the order a player reads them."""
    assert " ".join(played(text)) == order


def test_extended_chords_are_reduced_and_keep_their_symbol() -> None:
    """C13 walks as C7, keeps 9 and 13 for the sound and is shown as written; C7/E keeps its bass."""
    thirteen, slash, none = parse_changes("| C13 | C7/E | n.c. |").bars
    assert thirteen.chords[0].chord.name == "C7" and thirteen.chords[0].text == "C13"
    assert thirteen.chords[0].chord.tensions == ("9", "13")
    assert slash.chords[0].chord.bass.name == "E" and slash.chords[0].chord.root.name == "C"
    assert none.chords[0].chord is None and none.chords[0].text == "N.C."


@pytest.mark.parametrize(
    ("text", "line", "column", "says"),
    [
        ("| C | H7 |", 1, 7, "did you mean B7?"),
        ("| C |\n| C7b7 |", 2, 6, "expected a chord quality"),
        ("| C | | F |", 1, 7, "the bar is empty"),
        ("[A", 1, 1, "close it with ]"),
        ("| C {Dorian |", 1, 5, "close it with }"),
        ("| C{Dorien} |", 1, 4, "did you mean Dorian"),
        ("| C{ii of G} |", 1, 4, "that degree is A"),
        ("keys: Bb\nC", 1, 1, "did you mean key?"),
        ("key: H\nC", 1, 6, "expected such as Bb"),
        ("metre: 4/5\nC", 1, 8, "expected such as 4/4"),
        ("tempo: fast\nC", 1, 8, "20 to 400"),
        ("feel: waltz\nC", 1, 7, "straight or swing"),
        ("title: A\ntitle: B\nC", 2, 1, "written twice"),
        ("C\ntitle: A", 2, 1, "belongs at the head"),
        ("form: A B\n[A] C |", 1, 1, "no section is labelled 'B'"),
        ("form: A\n[A] C |\n[A] D |", 1, 1, "two sections are labelled 'A'"),
        ("[A]\n[B] C |", 1, 1, "has no bars"),
        ("C . F", 1, 3, "needs bar lines"),
        ("C*3 F", 1, 2, "needs bar lines"),
        ("| C*3 F*2 |", 1, 3, "expected 4 beats in 4/4, got 5"),
        ("| C*4 F |", 1, 3, "chords without a length"),
        ("| C*0 F |", 1, 4, "expected beats such as"),
        ("| C*1 . F |", 1, 7, "one of the two in a bar"),
        ("| . C |", 1, 3, "a bar begins with a chord"),
        ("% | C", 1, 1, "there is none in this section"),
        ("| C % |", 1, 5, "stands for a whole bar"),
        ("metre: 3/4\nC |\nmetre: 4/4\n% |", 4, 1, "repeats a bar of 3/4 in 4/4"),
        ("|: C |1. D :|2. % |", 1, 17, "could mean either bar"),
        ("|: C", 1, 1, "not closed"),
        ("|: C |: D :|", 1, 1, "inside another"),
        (":| C", 1, 1, "no bar before it"),
        ("|: C |1. D :|", 1, 1, "there is no ending 2"),
        ("|: C |1. D :|1. E |", 1, 1, "written twice"),
        ("|1. C | D |", 1, 1, "without a repeat"),
        ("[A] |: C |\n[B] D :|", 1, 1, "not closed"),
        ("", 1, 1, "no bar found"),
        ("# only a remark", 1, 1, "no bar found"),
        ("| N.C.{Dorian} |", 1, 7, "has no mode"),
    ],
)
def test_a_refusal_says_where_and_what_to_do(text: str, line: int, column: int, says: str) -> None:
    """Every error carries line and column, and its message says what was expected."""
    with pytest.raises(ChangesError) as caught:
        parse_changes(text)
    assert (caught.value.line, caught.value.column) == (line, column), str(caught.value)
    assert says in str(caught.value)


@pytest.mark.parametrize(
    ("one_line", "lines"),
    [
        ("key: Bb | Cm7 | F7 |", "key: Bb\n| Cm7 | F7 |"),
        ("metre: 3/4 |: C | F :|", "metre: 3/4\n|: C | F :|"),
        ("[A] key: C minor | Dm7b5 G7 |\n[B] | Cm6 |", "[A]\nkey: C minor\n| Dm7b5 G7 |\n[B]\n| Cm6 |"),
        ("title: A | B; Key: F | F7 |", "title: A | B\nkey: F\n| F7 |"),
    ],
)
def test_bars_may_follow_a_key_on_its_line(one_line: str, lines: str) -> None:
    """On the command line everything stands in one line; only a title may hold a bar line of its own."""
    assert parse_changes(one_line) == parse_changes(lines)


def test_the_nearest_accepted_symbols_are_offered() -> None:
    """A symbol that is almost right comes back with accepted ones near it."""
    with pytest.raises(ChangesError) as caught:
        parse_changes("| Cmja7 |")
    assert "Cmaj7" in caught.value.suggestions


def test_a_wrong_file_is_named_with_line_and_column(tmp_path) -> None:
    """A file that is wrong, missing or not text is named in the message."""
    path = tmp_path / "tune.changes"
    path.write_text("| C |\n| H |\n", encoding="utf-8")
    with pytest.raises(ChangesError, match=r"tune\.changes, line 2, column 3"):
        read_changes(path)
    path.write_bytes(b"| C\xff |")
    with pytest.raises(ChangesError, match="UTF-8"):
        read_changes(path)
    with pytest.raises(ChangesError, match="cannot be read"):
        read_changes(tmp_path / "nowhere.changes")


def test_a_file_without_a_title_is_called_by_its_name(tmp_path) -> None:
    """The file's name stands in for a missing title, and a byte-order mark is passed over."""
    path = tmp_path / "my tune.changes"
    path.write_text("\ufeff| C |\r\n| F |\r\n", encoding="utf-8", newline="")
    page = read_changes(path)
    assert page.title == "my tune" and len(page.bars) == 2


def test_size_is_bounded() -> None:
    """Repeats inside a long form cannot make more bars than any tune has, and a huge text is refused."""
    with pytest.raises(ChangesError, match="at most 2,000"):
        parse_changes("form: " + "A " * 1_000 + "\n[A]\n" + "C | " * 30)
    with pytest.raises(ChangesError, match="at most 40,000 characters"):
        parse_changes("C " * 200_001)


@settings(max_examples=300)
@given(pages_of_changes())
def test_what_is_written_reads_back_equal(page: Changes) -> None:
    """Over metres, keys, repeats, endings and forms, text to value and back loses nothing."""
    text = write_changes(page)
    again = parse_changes(text)
    assert again == page, text
    assert write_changes(again) == text
    assert [bar.chords for bar in again.bars] == [bar.chords for bar in page.bars]
    for bar in page.bars:
        assert sum(slot.beats for slot in bar.chords) == bar.metre.beats


def test_every_shipped_page_reads_back_equal() -> None:
    """The shipped progressions parse, fill their bars, and survive writing; there are twenty-four of them."""
    paths = sorted(decks_folder().glob("*.changes"))
    assert len(paths) == 24
    for path in paths:
        page = read_changes(path)
        assert parse_changes(write_changes(page)) == page
        assert not page.remarks
    lengths = {path.stem: len(read_changes(path).bars) for path in paths}
    assert lengths["blues-in-f"] == 12 and lengths["four-chord-round"] == 32
    assert lengths["thirty-two-bars-in-eb"] == 32 and lengths["two-five-one-round"] == 48


ALPHABET = "ABCDEFGbm7#|:;%./*{}[]x123 \n\t"
PIECES = st.sampled_from(
    ["C", "F7", "Bbmaj7", "|", "|:", ":|", "||", "|]", "x3", "1.", "2.", "%", ".", "N.C.", "{Dorian}", "*2", "\n", ";",
     "[A]", "[B]", "key: F", "metre: 3/4", "form: A B", " ", "#", "title: x", "H", "::", "{", "C7/"]
)  # fmt: skip
SPACED, RUN_TOGETHER = st.lists(PIECES, max_size=25).map(" ".join), st.lists(PIECES, max_size=12).map("".join)
FUZZ = st.one_of(SPACED, odd_text(ALPHABET), RUN_TOGETHER)


@settings(max_examples=examples(2_000, 10_000))
@given(FUZZ)
@example("|" * 3_000)
@example("[" * 3_000)
@example("C" * 3_000)
def test_any_text_is_read_or_refused_with_a_place(text: str) -> None:
    """No text makes anything but changes or a ChangesError inside the text."""
    try:
        page = parse_changes(text)
    except ChangesError as error:
        lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
        assert 0 <= error.line <= len(lines) and len(str(error)) < 600
        assert error.column <= len(lines[error.line - 1]) + 1
    else:
        assert page.bars


@pytest.mark.parametrize("symbol", ["C5", "Bb5/F", "Cm7#5", "F#-7#5", "Ebm7+5/Gb"])
def test_a_common_symbol_that_is_no_chord_of_ours_comes_with_a_remedy_that_works(symbol: str) -> None:
    """Every chord the message suggests reads, on the same root and over the same bass."""
    with pytest.raises(ChangesError) as caught:
        parse_changes(f"| {symbol} | F |")
    assert caught.value.suggestions
    for other in caught.value.suggestions:
        assert other in str(caught.value)
        chord = parse_changes(f"| {other} | F |").slots[0][1].sounding
        assert symbol.startswith(chord.root.name)
        assert ("/" in symbol) == (chord.bass is not None)


def test_a_chord_in_brackets_is_read_and_said() -> None:
    """A chord that may be left out is read as a chord, and a remark says so; C2 has no third."""
    page = parse_changes("| (C7) | (Dm7/G) C2 |")
    assert [slot.text for _, slot in page.slots] == ["C7", "Dm7/G", "C2"]
    assert page.remarks[0] == "line 1: (C7) is read as C7, which may be left out"
    assert page.slots[2][1].sounding.quality.name == "sus2"


def test_a_pickup_is_refused_with_a_remedy_that_works() -> None:
    """The section that the message names makes a short first bar, and the next section has the metre of the page."""
    with pytest.raises(ChangesError, match=r"\[pickup\] metre: 1/4"):
        parse_changes("| G7*1 | C |")
    page = parse_changes("[pickup] metre: 1/4\n| G7 |\n[A]\n| C | F |")
    assert [str(bar.metre) for bar in page.bars] == ["1/4", "4/4", "4/4"]
    assert str(page.metre) == "4/4"


PICKUP = "key: C\n[pickup] metre: 1/4\n| G7 |\n[A] metre: 4/4\n| Cmaj7 | Am7 | Dm7 | G7 |\n"


def test_a_pickup_is_bar_0_as_printed() -> None:
    """Printed music does not count a pickup: the first whole bar is bar 1, in the chart and where bars are named."""
    page = parse_changes(PICKUP)
    assert [bar.number for bar in page.bars] == [0, 1, 2, 3, 4]
    assert "4 bars and a pickup" in chart_lines(page)[1]
    assert any(line.startswith("0 | (1/4) G7") for line in chart_lines(page))
    assert [bar.chords[0].text for bar in excerpt(page, 1, 2).bars] == ["Cmaj7", "Am7"]
    assert [bar.number for bar in excerpt(page, 1, 2).bars] == [1, 2]
    assert [bar.number for bar in excerpt(page, 0, 1).bars] == [0, 1]
    with pytest.raises(ChangesError, match="within 0 to 4"):
        excerpt(page, 0, 5)


@pytest.mark.parametrize("metres", [("3/4", "4/4", "3/4", "4/4"), ("4/4", "3/4"), ("4/4", "4/4"), ("3/4",)])
def test_a_short_first_bar_of_a_metre_that_comes_again_is_no_pickup(metres) -> None:
    """Metres in turns, a longer first bar, and a page of one bar begin with bar 1."""
    page = parse_changes("".join(f"[{number}] metre: {metre}\n| C |\n" for number, metre in enumerate(metres)))
    assert page.bars[0].number == 1


def test_a_part_of_a_page_has_no_pickup() -> None:
    """A short bar inside a page, where an excerpt begins, is counted like any other."""
    page = parse_changes("| C | F |\n[b] metre: 2/4\n| G7 |\n[c] metre: 4/4\n| C | F |")
    assert [bar.number for bar in excerpt(page, 3, 5).bars] == [1, 2, 3]


def test_a_pickup_goes_out_uncounted_and_comes_back() -> None:
    """MusicXML 4.0: a pickup has the attribute implicit, and here the number 0; a line over it keeps the numbers."""
    page = parse_changes(PICKUP)
    written = changes_musicxml(page)
    assert '<measure number="0" implicit="yes">' in written and '<measure number="1">' in written
    line = etude_line(page, Neck(), EtudeOptions()).line
    assert {note.bar for note in line.notes} <= set(range(5)) and check_line(line) == ()
    assert '<measure number="0" implicit="yes">' in line_musicxml(line)
