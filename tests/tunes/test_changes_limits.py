"""Pages of changes at each limit and one past it, with the place and the words of every refusal."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from drills.changes.changes import Bar, Changes, Metre, Section, Slot, WrittenBar
from drills.changes.changes_reading import parse_changes, read_changes
from drills.changes.changes_source import changes_from, known_pages
from drills.changes.grammar import LONGEST_TEXT
from drills.changes.overrides import mode_of_override
from drills.changes.page_attributes import parse_metre
from drills.changes.playing_order import excerpt, played_bars
from drills.errors import ChangesError, TheoryError
from drills.theory.key import parse_key
from drills.theory.mode import mode_named
from drills.theory.symbol import parse_chord


def refusal(text: str) -> ChangesError:
    """What is said of a text that is refused."""
    with pytest.raises(ChangesError) as caught:
        parse_changes(text)
    return caught.value


def said(text: str) -> str:
    """The words of a refusal."""
    return str(refusal(text))


def played(text: str) -> str:
    """The chords of all bars in playing order."""
    return " ".join(slot.text for _, slot in parse_changes(text).slots)


@pytest.mark.parametrize("unit", [1, 2, 4, 8, 16, 32])
def test_a_metre_has_1_to_64_beats_of_a_note_value(unit):
    """Its length in quarters is beats times four over the unit; 0 and 65 beats and other units are refused."""
    for beats in (1, 2, 3, 5, 63, 64):
        assert Metre(beats, unit).quarters == Fraction(4 * beats, unit)
        assert str(Metre(beats, unit)) == f"{beats}/{unit}"
    for wrong in ((0, unit), (65, unit), (-1, unit), (4, unit + 64), (4, 3 * unit)):
        with pytest.raises(ChangesError, match=f"metre {wrong[0]}/{wrong[1]}: expected such as 4/4"):
            Metre(*wrong)
    assert Metre() == Metre(4, 4) and parse_metre(f" 3 / {unit} ") == Metre(3, unit)


@pytest.mark.parametrize("text", ["3", "3/", "/4", "100/4", "3/100", "-3/4", "3/4/4", "three/4"])
def test_a_metre_is_two_numbers(text):
    """The message quotes the text as far as 24 characters."""
    with pytest.raises(ChangesError, match="expected such as 4/4, 3/4 or 6/8"):
        parse_metre(text)
    with pytest.raises(ChangesError, match=f"metre '{'9' * 24}': expected"):
        parse_metre("9" * 30)


@pytest.mark.parametrize(
    ("tempo", "reads"), [("20", 20.0), ("400", 400.0), ("96.5", 96.5), ("100.125", 100.125), ("200 # fast", 200.0)]
)
def test_tempos_at_the_limits_are_read(tempo, reads):
    """20 and 400 quarter notes a minute, to a thousandth."""
    assert parse_changes(f"tempo: {tempo}\nC").tempo == reads


@pytest.mark.parametrize("tempo", ["19", "19.999", "400.001", "401", "1000", "96.1234", "-96", "9 6", "96."])
def test_tempos_past_the_limits_are_refused(tempo):
    """The message says what it is and what was expected, at the value's place."""
    assert said(f"tempo: {tempo}\nC") == (
        f"line 1, column 8: tempo {tempo!r}: expected quarter notes a minute, 20 to 400"
    )


def test_long_values_are_quoted_as_far_as_24_characters():
    """Tempo, feel, length and a word that does not fit."""
    long = "abcdefghijklmnopqrstuvwxyz"
    assert f"tempo {long[:24]!r}:" in said(f"tempo: {long}\nC")
    assert f"feel {long[:24]!r}: expected straight or swing" in said(f"feel: {long}\nC")
    assert f"length '*{long[:23]}': expected" in said(f"| C*{long} |")
    assert f"'*{long[:23]}' needs bar lines" in said(f"C*{long}")


