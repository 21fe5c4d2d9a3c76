"""Every mark of a lead sheet by itself: what it means, where it stops, and what is said of it (MusicXML 4.0)."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from drills.changes.changes import Changes, Metre
from drills.changes.lead_sheet import read_musicxml
from drills.errors import LeadSheetError
from drills.theory.interval import Interval, transpose_note
from drills.theory.key import parse_key
from drills.theory.note import Note
from drills.theory.symbol import parse_chord

DIVISIONS = "<divisions>2</divisions>"
FOUR_FOUR = "<time><beats>4</beats><beat-type>4</beat-type></time>"


def attributes(inside: str = DIVISIONS + FOUR_FOUR) -> str:
    """The attributes of a measure; two divisions a quarter and 4/4 unless given."""
    return f"<attributes>{inside}</attributes>"


def symbol(root: str, kind: str = "major", more: str = "", printed: str = "") -> str:
    """A harmony on a root such as ``Bb``, with degrees, a bass or an offset in `more`."""
    step, alter = root[0], root.count("#") - root.count("b")
    text = f' text="{printed}"' if printed else ""
    return (
        f"<harmony><root><root-step>{step}</root-step><root-alter>{alter}</root-alter></root>"
        f"<kind{text}>{kind}</kind>{more}</harmony>"
    )


def degree(kind: str, value: int | str, alter: int | str) -> str:
    """A degree of a harmony."""
    return (
        f"<degree><degree-value>{value}</degree-value><degree-alter>{alter}</degree-alter>"
        f"<degree-type>{kind}</degree-type></degree>"
    )


def note(duration: int | str, more: str = "") -> str:
    """A note of so many divisions."""
    return f"<note>{more}<pitch><step>C</step><octave>4</octave></pitch><duration>{duration}</duration></note>"


def mark(label: str) -> str:
    """A rehearsal mark."""
    return f"<direction><direction-type><rehearsal>{label}</rehearsal></direction-type></direction>"


def barline(inside: str) -> str:
    """A bar line with a repeat or an ending."""
    return f"<barline>{inside}</barline>"


def score(*parts: list[str], head: str = "") -> str:
    """A score of parts, each of measures."""
    written = "".join(
        "<part>" + "".join(f"<measure>{measure}</measure>" for measure in measures) + "</part>" for measures in parts
    )
    return f"<score-partwise>{head}{written}</score-partwise>"


def read(folder: Path, *parts: list[str], head: str = "", name: str = "sheet.musicxml") -> Changes:
    """The changes of a score of those parts."""
    path = folder / name
    path.write_text(score(*parts, head=head), encoding="utf-8")
    return read_musicxml(path)


def slots(changes: Changes) -> list[list[tuple[str, Fraction, Fraction]]]:
    """Symbol, beat and length of each chord, bar by bar in playing order."""
    return [[(slot.text, slot.beat, slot.beats) for slot in bar.chords] for bar in changes.bars]


def texts(changes: Changes) -> list[str]:
    """The symbols of each bar in playing order."""
    return [" ".join(slot.text for slot in bar.chords) for bar in changes.bars]


def test_the_part_with_the_most_symbols_is_read(tmp_path):
    """Of parts with one, three and two symbols the second is read; of two with as many the first."""
    one, three, two = (
        [symbol("C")],
        [symbol("D") + note(2) + symbol("E") + note(2), symbol("F")],
        [symbol("G"), symbol("A")],
    )
    assert texts(read(tmp_path, one, three, two)) == ["D E", "F"]
    assert texts(read(tmp_path, two, [symbol("B"), symbol("B")])) == ["G", "A"]


def test_the_title_is_the_works_then_the_movements_then_the_files(tmp_path):
    """work-title comes before movement-title, the file's name comes last, and 200 characters are kept."""
    work, movement = "<work><work-title>One</work-title></work>", "<movement-title>Two</movement-title>"
    assert read(tmp_path, [symbol("C")], head=work + movement).title == "One"
    assert read(tmp_path, [symbol("C")], head=movement).title == "Two"
    assert read(tmp_path, [symbol("C")], name="my tune.musicxml").title == "my tune"
    long = "".join(chr(97 + index % 26) for index in range(230))
    assert read(tmp_path, [symbol("C")], head=f"<movement-title>{long}</movement-title>").title == long[:200]


