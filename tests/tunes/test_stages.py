"""The ten stages: the rules' bars note for note, every page of changes that ships, and the entry ticket."""

from __future__ import annotations

from datetime import UTC, datetime
from fractions import Fraction
from itertools import pairwise, product

import pytest
from hypothesis import given, settings

from drills.changes.changes_reading import parse_changes, read_changes
from drills.configuration.shipped import decks_folder
from drills.errors import EtudeError
from drills.harmony.chord_timeline import bar_starts
from drills.harmony.neck_map import map_lines, map_speech, neck_maps
from drills.harmony.root_path import PLANNED
from drills.lines.checker import check_line
from drills.lines.etude_options import EtudeOptions
from drills.lines.guide_tones import guide_tones
from drills.lines.line import CHROMATIC
from drills.neck.neck import Neck
from drills.neck.tuning import STANDARD, parse_tuning
from drills.shapes.finder import ShapeFinder
from drills.shapes.root_places import RootPlace
from drills.tunes.stages.etude_stages import frets_of_most, frets_of_path, near_the_path
from drills.tunes.stages.stage_material import comfortable_start, stage_material
from drills.tunes.stages.stage_table import STAGES, stage_lines
from drills.tunes.stages.ticket import StageTicket, ticket_of, ticket_subject
from scheduler.log.review_log import ReviewLog
from tests.strategies import progressions

FINDER = ShapeFinder(Neck())
TWO_FIVE_ONE = stage_material(parse_changes("Cm7 F7 Bbmaj7"), FINDER)


def shown(line) -> str:
    """The line as the rules print it: places, bars between |."""
    return " | ".join(" ".join(note.place for note in line.in_bar(bar.number)) for bar in line.changes.bars)


def places(number: int, given=TWO_FIVE_ONE) -> list[str]:
    """Every line of a stage as the rules print it."""
    return [shown(line) for line in stage_lines(number, given).lines]


# ---- drills/RULES.md, D2


def test_roots_from_three_strings():
    """Stage 1 plays the path from string 6, then from 5 and from 4 (rule D1)."""
    assert places(1) == ["C(6/8) | F(5/8) | Bb(4/8)", "C(5/3) | F(4/3) | Bb(5/1)", "C(4/10) | F(5/8) | Bb(4/8)"]
    assert stage_lines(1, TWO_FIVE_ONE).lines[0].title == "Roots, step by step, from string 6"


def test_grips_at_those_roots():
    """Stage 2 holds the grip that lives at each root (rule B5)."""
    assert places(2) == [
        "C(6/8) Bb(4/8) Eb(3/8) G(2/8) | F(5/8) C(4/10) Eb(3/8) A(2/10) | Bb(4/8) F(3/10) A(2/10) D(1/10)"
    ]


def test_spell_up():
    """Stage 3 spells R 3 5 7 in quarters (rules D2 and G21)."""
    assert places(3) == [
        "C(6/8) Eb(6/11) G(5/10) Bb(4/8) | F(5/8) A(4/7) C(4/10) Eb(3/8) | Bb(4/8) D(3/7) F(3/10) A(2/10)"
    ]
    fingers = [note.finger for note in stage_lines(3, TWO_FIVE_ONE).lines[0].in_bar(3)]
    assert fingers == [2, 1, 3, 4]  # without the octave (rule C1)


def test_two_chords_in_a_bar():
    """Two chords in a bar are R 3 5 7 in eighths, four in a bar R 3 7 in thirds of a beat (rule D2, stage 3); stage 4
    goes down the same tones, and stage 5 reaches four tones a chord too."""
    both = stage_material(parse_changes("| Cm7 F7 | Bbmaj7 |"), FINDER)
    assert places(3, both) == [
        "C(6/8) Eb(6/11) G(5/10) Bb(4/8) F(5/8) A(4/7) C(4/10) Eb(3/8) | Bb(4/8) D(3/7) F(3/10) A(2/10)"
    ]
    assert places(4, both)[0].startswith("Bb(4/8) G(5/10) Eb(6/11) C(6/8) Eb(3/8) C(4/10) A(4/7) F(5/8) |")
    assert all(len(line.in_bar(1)) == 8 for line in stage_lines(5, both).lines)
    four = stage_material(parse_changes("| Cm7 F7 Bbmaj7 Ebmaj7 | Cm7 |"), FINDER)
    assert places(3, four)[0].startswith("C(6/8) Eb(6/11) Bb(4/8) F(5/8) A(4/7) Eb(3/8) Bb(4/8) D(3/7) A(2/10) Eb(")
    assert [note.length for note in stage_lines(3, four).lines[0].in_bar(1)] == [Fraction(1, 3)] * 12
    down = places(4, four)[0].split(" | ")[0].split()
    assert down[:3] == ["Bb(4/8)", "Eb(6/11)", "C(6/8)"]