@pytest.mark.parametrize(
    ("length", "fits"),
    [
        ("2", True), ("0.5", True), ("1.2345", True), ("3/2", True), ("7/250", True), ("1.12345", False),
        ("1000", False), ("1/0", False), ("1/1000", False), ("0", False), ("0.0", False), ("-1", False), ("x", False),
        ("", False), ("0.0001", True),
    ],
)  # fmt: skip
def test_lengths_are_beats_above_0_with_four_places_at_most(length, fits):
    """The rest of the bar goes to the chord without a length."""
    if fits:
        first, second = parse_changes(f"| C*{length} F |").bars[0].chords
        assert first.beats == Fraction(length) and first.beats + second.beats == 4
        assert second.beat == 1 + first.beats
    else:
        assert f"length {'*' + length!r}: expected beats such as *2, *1.5 or *3/2" in said(f"| C*{length} F |")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("| C*2 F*1 |", "got 3 beats; a pickup or a short bar stands in a section of its own: [pickup] metre: 3/4"),
        ("| C*5/2 F*1 |", "got 7/2 beats"),
        ("| C*3 F*2 |", "got 5 beats"),
        ("| C*3 F*1 G |", "got 4 beats and chords without a length"),
        ("| C*3 F*2 G |", "got 5 beats and chords without a length"),
        ("metre: 6/8\n| C*4 |", "expected 6 beats in 6/8, got 4 beats; a pickup or a short bar stands in a section "
         "of its own: [pickup] metre: 4/8"),
    ],
)  # fmt: skip
def test_lengths_that_do_not_fill_a_bar_are_refused(text, words):
    """A whole number of beats too short is offered as a pickup; other sums are not."""
    assert said(text).endswith(words)


def test_lengths_share_what_is_left():
    """Chords without a length have the same share of the rest of the bar."""
    assert [slot.beats for slot in parse_changes("| C*1 F G |").bars[0].chords] == [1, Fraction(3, 2), Fraction(3, 2)]
    assert [slot.beats for slot in parse_changes("metre: 3/4\n| C F*1.5 |").bars[0].chords] == [Fraction(3, 2)] * 2


@pytest.mark.parametrize(
    ("metre", "bar", "remarked"),
    [
        ("4/4", "C F G", "3 chords or holds share 4 beats, 4/3 each"), ("4/4", "C . F", "3 chords or holds share 4"),
        ("4/4", "C . .", None), ("4/4", "C F", None), ("3/4", "C F", None), ("3/4", "C D E F", None),
        ("3/4", "C . F . . . . .", None), ("5/4", "C F . . . . . . . . . . . . . .", "16 chords or holds share 5"),
        ("4/4", "C D E F G", "5 chords or holds share 4 beats, 4/5 each"),
    ],
)  # fmt: skip
def test_shares_that_are_no_half_quarter_or_eighth_of_a_beat_are_remarked(metre, bar, remarked):
    """A single chord that is held takes the bar whatever its shares, so nothing is said of it."""
    remarks = parse_changes(f"metre: {metre}\n| {bar} |").remarks
    assert len(remarks) == (remarked is not None)
    if remarked:
        assert remarks[0].startswith(f"line 2: {remarked}")


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("| Cm7 | C*2 . F |", (1, 13)), ("| Cm7 |\n| . C |", (2, 3)), ("| C |\n| F*5 |", (2, 3)),
        ("| C{Dorien} |", (1, 4)), ("| N.C.{Dorian} |", (1, 7)), ("| Cm7b7 |", (1, 7)), ("| (H7) |", (1, 4)),
        ("| C F |\n\n| C  Fmaj8 |", (3, 10)), ("key:   H", (1, 8)), ("\nmetre:x", (2, 7)), ("C |: | D", (1, 6)),
        ("| C |\n[", (2, 1)), ("| C |\n  {", (2, 3)), ("|", (1, 2)), ("| C |\n|", (2, 2)),
        ("| C |\n[A] |\n", (2, 6)), ("[A] C :|:", (1, 1)), ("C :| :|", (1, 6)), ("| C :|\n| :| D", (2, 3)),
    ],
)  # fmt: skip
def test_refusals_name_their_place(text, place):
    """Line and column count from 1, in the value and in the words; the end of a text is one past its last character."""
    error = refusal(text)
    assert (error.line, error.column) == place, str(error)
    assert str(error).startswith(f"line {place[0]}, column {place[1]}: ")