def test_a_sheet_that_states_nothing_is_quarters_in_4_4_without_key_or_tempo(tmp_path):
    """The defaults: one division a quarter, 4/4, no key, no tempo, no chord before the first symbol, no remark."""
    page = read(tmp_path, [note(4), note(2) + symbol("C") + note(2)])
    assert slots(page) == [[("N.C.", 1, 4)], [("N.C.", 1, 2), ("C", 3, 2)]]
    assert (page.key, page.tempo, page.metre, page.remarks) == (None, None, Metre(4, 4), ())


def test_time_goes_on_with_notes_and_forward_and_back_with_backup(tmp_path):
    """Chord notes and grace notes take no time; backup goes back, at most to the bar line; forward goes on."""
    chorded = note(4) + note(4, "<chord/>") + note(4, "<grace/>") + symbol("F") + note(4)
    back = note(8) + "<backup><duration>6</duration></backup>" + symbol("G") + note(2)
    far_back = note(2) + "<backup><duration>50</duration></backup>" + note(6) + symbol("A") + note(2)
    forward = "<forward><duration>2</duration></forward>" + symbol("B") + note(6)
    page = read(tmp_path, [attributes() + symbol("C") + chorded, back, far_back, forward])
    assert slots(page) == [
        [("C", 1, 2), ("F", 3, 2)],
        [("F", 1, 1), ("G", 2, 3)],
        [("G", 1, 3), ("A", 4, 1)],
        [("A", 1, 1), ("B", 2, 3)],
    ]


def test_an_offset_moves_a_symbol_both_ways(tmp_path):
    """An offset is in divisions; before the bar line there is nothing."""
    early = note(4) + symbol("F", more="<offset>-2</offset>") + note(4)
    first = symbol("G", more="<offset>-3</offset>") + note(8)
    assert slots(read(tmp_path, [attributes() + symbol("C") + early, first])) == [
        [("C", 1, 1), ("F", 2, 3)],
        [("G", 1, 4)],
    ]


def test_of_two_symbols_at_one_place_the_first_is_kept_and_it_is_said(tmp_path):
    """The bar is named; the same symbol twice is no matter for a remark."""
    page = read(tmp_path, [symbol("C") + note(4), symbol("D") + symbol("E") + note(4)])
    assert texts(page) == ["C", "D"]
    assert page.remarks == ("bar 2: two symbols at one place; D is kept",)
    assert read(tmp_path, [symbol("C") + symbol("C") + note(4)]).remarks == ()


def test_a_symbol_at_the_end_of_a_bar_belongs_to_the_next(tmp_path):
    """So does one after the end; of several the last; it stands before a symbol on the next bar line."""
    late = symbol("C") + note(4) + symbol("D") + symbol("E", more="<offset>1</offset>")
    assert texts(read(tmp_path, [late, note(4)])) == ["C", "E"]
    page = read(tmp_path, [symbol("C") + note(4) + symbol("D"), symbol("E") + note(4), note(4)])
    assert texts(page) == ["C", "D", "D"]
    assert page.remarks == ("bar 2: two symbols at one place; D is kept",)
    assert texts(read(tmp_path, [symbol("C") + note(4) + symbol("D")])) == ["C"]


def test_the_same_symbol_again_is_one_longer_chord(tmp_path):
    """Beats and lengths count in the metre's own unit, here eighths."""
    six = attributes(DIVISIONS + "<time><beats>6</beats><beat-type>8</beat-type></time>")
    measure = symbol("C") + note(2) + symbol("C") + note(1) + symbol("G") + note(1) + symbol("F") + note(2)
    page = read(tmp_path, [six + measure])
    assert slots(page) == [[("C", 1, 3), ("G", 4, 1), ("F", 5, 2)]]


@pytest.mark.parametrize(
    ("beats", "unit", "reads"),
    [("3", "4", "3/4"), ("3+2", "8", "5/8"), ("2+2+3", "8", "7/8"), ("64", "4", "64/4"), ("1", "32", "1/32")],
)
def test_metres_are_read(tmp_path, beats, unit, reads):
    """A metre may be a sum; the largest is 64 beats."""
    time = f"<time><beats>{beats}</beats><beat-type>{unit}</beat-type></time>"
    page = read(tmp_path, [attributes(time) + symbol("C")])
    assert str(page.metre) == reads and not page.remarks


