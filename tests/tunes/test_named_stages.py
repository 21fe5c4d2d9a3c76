"""The stages beside the ten, and every stage kept to one string set (drills/RULES.md, D2)."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings

from drills.band.band import band
from drills.changes.changes_reading import parse_changes, read_changes
from drills.configuration.shipped import decks_folder
from drills.errors import EtudeError, NotPlayableError, TuningError
from drills.lines.checker import check_line
from drills.lines.comping import led_grips
from drills.lines.etude_line import demonstration
from drills.lines.etude_options import EtudeOptions
from drills.neck.neck import Neck
from drills.neck.strings import parse_strings
from drills.neck.tuning import parse_tuning
from drills.shapes.finder import ShapeFinder
from drills.tunes.stages.stage_material import stage_material
from drills.tunes.stages.stage_table import NAMED_STAGES, named_subject, stage_lines
from drills.tunes.stages.ticket import NamedTicket, named_ticket_of, ticket_subject
from drills.tunes.tune_deck import stops_and_joints
from tests.strategies import progressions

FINDER = ShapeFinder(Neck())
SETS = [parse_strings(text) for text in ("654", "543", "432")]


def degrees(notes) -> str:
    return " ".join(note.degree.removeprefix("b") for note in notes)


@pytest.mark.parametrize(
    ("text", "strings", "frets"),
    [("Am7 D7 Gmaj7", "654", [2, 3, 5, 7, 8, 10, 12]), ("Dm7 G7 Cmaj7", "543", [2, 3, 5, 7, 8, 10, 12]),
     ("Gm7 C7 Fmaj7", "432", [2, 3, 5, 7, 8, 10, 12])],
)  # fmt: skip
def test_the_seven_arpeggios_of_a_key_lie_up_one_set(text, strings, frets):
    """G on 6-5-4, C on 5-4-3 and F on 4-3-2, at the frets of rule G26 with its seventh chord at fret 2, each R 3 5 7 8
    7 5 3 in eighths, and only on that set."""
    on = parse_strings(strings)
    (line,) = stage_lines("key", stage_material(parse_changes(text), FINDER, on=on)).lines
    bars = [line.in_bar(number) for number in range(1, 8)]
    assert [bar[0].fret for bar in bars] == frets
    assert all(degrees(bar) == "1 3 5 7 8 7 5 3" for bar in bars)
    assert {note.length for note in line.notes} == {Fraction(1, 2)}
    assert {note.string for note in line.notes} == set(on.numbers)
    assert len(line.changes.bars) == 7
    names = {slot.chord.name for _, slot in line.changes.slots}
    assert names == {chord.name for chord in line.changes.key.chords()}, "the chords of the key, each once"


def test_the_seven_arpeggios_of_any_page_are_sound():
    """Every shipped page, each core set: the notes sound what they are called and are the chord's."""
    for path in sorted(decks_folder().glob("*.changes")):
        for on in SETS:
            (line,) = stage_lines("key", stage_material(read_changes(path), FINDER, on=on)).lines
            for note in line.notes:
                chord = line.changes.bars[note.bar - 1].chords[0].chord
                assert note.midi % 12 in chord.pitch_classes
                assert FINDER.tuning.midi(note.string, note.fret) == note.midi


def test_two_octaves_fill_a_bar_and_turn():
    """R 3 5 7 twice in eighths from string 6 (rule B3, item 3); in turns the second chord comes down from the top."""
    given_ = stage_material(parse_changes("Cmaj7 Dm7 Cmaj7 F7"), FINDER)
    up, turns = stage_lines("octaves", given_).lines
    assert " ".join(note.place for note in up.in_bar(1)) == (
        "C(6/8) E(5/7) G(5/10) B(4/9) C(4/10) E(3/9) G(2/8) B(1/7)"
    )
    first = [note.midi for note in turns.in_bar(1)]
    second = [note.midi for note in turns.in_bar(2)]
    assert first == sorted(first) and second == sorted(second, reverse=True)
    assert [len(up.in_bar(bar.number)) for bar in up.changes.bars] == [8] * 4
    with pytest.raises(NotPlayableError, match="two octaves on strings 6-5-4: they need 5 strings or more"):
        stage_lines("octaves", stage_material(parse_changes("Cmaj7"), FINDER, on=SETS[0]))