def test_what_is_expected_is_listed_in_one_order_with_or_before_the_last():
    """Chords first, then bar lines, line ends, sections and attributes; plainer words hide the rarer ones."""
    assert said("|") == "line 1, column 2: expected a chord such as Cm7, % or N.C., the text ends there"
    assert said("| \n") == "line 1, column 3: expected a chord such as Cm7, % or N.C., the line ends there"
    assert said("[A] [B]") == (
        "line 1, column 5: expected a chord such as Cm7, %, N.C., a bar line |, the end of the line or "
        "a line such as key: Bb, got '[B]'"
    )
    assert said("x3").startswith(
        "line 1, column 1: expected a chord such as Cm7, %, N.C., a bar line |, the end of the line, "
        "a section such as [A] or a line such as key: Bb, got 'x3'"
    )
    assert refusal("|").suggestions == ("a chord such as Cm7", "%", "N.C.")
    for empty in ("C |: | D", "C | :| D", "C || | D", "C |: |: D", "C | :|: D"):
        assert said(empty).endswith("; the bar is empty, write % to repeat the one before"), empty
    assert "the bar is empty" not in said("C | x2") and "the bar is empty" not in said("| C |1.")


@pytest.mark.parametrize(("mark", "hint"), [("{", "close it with }"), ("[", "close it with ]"), ("}", "take it out"),
                                            ("]", "take it out"), (":", "take it out")])  # fmt: skip
def test_a_mark_that_stands_alone_is_named_with_what_to_do(mark, hint):
    """Braces and brackets want closing; others want taking out."""
    assert said(f"| C |\n| {mark} D") == f"line 2, column 3: {mark!r} stands alone; {hint}"


def test_a_text_of_40_000_characters_is_read_and_no_more():
    """At the limit and one past it."""
    assert LONGEST_TEXT == 40_000
    body = "| C |\n#"
    assert len(parse_changes(body + "x" * (40_000 - len(body))).bars) == 1
    assert said(body + "x" * (40_001 - len(body))) == (
        "changes: expected at most 40,000 characters, got 40,001; is this a page of changes?"
    )


def test_a_file_of_as_many_characters_of_four_bytes_is_read(tmp_path):
    """The bound on a file is in characters, whatever bytes they take."""
    path, body = tmp_path / "wide.changes", "| C |\n#"
    path.write_text(body + "\U0001d11e" * (40_000 - len(body)), encoding="utf-8")
    assert len(read_changes(path).bars) == 1
    path.write_text(body + "\U0001d11e" * (40_001 - len(body)), encoding="utf-8")
    with pytest.raises(ChangesError, match=r"wide\.changes, .*at most 40,000 characters"):
        read_changes(path)
    path.write_text(body + "x" * 200_000, encoding="utf-8")
    with pytest.raises(ChangesError, match="got 160,001; is"):  # no more of it is read than tells that it is too long
        read_changes(path)
    path.write_bytes(b"| C |\n" + b"a" * 1_000 + b"\xff")
    with pytest.raises(ChangesError, match=r"not text in UTF-8 \(byte 1,006\)"):
        read_changes(path)


def test_labels_of_40_characters_and_titles_of_200_are_kept():
    """A longer label is refused, a longer title cut."""
    label = "abcdefghij" * 4
    assert parse_changes(f"[{label}] C |").sections[0].label == label
    assert "at most 40 characters" in said(f"[{label}k] C |")
    title = "".join(chr(97 + index % 26) for index in range(210))
    assert parse_changes(f"title: {title}\nC").title == title[:200]


def test_an_unknown_attribute_is_answered_with_at_most_two_near_ones():
    """Names near enough are offered, others not; synonyms are read."""
    assert refusal("titel: A\nC").suggestions == ("title", "feel")
    assert said("titel: A\nC").endswith("got 'titel'; did you mean title or feel?")
    assert said("zzz: A\nC").endswith("expected one of title, tempo, feel, form, key, metre, got 'zzz'")
    assert refusal("mode: A\nC").suggestions == ("metre",) and refusal("rate: A\nC").suggestions == ("title", "tempo")
    assert refusal("tem: A\nC").suggestions == ("tempo", "title")
    for name in ("metre", "meter", "time", "Time", "METER"):
        assert parse_changes(f"{name}: 3/4\nC").metre == Metre(3, 4)