@pytest.mark.parametrize(("beats", "unit"), [("65", "4"), ("0", "4"), ("3+x", "4"), ("3", "5"), ("3", "x"), ("3", "")])
def test_a_metre_that_is_none_is_said_and_the_one_in_force_kept(tmp_path, beats, unit):
    """The bar is named, and so is the metre that stays."""
    time = f"<time><beats>{beats}</beats><beat-type>{unit}</beat-type></time>"
    three = attributes("<time><beats>3</beats><beat-type>4</beat-type></time>")
    page = read(tmp_path, [three + symbol("C"), attributes(time)])
    assert [str(bar.metre) for bar in page.bars] == ["3/4", "3/4"]
    assert page.remarks == ("bar 2: the metre is not understood; 3/4 is kept",)


def test_a_time_without_beats_and_divisions_of_nothing_change_nothing(tmp_path):
    """Unmeasured time (senza misura) keeps the metre; divisions must be more than 0."""
    odd = attributes("<divisions>0</divisions><time><senza-misura/></time>")
    page = read(tmp_path, [attributes() + symbol("C") + note(8), odd + symbol("D") + note(4) + symbol("E") + note(4)])
    assert slots(page) == [[("C", 1, 4)], [("D", 1, 2), ("E", 3, 2)]] and not page.remarks
    assert slots(read(tmp_path, [attributes("<divisions>0.5</divisions>") + symbol("C") + note(1) + symbol("D")
                                 + note(1)])) == [[("C", 1, 2), ("D", 3, 2)]]  # fmt: skip


@pytest.mark.parametrize(
    ("metre", "duration", "divisions", "bar"),
    [
        ("4/4", 2, 2, "1/4"), ("4/4", 1, 2, "1/8"), ("4/4", 3, 2, "3/8"), ("4/4", 1, 4, "1/16"), ("4/4", 1, 8, "1/32"),
        ("4/4", 10, 2, "5/4"), ("6/8", 2, 2, "2/8"), ("6/8", 6, 2, "6/8"), ("2/2", 2, 1, "1/2"), ("2/2", 1, 1, "1/4"),
        ("4/4", 128, 2, "64/4"), ("4/4", 8, 2, "4/4"),
    ],
)  # fmt: skip
def test_a_bar_is_as_long_as_its_notes(tmp_path, metre, duration, divisions, bar):
    """In the unit of the metre where it fills whole beats of it, else in quarters, eighths, sixteenths or 32nds."""
    beats, _, unit = metre.partition("/")
    time = f"<divisions>{divisions}</divisions><time><beats>{beats}</beats><beat-type>{unit}</beat-type></time>"
    page = read(tmp_path, [attributes(time) + symbol("C") + note(duration)])
    assert [str(each.metre) for each in page.bars] == [bar] and not page.remarks


@pytest.mark.parametrize(("duration", "divisions"), [(1, 3), (1, 16), (65, 1)])
def test_a_bar_whose_notes_fill_no_whole_beats_keeps_the_metre_and_says_so(tmp_path, duration, divisions):
    """A third of a quarter, a 64th, and more than 64 beats of no unit's bars."""
    page = read(tmp_path, [attributes(f"<divisions>{divisions}</divisions>") + symbol("C") + note(duration)])
    assert str(page.bars[0].metre) == "4/4"
    assert page.remarks == ("bar 1: its notes fill no whole number of beats; 4/4 is kept",)


def test_the_head_has_the_metre_most_bars_have(tmp_path):
    """Of as many bars of two metres the first one's."""

    def bars(*lengths: int) -> str:
        return str(read(tmp_path, [symbol("C") + note(length) for length in lengths]).metre)

    assert (bars(1, 4, 4), bars(3, 3, 4), bars(3, 4)) == ("4/4", "3/4", "3/4")


MAJORS = ("Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#")
MINORS = ("Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#", "G#", "D#", "A#")


def signature(fifths: int | str, mode: str) -> str:
    """A key."""
    return f"<key><fifths>{fifths}</fifths><mode>{mode}</mode></key>"


@pytest.mark.parametrize("fifths", range(-7, 8))
def test_every_signature_is_its_key(tmp_path, fifths):
    """The fifteen signatures, major and minor, as every book of theory prints them."""
    for mode, wanted in (
        ("major", MAJORS[fifths + 7]), ("ionian", MAJORS[fifths + 7]),
        ("minor", f"{MINORS[fifths + 7]} minor"), ("Aeolian", f"{MINORS[fifths + 7]} minor"),
    ):  # fmt: skip
        assert read(tmp_path, [attributes(signature(fifths, mode)) + symbol("C")]).key == parse_key(wanted)