def test_spell_down_and_in_turns():
    """Stage 4 goes down from the 7th, then one up and the next down."""
    down, turns = places(4)
    assert down.startswith("Bb(4/8) G(5/10) Eb(6/11) C(6/8) | Eb(3/8) C(4/10) A(4/7) F(5/8)")
    assert turns.startswith("C(6/8) Eb(6/11) G(5/10) Bb(4/8) | Eb(3/8) C(4/10) A(4/7) F(5/8) | Bb(4/8)")


def test_connected_by_the_nearest_tone():
    """Stage 5 turns at every chord, or carries on to the top of the range, exactly as printed (rules D2, G21)."""
    assert places(5) == [
        "C(6/8) Eb(6/11) G(5/10) Bb(4/8) | A(4/7) F(5/8) Eb(5/6) C(6/8) | Bb(6/6) D(5/5) F(5/8) A(4/7)",
        "C(6/8) Eb(6/11) G(5/10) Bb(4/8) | C(4/10) Eb(3/8) F(3/10) A(2/10) | Bb(2/11) A(2/10) F(3/10) D(3/7)",
    ]
    for line, said in zip(stage_lines(5, TWO_FIVE_ONE).lines, ("tone", "tone in the line's direction"), strict=True):
        reasons = [note.why for note in line.notes if "nearest" in note.why]
        assert len(reasons) == 2 and all(f": its nearest {said}, " in why for why in reasons)


def test_guide_tones_as_printed():
    """Stage 6 has the two guide-tone lines of rule D2."""
    assert places(6) == ["Eb(3/8) | Eb(3/8) | D(3/7)", "Bb(4/8) | A(4/7) | A(4/7)"]


def test_mode_chromatics_and_space():
    """Stage 7 has chord tones on every beat; stage 8 chromatics; stage 9 rests and starts after the beat."""
    options = EtudeOptions(frets=(5, 12))
    mode, chromatic, space = (stage_lines(number, TWO_FIVE_ONE, options).lines[0] for number in (7, 8, 9))
    for note in mode.notes:
        assert note.beat.denominator == 2 or note.role == "chord tone"
    assert any(note.role == CHROMATIC for note in chromatic.notes)
    assert space.notes[0].beat == Fraction(3, 2), "start on the and of 1 (rule D2, stage 9)"
    assert sum(note.length for note in space.notes) < space.length
    for line in (mode, chromatic, space):
        assert check_line(line, frets=(5, 12)) == ()


def test_searched_stages_stay_by_the_path():
    """Unless frets are asked for, stages 7 to 9 keep to the frets of the arpeggios on the path (rule B5: the
    mode lies at the same place); where no line fits there, the whole neck is searched."""
    assert frets_of_path(TWO_FIVE_ONE) == (6, 11)  # A(4/7) to Eb(6/11), and a fret lower to make six
    for number in (7, 8, 9):
        for note in stage_lines(number, TWO_FIVE_ONE).lines[0].notes:
            assert 6 <= note.fret <= 11
    tried = []

    def find(options):
        tried.append(options.frets)
        if options.frets:
            raise EtudeError("nothing here")
        return "found"

    assert near_the_path(find, TWO_FIVE_ONE, EtudeOptions()) == "found" and tried == [(6, 11), None]