@pytest.mark.parametrize("name", ["title", "tempo", "feel", "form"])
def test_what_belongs_at_the_head_is_said_once_and_there(name):
    """Key and metre may come again; the last of the head counts, and a section has its own."""
    value = {"title": "A", "tempo": "90", "feel": "swing", "form": "A"}[name]
    assert said(f"{name}: {value}\n{name}: {value}\n[A] C |") == f"line 2, column 1: {name}: written twice; keep one"
    assert said(f"[A] C |\n{name}: {value}").startswith(f"line 2, column 1: {name}: belongs at the head")
    assert said(f"{name}:\nC") == f"line 1, column 1: {name}: expected a value after the colon"
    page = parse_changes(
        "key: C\nkey: Bb\nmetre: 3/4\nmetre: 2/4\n[A] C |\nkey: F\nkey: none\nmetre: 5/4\nC |\n[B] C |"
    )
    assert [bar.key for bar in page.bars] == [parse_key("Bb"), None, parse_key("Bb")]
    assert [str(bar.metre) for bar in page.bars] == ["2/4", "5/4", "2/4"]
    assert (page.key, page.metre) == (parse_key("Bb"), Metre(2, 4))


def test_a_form_is_split_at_commas_or_else_at_spaces():
    """Labels with spaces need commas; empty places between commas are none."""
    page = parse_changes("form: the first, B,, the first\n[the first] C |\n[B] D |")
    assert page.form == ("the first", "B", "the first")
    assert parse_changes("form: B A\n[A] C |\n[B] D |").form == ("B", "A")
    assert said("form: B D\n[A] C |\n[] F |\n[B] D |").endswith("no section is labelled 'D'; sections: A, B")
    assert said("form: A\nC |").endswith("no section is labelled 'A'; sections: none")
    long = "abcdefghij" * 5
    assert f"no section is labelled '{long[:40]}';" in said(f"form: {long}\n[A] C |")
    assert said("form: A B\n[A] C |\n[A] D |\n[B] E |") == (
        "line 1, column 1: form: two sections are labelled 'A'; give each its own label"
    )
    assert played("form: B\n[A] C |\n[A] D |\n[B] E |") == "E"


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("|: C :| x1", "C"), ("|: C :| x9", "C C C C C C C C C"), ("|: C | D :|", "C D C D"), ("C :| D :|", "C C D D"),
        ("|: C :|: D :| x3 | E", "C C D D D E"), ("|: C |1,3. D :|2. E :|", "C D C E C D"),
        ("|: C |2. D :|1. E | F", "C E C D F"), ("|: C |1. D | E :|2. F | G", "C D E C F G"),
        ("|: C |1. D :|2. E :|3. F :|", "C D C E C F"), ("|: C | D |1. E :|2. F | G | A |", "C D E C D F G A"),
        ("C | D |: E |1. F :|2. G |: A :| B", "C D E F E G A A B"),
        ("C |1. D :|2. E |", "C D C E"), ("[A] C |: D :|\n[B] E :|", "C D D E E"),
        ("|: C |1,2,3. D :|4. E |", "C D C D C D C E"), ("|: C |1. D :|2. E | F :|", "C D C E F"),
    ],
)  # fmt: skip
def test_repeats_and_endings_are_played_in_order(text, order):
    """A repeat is played as often as said, with the ending of each pass; what follows is played once."""
    assert played(text) == order


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("|: C |\n|1. D :|", 2, "there is no ending 2; write |2. before its bars"),
        ("|: C |\n|2. D :|\n|3. E |", 2, "there is no ending 1; write |1. before its bars"),
        ("|: C |1. D :|\n|3. E |", 1, "there is no ending 2; write |2. before its bars"),
        ("C |\n|2. D | E", 2, "an ending 2. without a repeat; close the first ending with :|"),
        ("C |\n|: D | E", 2, "the repeat that begins here is not closed; write :| at its end"),
        ("|: C |\n|: D :|", 2, "a repeat begins inside another; close the first with :|"),
        ("|: C |1. D |\n|: E :|", 2, "a repeat begins inside another; close the first with :|"),
        ("|: C |1. D |\n|2. E :|", 2, "ending 2. begins before the ending before it is closed with :|"),
        ("|: C |1. D :|\n|1. E :|", 2, "ending 1. is written twice"),
        ("|: C |1,2. D :|\n|2. E |", 2, "ending 2. is written twice"),
    ],
)
def test_repeats_that_make_no_sense_are_refused_at_their_bar(text, line, words):
    """The place is the line of the bar, column 1."""
    error = refusal(text)
    assert str(error) == f"line {line}, column 1: {words}"
    assert (error.line, error.column) == (line, 1)