@pytest.mark.parametrize(("fifths", "mode"), [(8, "major"), (-8, "minor"), ("x", "major"), (0, ""), (0, "dorian")])
def test_a_signature_that_names_no_key_states_none(tmp_path, fifths, mode):
    """More than seven sharps or flats, and modes other than major and minor."""
    assert read(tmp_path, [attributes(signature(fifths, mode)) + symbol("C")]).key is None


def transpose(chromatic: int | str, diatonic: int | str | None = None) -> str:
    """What is added to the written note."""
    said = "" if diatonic is None else f"<diatonic>{diatonic}</diatonic>"
    return f"<transpose>{said}<chromatic>{chromatic}</chromatic></transpose>"


SOUNDING_FROM_C = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


@pytest.mark.parametrize("chromatic", range(-11, 13))
def test_a_transposing_part_without_a_diatonic_sounds_in_the_usual_name(tmp_path, chromatic):
    """A written C in each of the twelve transpositions: flats, and a tritone is an augmented fourth."""
    said = attributes(transpose(chromatic) + signature(0, "major"))
    page = read(tmp_path, [said + symbol("C", "minor-seventh", "<bass><bass-step>G</bass-step></bass>")])
    root, remark = SOUNDING_FROM_C[chromatic % 12], "bar 1: a transposing part; chords and keys are read at sounding"
    chord = page.slots[0][1].sounding
    assert (chord.root.name, chord.quality.symbol) == (root, "m7")
    assert chord.bass == transpose_note(Note.parse("G"), _between("C", root))
    assert page.key == parse_key(root)
    assert page.remarks == (() if chromatic % 12 == 0 else (f"{remark} pitch",))


def _between(low: str, high: str) -> Interval:
    one, other = Note.parse(low), Note.parse(high)
    return Interval((other.step - one.step) % 7, (other.pitch_class - one.pitch_class) % 12)


@pytest.mark.parametrize(
    ("chromatic", "diatonic", "root"),
    [(1, 0, "C#"), (1, 1, "Db"), (6, 3, "F#"), (6, 4, "Gb"), (-2, -1, "Bb"), (-14, -8, "Bb"), (10, 13, "Bb")],
)
def test_a_diatonic_says_the_letter(tmp_path, chromatic, diatonic, root):
    """Whole octaves are left out of both numbers."""
    page = read(tmp_path, [attributes(transpose(chromatic, diatonic)) + symbol("C")])
    assert page.slots[0][1].sounding == parse_chord(root)


def test_a_key_that_no_signature_has_at_sounding_pitch_is_left_unsaid(tmp_path):
    """C sharp major a major third up has no signature; the symbols are read all the same."""
    page = read(tmp_path, [symbol("C"), attributes(transpose(4, 2) + signature(7, "major")) + symbol("C")])
    assert page.bars[1].key is None and texts(page)[1] == "E"
    assert page.remarks[-1] == "bar 2: the key at sounding pitch has no signature; none is stated"


def test_no_chord_and_a_symbol_without_a_root(tmp_path):
    """The kind none is N.C. at any pitch; a symbol without a root is left out, and its bar named."""
    rootless = "<harmony><function>I</function><kind>major</kind></harmony>"
    page = read(tmp_path, [attributes(transpose(2)) + symbol("C"), symbol("C", "none"), rootless])
    assert texts(page) == ["D", "N.C.", "N.C."]
    assert page.remarks[-1] == "bar 3: a symbol without a root is left out"


@pytest.mark.parametrize("root", ["Cbb", "Cb", "C", "C#", "C##", "Bb", "F#"])
def test_roots_and_basses_have_up_to_two_accidentals(tmp_path, root):
    """Every such root is read; the same note below is no slash chord."""
    same = f"<bass><bass-step>{root[0]}</bass-step><bass-alter>{root.count('#') - root.count('b')}</bass-alter></bass>"
    assert read(tmp_path, [symbol(root, more=same)]).slots[0][1].sounding == parse_chord(root)