@settings(max_examples=12)
@given(progressions(4))
def test_every_stage_stays_on_its_set(text):
    """Roots, grips, spelling, connecting and guide tones over any progression, on each core set."""
    for on in SETS:
        material = stage_material(parse_changes(text), FINDER, on=on)
        for number in range(1, 7):
            lines = stage_lines(number, material).lines
            assert lines and all(note.string in on.numbers for line in lines for note in line.notes)
        assert all(note.string == on.numbers[0] for line in stage_lines(1, material).lines for note in line.notes)


@pytest.mark.parametrize("strings", ["654", "543", "432"])
def test_searched_lines_and_choruses_stay_on_their_set(strings):
    """Stages 7 to 9 and the two choruses break no hard rule on three strings."""
    on = parse_strings(strings)
    page = parse_changes("Cm7 F7 Bbmaj7 G7")
    given_ = stage_material(page, FINDER, on=on)
    found = [line for number in (7, 8, 9) for line in stage_lines(number, given_).lines]
    found += [etude.line for etude in demonstration(page, Neck(), EtudeOptions(strings=on.numbers))]
    for line in found:
        assert check_line(line) == ()
        assert line.notes and {note.string for note in line.notes} <= set(on.numbers)


def test_grips_of_a_track_lie_on_the_set_asked_for():
    """Four-note grips on four strings, shells on three; the band takes the same set, and a set that is not is named."""
    chords = tuple(slot.chord for _, slot in parse_changes("Cm7 F7 Bbmaj7").slots)
    for text, size in (("5432", 4), ("543", 3)):
        on = parse_strings(text)
        for grip in led_grips(FINDER, chords, on=on):
            assert len(grip.places) == size and {string for string, _ in grip.places} <= set(on.numbers)
    page = parse_changes("Cm7 F7 Bbmaj7")
    keys = [
        {tone.midi for tone in band(page, FINDER, on=on, without=("bass", "drums")).tones if tone.voice == "comping"}
        for on in (None, parse_strings("543"))
    ]
    assert keys[0] != keys[1] and max(keys[1]) <= FINDER.tuning.midi(3, 15)
    with pytest.raises(TuningError):
        stage_material(page, ShapeFinder(Neck(parse_tuning("E1 A1 D2 G2"))), on=parse_strings("654"))


def test_a_tune_on_one_set_has_all_its_chords_there():
    """Its stops and joints lie on that set, and none is left out."""
    page = parse_changes("Cm7 F7 Bbmaj7 G7")
    for on in SETS:
        found = stops_and_joints(page, Neck(), (), (on,))
        assert {stop.strings for stop in found.stops} == {on}
        assert {stop.chord.name for stop in found.stops} == {"Cm7", "F7", "Bbmaj7", "G7"}


def test_a_named_stage_has_a_ticket_of_its_own():
    """Always open, done after two passes in time, kept apart by page, stage and string set; numbers keep theirs."""
    ticket = NamedTicket()
    assert ticket.is_open(0) and ticket.missing == 2
    once = ticket.after(0, True)
    assert (once.value, once.missing, once.after(0, False)) == ("1 in time", 1, once)
    assert once.after(0, True) == once.after(0, True).after(0, True) == NamedTicket(2)
    assert [named_ticket_of(value) for value in (None, "0 in time", "2 in time")] == [
        NamedTicket(), NamedTicket(), NamedTicket(2)
    ]  # fmt: skip
    with pytest.raises(EtudeError, match="expected such as '1 in time'"):
        named_ticket_of("stage 3, 1 in time")
    page = parse_changes("Cm7 F7 Bbmaj7")
    subjects = {
        named_subject(stage.word, stage_material(page, FINDER, on=on))
        for stage in NAMED_STAGES
        for on in (*SETS, None)
        if not (stage.word == "octaves" and on)
    }
    # On three sets and on all strings; the stage of the key without a set is that of the lowest, and octaves need all.
    assert len(subjects) == 4 * (len(NAMED_STAGES) - 1)
    assert ticket_subject(page, FINDER.tuning) not in subjects
    with pytest.raises(EtudeError, match="stage 'none': expected 1 to 10, or key, octaves"):
        stage_lines("none", stage_material(page, FINDER))