def test_bars_that_come_from_no_text_are_refused_without_a_place():
    """A bar made by a program has no line, and the message names none."""
    bar = WrittenBar((Slot(Fraction(1), Fraction(4), None, "N.C."),), Metre(), opens=True)
    with pytest.raises(ChangesError) as caught:
        played_bars((Section("", (bar,)),), ())
    assert str(caught.value) == "the repeat that begins here is not closed; write :| at its end"
    assert (caught.value.line, caught.value.column) == (0, 0)
    with pytest.raises(ChangesError) as caught:
        played_bars((), ())
    assert (caught.value.line, caught.value.column) == (1, 1)
    assert str(caught.value) == "no bar found; write chords, such as | Cm7 | F7 | Bbmaj7 |"


def test_a_percent_sign_stands_for_the_bar_before():
    """It keeps the chords and has a place of its own; it may open an ending, a first one only, and no section."""
    page = parse_changes("| Cm7 F7 | % |\n| % |")
    assert [bar.chords for bar in page.bars] == [page.bars[0].chords] * 3
    assert [[(slot.line, slot.column) for slot in bar.chords] for bar in page.bars] == [
        [(1, 3), (1, 7)], [(1, 12), (1, 12)], [(2, 3), (2, 3)],
    ]  # fmt: skip
    assert played("|: C |1. % :|2. D |") == "C C C D"
    assert played("C % D %") == "C C D D"
    assert said("|: C |1. % . :|2. D |").startswith("line 1, column 10: % stands for a whole bar")
    assert said("[A] C |\n[B] % |").startswith("line 2, column 5: % repeats the bar before")
    assert said("|: C |1. D :|2. % |").startswith("line 1, column 17: % at the start of a later ending")


def test_a_list_of_chords_without_bar_lines_goes_on_over_lines_sections_and_metres():
    """Each chord is a bar of its section's metre at its own place; a mode stays with its chord."""
    page = parse_changes("[A] metre: 3/4\nCm7{Dorian} F7\n[B]\nN.C. Bb\n%")
    assert [(bar.section, str(bar.metre), bar.chords[0].text, bar.chords[0].mode) for bar in page.bars] == [
        ("A", "3/4", "Cm7", "Dorian"), ("A", "3/4", "F7", ""), ("B", "4/4", "N.C.", ""), ("B", "4/4", "Bb", ""),
        ("B", "4/4", "Bb", ""),
    ]  # fmt: skip
    assert [(section.bars[0].line, section.bars[-1].line) for section in page.sections] == [(2, 2), (4, 5)]
    assert said("C . F") == "line 1, column 3: '.' needs bar lines; without any | each chord is a bar"
    assert said("1. C F") == "line 1, column 1: '1.' needs bar lines; without any | each chord is a bar"


def test_a_repeat_that_opens_no_bar_is_refused():
    """At the end of a section and of the page, named by the line of the last bar."""
    assert said("C |\nD |:") == "line 2, column 1: the repeat |: at the end opens no bar"
    assert said("C |:\n[B] D") == "line 2, column 1: the repeat |: before this section opens no bar"
    assert said("[A]\n|: C :| |:\n").startswith("line 2")
    assert said("C :|\n:| D") == "line 2, column 1: the repeat is closed twice"


@pytest.mark.parametrize("name", ["line", "column"])
def test_slots_and_bars_are_equal_wherever_they_stand(name):
    """Places in the text are not compared, nor are remarks and what stands around an excerpt."""
    slot = parse_changes("| C |").bars[0].chords[0]
    assert replace(slot, **{name: 77}) == slot
    bar = parse_changes("| C |").sections[0].bars[0]
    assert replace(bar, line=9) == bar and replace(bar, closes=2) != bar
    page = parse_changes("| C |")
    assert replace(page, remarks=("x",), before=page.bars, after=page.bars) == page
    assert repr(page) == repr(replace(page, before=page.bars, after=page.bars))