@pytest.mark.parametrize(("step", "alter"), [("H", 0), ("CD", 0), ("", 0), ("C", 3), ("C", -3)])
def test_a_root_that_is_no_note_is_left_out(tmp_path, step, alter):
    """Letters A to G and at most two accidentals."""
    root = f"<root-step>{step}</root-step><root-alter>{alter}</root-alter>"
    odd = f"<harmony><root>{root}</root><kind>major</kind></harmony>"
    page = read(tmp_path, [symbol("G"), odd])
    assert texts(page) == ["G", "G"]
    assert page.remarks == ("bar 2: a symbol without a root is left out",)


@pytest.mark.parametrize(
    ("said", "reads"),
    [
        (degree("add", 9, -1), "C7b9"), (degree("add", 9, 1), "C7#9"), (degree("add", 13, -1), "C7b13"),
        (degree("add", 13, 0), "C7(13)"), (degree("add", 11, 1), "C7#11"), (degree("add", 14, 0), "C7"),
        (degree("add", 9, 3), "C7"), (degree("add", 9, -3), "C7"), (degree("add", 0, 0), "C7"),
        (degree("add", "x", 0), "C7"), (degree("add", 9, ""), "C9"), (degree(" add ", 9, -1), "C7b9"),
        (degree("alter", 7, 1), "Cmaj7"), (degree("alter", 5, -1), "C7b5"), (degree("subtract", 7, 0), "C"),
    ],
)  # fmt: skip
def test_degrees_1_to_13_with_two_accidentals_at_most_change_a_chord(tmp_path, said, reads):
    """Others are passed over."""
    wanted = parse_chord(reads, reduce=True)
    found = read(tmp_path, [symbol("C", "dominant", said)]).slots[0][1].sounding
    assert (found.quality, found.tensions) == (wanted.quality, wanted.tensions)


def test_a_kind_outside_the_standard_is_read_by_its_text_or_left_out(tmp_path):
    """What is printed counts, then the kind itself; the bass stays; what names no chord is said."""
    bass = "<bass><bass-step>G</bass-step></bass>"
    page = read(
        tmp_path,
        [symbol("C", "odd", bass, "m7"), symbol("D", "maj7"), symbol("E", "nothing known of any chord at all")],
    )
    assert texts(page) == ["Cm7/G", "Dmaj7", "Dmaj7"]
    assert page.remarks == ("bar 3: E with the kind 'nothing known of any chord at ' is left out",)


def test_what_is_printed_adds_the_tensions_that_the_elements_lack(tmp_path):
    """An altered chord's second ninth is printed only; a printed chord that says less, or another, is not believed."""
    nine = degree("add", 9, -1)
    bass = "<bass><bass-step>E</bass-step></bass>"
    page = read(
        tmp_path,
        [
            symbol("C", "dominant", nine, "7b9b13"), symbol("C", "dominant", nine + bass, "7b9b13"),
            symbol("C", "dominant", nine, "7"), symbol("C", "dominant", nine, "m7b9b13"),
            symbol("C", "dominant", nine, "7b9"), symbol("C", "dominant", nine, "7#9#11"),
        ],
    )  # fmt: skip
    found = [bar.chords[0] for bar in page.bars]
    assert [slot.sounding.tensions for slot in found] == [("b9", "b13")] * 2 + [("b9",)] * 4
    assert [slot.text for slot in found[:2]] == ["C7b9b13", "C7b9b13/E"]
    assert found[0].sounding.bass is None and found[1].sounding.bass == Note.parse("E")
    assert all(slot.sounding.quality.symbol == "7" for slot in found)


def test_a_chord_without_a_third_is_said(tmp_path):
    """A power chord is read as major, and a remark says what it is read as."""
    page = read(tmp_path, [symbol("C"), symbol("D", "power")])
    assert texts(page) == ["C", "D"] and page.remarks == ("bar 2: D power is read as D",)


@pytest.mark.parametrize(
    ("said", "times"), [("", 2), ("3", 3), ("2", 2), ("1", 2), ("0", 2), ("9", 9), ("10", 9), ("x", 2)]
)
def test_a_repeat_is_played_two_to_nine_times(tmp_path, said, times):
    """Twice unless the file says how often."""
    given = f' times="{said}"' if said else ""
    page = read(tmp_path, [symbol("C") + barline(f'<repeat direction="backward"{given}/>'), symbol("D")])
    assert texts(page) == ["C"] * times + ["D"]