def test_a_wandering_path_is_narrowed_to_where_most_of_it_lies():
    """Over a page whose arpeggios lie at frets 7 to 15 the searched stages keep to the seven frets that hold most of
    their notes; where nothing is found there they go on as before."""
    page = parse_changes("| Fmaj7 | Gm7 C7 | Am7 D7 | Gm7 C7 | Fmaj7 F7 | Bbmaj7 Bbm7 |")
    material = stage_material(page, FINDER, start=comfortable_start(page, Neck()))
    low, high = frets_of_most(material)
    wide = frets_of_path(material)
    assert wide[1] - wide[0] >= 8 and high - low == 6 and wide[0] <= low
    inside = [place.fret for shape in material.shapes for place in shape.notes if place.fret]
    held = sum(low <= fret <= high for fret in inside)
    assert all(sum(start <= fret <= start + 6 for fret in inside) <= held for start in range(*wide))
    assert all(low <= note.fret <= high for note in stage_lines(7, material).lines[0].notes)


def test_a_path_begins_where_stretches_are_easy():
    """Near fret 8, on any root string (rule E: new stretches at fret 7 or above)."""
    for text, place in (("F7", (5, 8)), ("Cm7", (6, 8)), ("Bb7", (4, 8)), ("Em7", (5, 7)), ("Ab7", (4, 6))):
        found = comfortable_start(parse_changes(text), Neck())
        assert (found.string, found.fret) == place
        assert STANDARD.midi(*place) % 12 == parse_changes(text).slots[0][1].chord.root.pitch_class


def test_ten_stages_by_number():
    """There are ten, the last with nothing written; another number is refused."""
    assert [stage.number for stage in STAGES] == list(range(1, 11))
    assert stage_lines(10, TWO_FIVE_ONE).lines == ()
    with pytest.raises(EtudeError, match="stage 11: expected 1 to 10"):
        stage_lines(11, TWO_FIVE_ONE)


# ---- any changes


def sound(line, neck) -> None:
    """Every note sounds what it is called, lies on the neck and inside its bar, and follows the one before."""
    starts = bar_starts(line.changes)
    for note in line.notes:
        assert neck.sounding.midi(note.string, note.fret) == note.midi
        assert 0 <= note.fret <= neck.highest and (note.finger == 0) == (note.fret == 0)
        assert starts[note.bar - 1] <= note.start < note.end
        # Only a note that is struck before its beat sounds over a bar line, and then over that beat.
        assert note.end <= starts[note.bar] or note.start + note.early == starts[note.bar]
        metre = line.changes.bars[note.bar - 1].metre
        assert note.beat == 1 + (note.start - starts[note.bar - 1]) * metre.unit / 4
        assert note.length > 0 and note.why
    for before, after in pairwise(line.struck()):
        assert before[0].end <= after[0].start


@pytest.mark.parametrize("path", sorted(decks_folder().glob("*.changes")), ids=lambda path: path.stem)
def test_every_stage_over_every_shipped_page(path):
    """All ten stages over the changes that ship: real notes in time, chord tones where chord tones are asked."""
    given = stage_material(read_changes(path), FINDER)
    classes = {}
    for span in given.spans:
        classes[span.bar.number, span.slot.beat] = span.spelled.pitch_classes
    for number in range(1, 7):
        lines = stage_lines(number, given).lines
        assert lines
        for line in lines:
            sound(line, FINDER.neck)
            for note in line.notes:
                slot = max(beat for bar, beat in classes if bar == note.bar and beat <= note.beat)
                assert note.midi % 12 in classes[note.bar, slot]
    for number in (7, 8, 9):
        for line in stage_lines(number, given, EtudeOptions(frets=(3, 10))).lines:
            sound(line, FINDER.neck)
            assert check_line(line, frets=(3, 10)) == ()


@settings(max_examples=40)
@given(progressions(6))
def test_the_plain_stages_over_any_progression(text):
    """Stages 1 to 6 stand over any progression of the first four qualities, in whatever key."""
    material = stage_material(parse_changes(text), FINDER)
    for number in range(1, 7):
        for line in stage_lines(number, material).lines:
            sound(line, FINDER.neck)
    for line in stage_lines(5, material).lines:
        assert all(one.midi != other.midi for one, other in pairwise(line.notes))