def test_values_without_places_say_nothing_of_them():
    """The defaults: no mode, no place, no key, no repeat, no ending, no form, 4/4, no tempo, no feel."""
    slot = Slot(Fraction(1), Fraction(4), None, "N.C.")
    assert (slot.mode, slot.line, slot.column) == ("", 0, 0)
    bar = WrittenBar((slot,), Metre(3, 4))
    assert (bar.key, bar.opens, bar.closes, bar.endings, bar.line) == (None, False, 0, (), 0)
    page = Changes("", (Section("", (bar,)),))
    assert (page.form, page.key, page.metre, page.tempo, page.feel) == ((), None, Metre(4, 4), None, "")
    assert (page.remarks, page.before, page.after) == ((), (), ())
    with pytest.raises(ValueError, match="beat 1: there is no chord here"):
        _ = slot.sounding


@pytest.mark.parametrize(
    ("symbol", "near"),
    [
        ("c5", ("C", "Cm", "Csus4")), ("Bb5/F", ("Bb/F", "Bbm/F", "Bbsus4/F")), ("Cm7#5", ("Cm7b13", "Cm7")),
        ("f#-7#5/E", ("F#m7b13/E", "F#m7/E")), ("Ebm7+5", ("Ebm7b13", "Ebm7")),
    ],
)  # fmt: skip
def test_common_symbols_that_are_no_chord_here_have_their_remedies_spelled_out(symbol, near):
    """Root and bass stay, in the order of the message."""
    error = refusal(f"| D | {symbol} |")
    assert error.suggestions == near and (error.line, error.column) == (1, 7)
    listed = f"{near[0]}, {near[1]} or {near[2]}" if len(near) == 3 else f"{near[0]}, or {near[1]}"
    assert f"chord {symbol!r}" in str(error) and f"write {listed}" in str(error)


def test_a_chord_in_brackets_and_a_2_are_read_at_their_place():
    """Inside its brackets a chord begins one column later; a 2 is a suspended second on any root."""
    page = parse_changes("| C | (F#m7) | Bb2/D | C2 |")
    assert [(slot.text, slot.column) for _, slot in page.slots] == [("C", 3), ("F#m7", 8), ("Bb2/D", 16), ("C2", 24)]
    assert page.remarks == ("line 1: (F#m7) is read as F#m7, which may be left out",)
    assert [page.slots[place][1].sounding.quality.name for place in (2, 3)] == ["sus2", "sus2"]


def test_a_players_own_mode_is_a_name_or_a_place_in_a_key():
    """The degree must be the chord's root; degrees of minor are those of harmonic minor."""
    assert mode_of_override("Dorian", parse_chord("Cm7")) == mode_named("Dorian")
    assert mode_of_override("ii of Bb", parse_chord("Cm7")).name == "Dorian"
    assert mode_of_override("V of C", parse_chord("G7")).name == "Mixolydian"
    harmonic = mode_of_override("V of C minor", parse_chord("G7"))
    assert [note.name for note in harmonic.notes(parse_chord("G7").root)] == ["G", "Ab", "B", "C", "D", "Eb", "F"]
    assert mode_of_override("vi in C", parse_chord("Am7")).name == "Aeolian"
    with pytest.raises(TheoryError, match="mode 'V of C': that degree is G, and the chord is A7"):
        mode_of_override("V of C", parse_chord("A7"))
    with pytest.raises(TheoryError) as caught:
        mode_of_override("Dorien", parse_chord("Cm7"))
    assert str(caught.value).endswith("; did you mean Dorian or Dorian b2?")
    for wrong, near in (("alt", "Altered"), ("minor", "melodic minor or harmonic minor"), ("mixo", "Mixolydian")):
        with pytest.raises(TheoryError) as caught:
            mode_of_override(wrong, parse_chord("Cm7"))
        assert str(caught.value).lower().endswith(f"; did you mean {near.lower()}?")
    for far in ("harm", "major"):
        with pytest.raises(TheoryError) as caught:
            mode_of_override(far, parse_chord("Cm7"))
        assert "did you mean" not in str(caught.value)
    with pytest.raises(TheoryError) as caught:
        mode_of_override("z" * 50, parse_chord("Cm7"))
    assert str(caught.value) == f"mode {'z' * 40!r}: expected a mode such as Dorian, or a place such as V of C minor"