@pytest.mark.parametrize("numbers", ["1,2", "1, 2", "2 1", "1,2,2"])
def test_an_ending_may_be_for_several_passes(tmp_path, numbers):
    """The numbers may be written in any way; an ending's stop begins none."""
    page = read(
        tmp_path,
        [
            barline('<repeat direction="forward"/>') + symbol("C"),
            barline(f'<ending number="{numbers}" type="start"/>') + symbol("D")
            + barline('<ending number="1" type="stop"/><repeat direction="backward"/>'),
            barline('<ending number="3" type="start"/>') + symbol("E")
            + barline('<ending number="3" type="discontinue"/>'),
        ],
    )  # fmt: skip
    assert texts(page) == ["C", "D", "C", "D", "C", "E"]
    assert [bar.endings for bar in page.sections[0].bars] == [(), (1, 2), (3,)]


def test_marks_open_sections_and_the_first_of_a_bar_counts(tmp_path):
    """Square brackets are left out, 40 characters kept; a mark on the first bar names the first section."""
    long = "".join(chr(97 + index % 26) for index in range(50))
    page = read(
        tmp_path, [mark("[A]") + mark("Z") + symbol("C"), mark(""), mark("[ ]"), mark(long), mark(" B ") + symbol("G")]
    )
    assert [(section.label, len(section.bars)) for section in page.sections] == [("A", 3), (long[:40], 1), ("B", 1)]
    unmarked = read(tmp_path, [symbol("C"), mark("B")])
    assert [(section.label, len(section.bars)) for section in unmarked.sections] == [("", 1), ("B", 1)]


def test_two_hundred_marks_are_read(tmp_path):
    """More marks than any tune has are passed over."""
    page = read(tmp_path, [mark(f"m{number}") + symbol("C") for number in range(202)])
    assert [section.label for section in page.sections] == [f"m{number}" for number in range(200)]
    assert len(page.sections[-1].bars) == 3


def test_a_mark_inside_a_repeat_is_left_out_with_its_bar_named(tmp_path):
    """A section holds its repeats whole; marks around the repeat stay."""
    page = read(
        tmp_path,
        [
            mark("A") + barline('<repeat direction="forward"/>') + symbol("C"),
            mark("X") + symbol("D") + barline('<repeat direction="backward"/>'),
            mark("B") + symbol("E"),
        ],
    )
    assert [section.label for section in page.sections] == ["A", "B"]
    assert page.remarks == ("bar 2: the mark X stands inside a repeat and is left out",)


@pytest.mark.parametrize(
    ("tempo", "reads"),
    [("20", 20.0), ("19.9", None), ("400", 400.0), ("400.1", None), ("96.5", 96.5), ("100.12345", 100.123),
     ("-90", None), ("fast", None)],
)  # fmt: skip
def test_tempos_of_20_to_400_quarters_a_minute_are_read(tmp_path, tempo, reads):
    """To a thousandth, in a direction or a sound of its own; the first one counts."""
    sound = f'<sound tempo="{tempo}"/>'
    assert read(tmp_path, [sound + symbol("C")]).tempo == reads
    assert read(tmp_path, [f"<direction>{sound}</direction>" + symbol("C")]).tempo == reads
    assert read(tmp_path, [sound + '<sound tempo="120"/>' + symbol("C")]).tempo == (120.0 if reads is None else reads)


def sound(mark: str) -> str:
    return f'<sound {mark}="x"/>'


@pytest.mark.parametrize(
    ("bars", "played", "remark"),
    [
        # Da capo al fine: C D E, then C D.
        (["C", "D fine", "E dacapo"], "C D E C D", "bars 1-3, 1-2"),
        # Dal segno al coda: to the mark once more, then the coda.
        (["C", "D segno", "E tocoda", "F dalsegno", "G coda", "A"], "C D E F D E G A", "bars 1-4, 2-3, 5-6"),
        # Da capo alone goes to the end.
        (["C", "D", "E dacapo"], "C D E C D E", "bars 1-3, 1-3"),
        # After the jump a repeat is not taken, and of endings the last is played.
        (["C", "D repeat", "E dacapo"], "C D C D E C D E", "bars 1-2, 1-3, 1-3"),
        (["C", "D first", "E second", "F dacapo"], "C D C E F C E F", "bars 1-2, 1, 3-4, 1, 3-4"),
    ],
)
def test_marked_jumps_are_followed(tmp_path, bars, played, remark):
    """As common practice has it, and the order is said in the numbers of the page."""
    extra = {
        "repeat": barline('<repeat direction="backward"/>'),
        "first": barline('<ending number="1" type="start"/>') + barline('<repeat direction="backward"/>'),
        "second": barline('<ending number="2" type="start"/>'),
    }
    measures = []
    for bar in bars:
        name, _, mark = bar.partition(" ")
        measures.append(symbol(name) + (extra.get(mark) or (sound(mark) if mark else "")))
    page = read(tmp_path, measures)
    assert texts(page) == played.split()
    assert page.remarks == (f"the jumps are followed: {remark} as written, in this order",)