@pytest.mark.parametrize("metre", ["3/4", "6/8", "5/4", "7/8", "12/8", "2/2"])
def test_stages_in_other_metres(metre):
    """Each stage fills bars of other metres."""
    material = stage_material(parse_changes(f"metre: {metre}\n| Cm7 | F7 | Bbmaj7 |"), FINDER)
    for number in range(1, 10):
        for line in stage_lines(number, material).lines:
            sound(line, FINDER.neck)
            if number < 9:
                assert sum(group[0].length for group in line.struck()) == line.length


def test_planned_path_and_other_instruments():
    """A walk may follow the planned path, and stages stand on a bass and on a low-G ukulele."""
    planned = stage_material(parse_changes("Cmaj7 Am7 Dm7 G7 Cmaj7"), FINDER, method=PLANNED, start=RootPlace(6, 8))
    assert places(1, planned)[0] == "C(6/8) | A(4/7) | D(6/10) | G(5/10) | C(4/10)"
    for tuning in ("E1 A1 D2 G2", "G3 C4 E4 A4"):
        neck = Neck(parse_tuning(tuning), scale_mm=500)
        material = stage_material(parse_changes("Cm7 F7 Bbmaj7"), ShapeFinder(neck))
        for number in (1, 3, 4, 5, 6):
            for line in stage_lines(number, material).lines:
                sound(line, neck)


def test_a_shape_that_does_not_fit_is_laid_elsewhere_and_said():
    """On twelve frets a chord whose arpeggio needs more lies at another root, and the line says so."""
    neck = Neck(top_fret=12)
    material = stage_material(parse_changes("Em7 A7"), ShapeFinder(neck))
    assert any("Em7 does not fit from string 6 fret 12" in remark for remark in material.remarks)
    for line in stage_lines(3, material).lines:
        sound(line, neck)
        assert line.remarks == material.remarks


# ---- guide tones, against every choice there is


@settings(max_examples=25)
@given(progressions(4))
def test_guide_tones_move_least(text):
    """No other choice of the places near the first moves the two voices fewer semitones in all."""
    changes = parse_changes(text)
    found = guide_tones(changes, Neck(), RootPlace(6, 8))
    first = (found.upper.notes[0], found.lower.notes[0])
    layers = []
    for _, slot in changes.slots:
        root, steps = slot.chord.root.pitch_class, slot.chord.quality.semitones
        third, seventh = (root + steps[1]) % 12, (root + steps[3]) % 12
        near = [
            (STANDARD.midi(string, fret), STANDARD.midi(string + 1, other))
            for string in range(1, 6)
            for fret, other in product(range(1, 16), repeat=2)
            if abs(string - first[0].string) <= 1
            and abs(fret - first[0].fret) <= 5
            and abs(other - first[0].fret) <= 5
            and abs(fret - other) <= 4
            and {STANDARD.midi(string, fret) % 12, STANDARD.midi(string + 1, other) % 12} == {third, seventh}
            and STANDARD.midi(string, fret) > STANDARD.midi(string + 1, other)
        ]
        assert near
        layers.append(sorted(set(near)))
    layers[0] = [(first[0].midi, first[1].midi)]
    least = min(sum(abs(a[0] - b[0]) + abs(a[1] - b[1]) for a, b in pairwise(way)) for way in product(*layers))
    voices = zip(found.upper.notes, found.lower.notes, strict=True)
    made = [(upper.midi, lower.midi) for upper, lower in voices]
    assert sum(abs(a[0] - b[0]) + abs(a[1] - b[1]) for a, b in pairwise(made)) == least


# ---- the whole neck