def test_a_name_of_255_characters_names_a_page_and_a_longer_text_is_chords(tmp_path):
    """No file system names longer ones; what is longer is read as changes."""
    long = "C" * 247 + ".changes"
    assert len(long) == 255
    with pytest.raises(ChangesError, match="no such file; shipped pages"):
        changes_from(long)
    with pytest.raises(ChangesError, match="line 1, column"):
        changes_from("C" + long)
    with pytest.raises(ChangesError, match="no bar found"):
        changes_from("")
    for text in ("C | F", "C\nF", "C ; F"):
        assert len(changes_from(text).bars) == 2
    with pytest.raises(ChangesError, match="line 1, column"):
        changes_from("C\0.changes")


def test_a_file_is_named_by_its_path_even_with_a_bar_line_in_it(tmp_path):
    """Where such a file is there; its ending may be in capitals."""
    for name in ("a|b.changes", "a;b.CHANGES"):
        (tmp_path / name).write_text("| Am |\n", encoding="utf-8")
        assert len(changes_from(str(tmp_path / name)).bars) == 1
    pages = known_pages([tmp_path])
    assert "a|b" in pages and "blues-in-f" in pages
    with pytest.raises(ChangesError):
        changes_from(str(tmp_path / "c|d.changes"))


PAGE = parse_changes("title: T\nkey: F\n[A]\n|: F7 | Bb7 :|\n[B]\nmetre: 3/4\n| Gm7 | C7 |")


def bars_of(page: Changes) -> list[tuple[int, str, str, str]]:
    """Number, section, metre and first symbol of every bar."""
    return [(bar.number, bar.section, str(bar.metre), bar.chords[0].text) for bar in page.bars]


@pytest.mark.parametrize(("first", "last"), [(first, last) for first in range(1, 7) for last in range(first, 7)])
def test_an_excerpt_has_the_bars_asked_for_and_knows_those_around_it(first, last):
    """Every excerpt of a page of six played bars, counted anew from 1; an excerpt of an excerpt keeps the page."""
    part = excerpt(PAGE, first, last)
    wanted = [(number, *bar[1:]) for number, bar in enumerate(bars_of(PAGE)[first - 1 : last], 1)]
    assert bars_of(part) == wanted
    assert part.before == PAGE.bars[: first - 1] and part.after == PAGE.bars[last:]
    assert part.title == ("T" if (first, last) == (1, 6) else f"T, bars {first} to {last}")
    assert str(part.metre) == wanted[0][2] and part.form == () and part.key == PAGE.key
    # A section begins where the page's begins and where the excerpt does; the repeat's second pass begins one too.
    starts = sorted({first} | {place for place in (1, 3, 5) if first <= place <= last})
    assert [len(section.bars) for section in part.sections] == [
        end - start for start, end in zip(starts, [*starts[1:], last + 1], strict=True)
    ]
    inner = excerpt(part, len(part.bars), len(part.bars))
    assert inner.before == PAGE.bars[: first - 1] + part.bars[:-1] and inner.after == PAGE.bars[last:]


def test_an_excerpt_outside_the_page_is_refused():
    """The message names the bars there are, or the order to write them in."""
    for first, last in ((0, 3), (1, 7), (7, 7), (-1, 2)):
        with pytest.raises(ChangesError, match=f"bars {first} to {last}: expected first and last bar within 1 to 6"):
            excerpt(PAGE, first, last)
    with pytest.raises(ChangesError, match="bars 4 to 2: expected the first bar, then the last, such as 2-4"):
        excerpt(PAGE, 4, 2)
    assert excerpt(parse_changes("C F"), 1, 1).title == "Changes, bars 1 to 1"


def test_a_played_bar_knows_where_it_is_written():
    """Section and bar in it, both counted from 0, in the order of the form."""
    page = parse_changes("form: B A\n[A]\n|: C | D :|\n[B]\n| E |")
    assert [(bar.number, bar.section, bar.written) for bar in page.bars] == [
        (1, "B", (1, 0)), (2, "A", (0, 0)), (3, "A", (0, 1)), (4, "A", (0, 0)), (5, "A", (0, 1)),
    ]  # fmt: skip
    assert all(isinstance(bar, Bar) for bar in page.bars)
    assert [slot.text for _, slot in page.slots] == ["E", "C", "D", "C", "D"]