@pytest.mark.parametrize(
    ("marks", "said"),
    [
        (["dalsegno"], "a jump to the sign, and no sign; the bars are read in written order"),
        (["tocoda"], "a mark to the coda without a jump back is passed over"),
        (["fine"], "a fine without a jump back is passed over"),
        (["tocoda", "dacapo"], "a mark to the coda, and no coda; the bars are read in written order"),
    ],
)
def test_jumps_that_lead_nowhere_are_said(tmp_path, marks, said):
    """The bars stay in written order."""
    page = read(tmp_path, [symbol("C"), symbol("D") + "".join(map(sound, marks))])
    assert texts(page) == ["C", "D"]
    assert page.remarks == (f"bar 2: {said}",)


@pytest.mark.parametrize("words", ["D.S. al Coda", "D.C. al Fine", "Fine", "To Coda", "da capo"])
def test_jumps_in_words_alone_are_named(tmp_path, words):
    """With what can be done; and other words are none."""
    direction = f"<direction><direction-type><words>{words}</words></direction-type></direction>"
    page = read(tmp_path, [symbol("C"), symbol("D") + direction])
    assert texts(page) == ["C", "D"]
    assert page.remarks == (
        f"bar 2: {words!r} is only words and is not followed; mark the jump in the program it was written in, or write "
        "the form out",
    )
    assert read(tmp_path, [symbol("C") + direction.replace(words, "a fine tone")]).remarks == ()


def test_marks_open_sections_in_a_page_with_jumps(tmp_path):
    """Written out, a section for each stretch, with the label where its bar has one."""
    mark = "<direction><direction-type><rehearsal>B</rehearsal></direction-type></direction>"
    page = read(tmp_path, [symbol("C"), symbol("D") + sound("fine"), mark + symbol("E") + sound("dacapo")])
    assert [(section.label, len(section.bars)) for section in page.sections] == [("", 2), ("B", 1), ("", 2)]


def test_repeats_that_make_no_sense_are_left_out_whole(tmp_path):
    """No repeat and no ending stays, and the remark comes first of those about the whole."""
    forward = barline('<repeat direction="forward"/>')
    odd = barline('<ending number="2" type="start"/>') + symbol("E") + barline('<repeat direction="backward"/>')
    page = read(tmp_path, [forward + symbol("C"), forward + symbol("D"), odd])
    assert texts(page) == ["C", "D", "E"]
    assert page.remarks == ("the repeats are not understood; every bar is read once, in written order",)
    assert [(bar.opens, bar.closes, bar.endings) for bar in page.sections[0].bars] == [(False, 0, ())] * 3


def test_a_remark_that_two_places_share_is_said_once(tmp_path):
    """Remarks name their bar, so only the same bar's can be alike."""
    page = read(tmp_path, [symbol("C") + '<sound fine="yes"/><sound dacapo="yes"/>'])
    assert len(page.remarks) == 1


def test_two_thousand_measures_are_read_and_no_more(tmp_path):
    """At the limit a sheet is read, one past it is refused with both numbers."""
    assert len(read(tmp_path, [symbol("C"), *[""] * 1_999]).bars) == 2_000
    with pytest.raises(LeadSheetError, match="2,001 measures; expected at most 2,000"):
        read(tmp_path, [symbol("C"), *[""] * 2_000])


@pytest.mark.parametrize("text", ["<score-partwise/>", "<score><part><measure/></part></score>"])
def test_a_score_has_its_own_name_and_a_part(tmp_path, text):
    """One without the other is no lead sheet."""
    path = tmp_path / "other.musicxml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(LeadSheetError, match="expected a MusicXML score-partwise with a part"):
        read_musicxml(path)