def test_the_whole_neck_of_each_chord():
    """Each different chord has one map, and it holds every place of its tones and no other (from pitches alone)."""
    changes = parse_changes("F7 Bb7 F7 F7 Bb7 Bdim7 F7 D7 Gm7 C7 F7 C7")
    maps = neck_maps(changes, Neck())
    assert [found.text for found in maps] == ["F7", "Bb7", "Bdim7", "D7", "Gm7", "C7"]
    assert maps[0].bars == (1, 3, 4, 7, 11)
    for found in maps:
        tones = found.chord.pitch_classes
        there = {place for place in product(range(1, 7), range(16)) if STANDARD.midi(*place) % 12 in tones}
        assert {(place.string, place.fret) for place in found.places} == there
        assert all(place.pitch.midi == STANDARD.midi(place.string, place.fret) for place in found.places)
        assert {place.pitch.note for place in found.places} == set(found.chord.notes)


@pytest.mark.parametrize("width", [40, 80])
def test_the_map_fits_its_width(width):
    """The drawing never passes the width, marks every root in brackets, and is spoken string by string."""
    found = neck_maps(parse_changes("Cm7"), Neck())[0]
    lines = map_lines(found, width=width)
    assert max(map(len, lines)) <= width
    roots = sum(place.degree == "1" for place in found.places)
    assert "\n".join(lines).count("[1]") == roots
    assert "\n".join(map_lines(found, labels="note", width=width)).count("[C]") == roots
    spoken = map_speech(found)
    assert spoken[1].startswith("string 6: fret 3 G 5; fret 6 Bb b7; fret 8 C 1")


# ---- the entry ticket


def test_a_stage_opens_when_the_one_before_was_in_time_twice():
    """Only passes in time of the highest open stage count; nothing is taken away; a closed stage is refused."""
    ticket = StageTicket()
    assert ticket.is_open(1) and not ticket.is_open(2)
    ticket = ticket.after(1, in_time=False)
    assert ticket.missing == 2
    ticket = ticket.after(1, in_time=True).after(1, in_time=False)
    assert (ticket.stage, ticket.missing) == (1, 1)
    ticket = ticket.after(1, in_time=True)
    assert (ticket.stage, ticket.missing) == (2, 2)
    assert ticket.after(1, in_time=True) == ticket
    with pytest.raises(EtudeError, match="stage 4: not open yet; play stage 2 in time 2 more times first"):
        ticket.after(4, in_time=True)
    assert StageTicket(10).after(10, in_time=True) == StageTicket(10) and StageTicket(10).missing == 0


def test_the_log_keeps_the_ticket(tmp_path):
    """Written to the log and read after reopening, the ticket is the same; another text is refused."""
    changes = parse_changes("Cm7 F7 Bbmaj7")
    subject = ticket_subject(changes, STANDARD)
    ticket = StageTicket(3, 1)
    with ReviewLog(tmp_path / "log.sqlite3") as log:
        log.ticket(subject, StageTicket(3).value, datetime(2026, 3, 1, 10, tzinfo=UTC))
        log.ticket(subject, ticket.value, datetime(2026, 3, 1, 11, tzinfo=UTC))
    with ReviewLog(tmp_path / "log.sqlite3") as log:
        assert ticket_of(log.state().tickets.get(subject)) == ticket
    assert ticket_of(None) == StageTicket()
    with pytest.raises(EtudeError, match="expected such as 'stage 3, 1 in time'"):
        ticket_of("third")


def test_changes_are_known_by_their_chords():
    """A title or another way of writing a repeat keeps the ticket; other chords or another tuning do not."""
    subject = ticket_subject(parse_changes("| Cm7 | F7 | Cm7 | F7 |"), STANDARD)
    assert ticket_subject(parse_changes("title: Ours\n|: Cm7 | F7 :|"), STANDARD) == subject
    assert ticket_subject(parse_changes("| Cm7 | F7 | Cm7 | Fm7 |"), STANDARD) != subject
    assert ticket_subject(parse_changes("| Cm7 | F7 | Cm7 | F7 |"), parse_tuning("D2 A2 D3 G3 B3 E4")) != subject


def test_lengths_are_exact():
    """Chords of a beat and a half are filled exactly."""
    material = stage_material(parse_changes("| Cm7*3/2 F7*5/2 |"), FINDER)
    for number in (1, 3):
        for line in stage_lines(number, material).lines:
            assert sum((note.length for note in line.notes), Fraction(0)) == 4