@pytest.mark.parametrize(("more", "says"), [(0, "got <html>"), (1, "expected at most 16,000,000 bytes of XML")])
def test_a_file_of_16_million_bytes_is_looked_at_and_no_larger(tmp_path, more, says):
    """At the limit and one past it."""
    path = tmp_path / "large.musicxml"
    path.write_bytes(b"<html/>".ljust(16_000_000 + more))
    with pytest.raises(LeadSheetError, match=says):
        read_musicxml(path)


@pytest.mark.parametrize(("alter", "symbol_read"), [(-2, "C7#11"), (-3, "C7"), (2, "C7b13"), (3, "C7")])
def test_a_fifth_is_altered_by_two_semitones_at_most(tmp_path, alter, symbol_read):
    """What no quality has becomes the tension beside a perfect fifth; what is past two is passed over."""
    found = read(tmp_path, [symbol("C", "dominant", degree("alter", 5, alter))]).slots[0][1].sounding
    wanted = parse_chord(symbol_read, reduce=True)
    assert (found.quality, found.tensions) == (wanted.quality, wanted.tensions)


def test_another_root_element_is_named_as_far_as_forty_characters(tmp_path):
    """The message quotes what came."""
    path = tmp_path / "other.musicxml"
    path.write_text(f"<{'a' * 50}/>", encoding="utf-8")
    with pytest.raises(LeadSheetError, match=f"got <{'a' * 40}>"):
        read_musicxml(path)


@pytest.mark.parametrize(("deep", "fits"), [(200, True), (201, False)])
def test_elements_stand_inside_each_other_two_hundred_deep_at_most(tmp_path, deep, fits):
    """At the limit the file is looked at, one past it is refused, however many stood side by side before."""
    path = tmp_path / "deep.musicxml"
    path.write_text("<a>" + "<b></b>" * 300 + "<a>" * (deep - 1) + "</a>" * deep, encoding="utf-8")
    with pytest.raises(LeadSheetError, match="got <a>" if fits else "more than 200 elements deep"):
        read_musicxml(path)


def test_where_a_file_is_not_xml_is_counted_from_one(tmp_path):
    """Line and column as an editor counts them."""
    path = tmp_path / "broken.musicxml"
    path.write_text("<a>\n <b x></a>", encoding="utf-8")
    with pytest.raises(LeadSheetError, match=r"line 2, column 6: not XML"):
        read_musicxml(path)


def test_fifty_remarks_are_shown_and_the_rest_counted(tmp_path):
    """Fifty stand alone; of fifty-two the last row says that there are two more."""
    jump = '<sound fine="yes"/>'
    assert len(read(tmp_path, [symbol("C"), *[jump] * 50]).remarks) == 50
    page = read(tmp_path, [symbol("C"), *[jump] * 52])
    assert len(page.remarks) == 51 and page.remarks[-1] == "and 2 remarks more"
    assert page.remarks[49].startswith("bar 51:")


def test_fifty_kinds_that_are_not_understood_are_left_out_and_a_file_of_more_is_refused(tmp_path):
    """The same kind again is no other."""

    def page(count: int) -> list[str]:
        return [symbol("C"), *[symbol("C", f"odd {number}") for number in range(count)] * 2]

    assert texts(read(tmp_path, page(50)))[-1] == "C"
    with pytest.raises(LeadSheetError, match="more than 50 kinds of chord that are not understood; export it again"):
        read(tmp_path, page(51))


@pytest.mark.parametrize(("count", "reads"), [(20, "20/16"), (21, "4/4")])
def test_a_sum_of_beats_is_forty_characters_long_at_most(tmp_path, count, reads):
    """A longer one is not understood."""
    time = f"<time><beats>{'+'.join(['1'] * count)}</beats><beat-type>16</beat-type></time>"
    assert str(read(tmp_path, [attributes(time) + symbol("C")]).metre) == reads


def test_a_part_has_twenty_thousand_symbols_and_degrees_at_most(tmp_path):
    """Both are counted together; at the limit they are read, one past it refused with the number."""
    assert texts(read(tmp_path, [symbol("C", "dominant", degree("add", 9, -1) * 19_999)])) == ["C7(b9)"]
    with pytest.raises(LeadSheetError, match="20,001 chord symbols and degrees; expected at most 20,000"):
        read(tmp_path, [symbol("C"), symbol("C", "dominant", degree("add", 9, -1) * 19_999)])
