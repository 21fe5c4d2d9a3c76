"""Lines that breathe: the grammar of rhythms, notes struck before their beat, and what becomes of them everywhere."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from random import Random

import pytest
from music21 import converter

from drills.changes.changes_reading import parse_changes
from drills.changes.changes_source import changes_from
from drills.harmony.chord_timeline import bar_starts, spans_of
from drills.lines.backing import line_score
from drills.lines.checker import check_line, heard_under
from drills.lines.etude_line import change_note, demonstration, etude_line
from drills.lines.etude_options import EtudeOptions
from drills.lines.line_text import line_json, line_speech, tab_lines
from drills.lines.onset import is_strong
from drills.lines.phrase_rhythm import CELLS, phrased
from drills.lines.rhythm import onsets
from drills.lines.score_xml import line_musicxml
from drills.neck.neck import Neck
from tests.tunes.measure_lines import figures, made_lines, progressions

HALF = Fraction(1, 2)
BLUES = changes_from("blues-in-f")
FOUR = ("| Cm7 | F7 | Bbmaj7 | G7 |", "metre: 3/4\n| Cm7 | F7 | Bbmaj7 | G7 |", "metre: 5/4\n| Cm7 | F7 | Bbmaj7 |",
        "metre: 2/2\n| Cm7 | F7 | Bbmaj7 | G7 |", "| Cm7 F7 | Bbmaj7 | Am7b5 D7 | Gm7 |")  # fmt: skip


def line_of(page, seed: int = 0, difficulty: int = 2):
    return etude_line(page, Neck(), EtudeOptions(difficulty=difficulty, density="phrases", seed=seed)).line


@pytest.mark.parametrize("text", FOUR)
def test_a_phrase_is_a_rhythm_that_can_be_played(text):
    """Over 200 drawings: onsets in order and apart, no note longer than to the next, one struck early only half a beat
    before a strong beat with nothing between, and air after most phrases."""
    page = parse_changes(text)
    spans, starts = spans_of(page), bar_starts(page)
    early = rests = 0
    for seed in range(200):
        found = onsets(page, spans, "phrases", Random(seed))
        for one, other in zip(found, found[1:], strict=False):
            assert one.struck < other.struck
            assert one.start + one.length <= other.struck and one.length > 0
            rests += one.start + one.length < other.struck
        for onset in found:
            assert starts[onset.bar] <= onset.start < starts[onset.bar + 1]
            if onset.early:
                early += 1
                assert onset.early == HALF
                assert is_strong(page.bars[onset.bar].metre, onset.start - starts[onset.bar])
    assert early > 60 and rests > 100


@pytest.mark.parametrize("text", FOUR)
def test_a_triplet_is_played_to_its_end(text):
    """No beat holds a third and its half: nothing is struck early inside a triplet (drills/RULES.md, D4)."""
    page = parse_changes(text)
    spans, thirds = spans_of(page), 0
    for seed in range(100):
        found = onsets(page, spans, "phrases", Random(seed), triplets=True)
        divided = {onset.struck // 1 for onset in found if onset.struck.denominator == 3}
        halved = {onset.struck // 1 for onset in found if onset.struck.denominator == 2}
        thirds += len(divided)
        assert not divided & halved
    assert thirds > 60


def test_a_note_never_sounds_into_another_chord_unless_it_belongs_there():
    """A note of the old chord is let go where its chord ends; one struck early is of the new."""
    page = parse_changes("| Cm7 F7 | Bbmaj7 Gm7 | Cm7 F7 | Bbmaj7 |")
    spans = spans_of(page)
    for seed in range(100):
        for onset in onsets(page, spans, "phrases", Random(seed)):
            span = next(each for each in spans if each.start <= onset.start < each.end)
            assert onset.start + onset.length <= span.end


def test_an_answer_takes_up_its_call():
    """The rhythm of a phrase's first bar comes again in the next phrase about as often as it is drawn to."""
    bars, starts = BLUES.bars, bar_starts(BLUES)
    again = counted = 0
    for seed in range(100):
        found = phrased(bars, starts, Random(seed), early=False)
        first = {onset.bar: [] for onset in found}
        for onset in found:
            first[onset.bar].append(onset.start - starts[onset.bar])
        counted += 1
        again += any(first.get(0) == first.get(bar) for bar in (2, 4))
    assert 0.4 < again / counted < 0.85
    assert {cell.name for cell in CELLS} >= {"held", "short long short", "on the ands", "triplet and two"}


@pytest.mark.parametrize("difficulty", [1, 2, 3])
def test_hard_rules_hold_with_beats_struck_early(difficulty):
    """Over progressions in many keys the separate checker finds nothing, and each early note is of its beat's chord."""
    seen = 0
    for seed, page in enumerate(progressions(4)):
        line = line_of(page, seed, difficulty)
        assert check_line(line) == ()
        for each in heard_under(line)[0]:
            if each.note.early:
                seen += 1
                assert each.place in (0, 2) and each.at == each.note.start + HALF
                assert each.note.midi % 12 in each.chord.pitch_classes
    assert seen > 15


def test_the_checker_hears_an_early_note_with_the_chord_of_its_beat():
    """The same note under the chord that sounds as it is struck is at fault, and so is one that reaches no beat."""
    line = line_of(BLUES, 1)
    index, note = next((index, note) for index, note in enumerate(line.notes) if note.early and note.beat > 4)
    after = [slot.chord for _, slot in BLUES.slots][note.bar]
    assert note.midi % 12 in after.pitch_classes

    def with_note(**changed):
        notes = list(line.notes)
        notes[index] = replace(note, **changed)
        return replace(line, notes=tuple(notes))

    assert check_line(line) == ()
    short = check_line(with_note(length=HALF))
    assert any("anticipates no beat" in str(fault) for fault in short)
    quarter = check_line(with_note(early=Fraction(1, 4)))
    assert any(fault.index == index for fault in quarter)


def test_even_eighths_are_what_they_were():
    """Asked for, they have no rest and nothing early; and a page in 6/8 keeps to the plain phrases."""
    eighths = etude_line(BLUES, Neck(), EtudeOptions(density="eighths")).line
    assert not any(note.early for note in eighths.notes)
    assert {note.length for note in eighths.notes[:-1]} == {HALF}
    six = parse_changes("metre: 6/8\n| Cm7 | F7 | Bbmaj7 | G7 |")
    plain = onsets(six, spans_of(six), "space", Random(1))
    assert onsets(six, spans_of(six), "phrases", Random(1)) == plain


def test_every_shipped_kind_of_page_gets_a_line_that_breathes():
    """Two chords a bar, four a bar, silence, one bar alone, long pages: a line is found, plainer where it must be."""
    for text in ("| Cm7 F7 Bbmaj7 G7 | Cm7 F7 | Bbmaj7 |", "| Cm7 | N.C. | F7 | Bbmaj7 |", "| Cm7 |",
                 "| C7 | C7 | C7 | C7 | F7 | F7 |"):  # fmt: skip
        line = line_of(parse_changes(text))
        assert line.notes and check_line(line) == ()
    silent = line_of(parse_changes("| Cm7 | N.C. | F7 | Bbmaj7 |"), 3)
    assert all(note.end <= 4 or note.start >= 8 for note in silent.notes)


def test_a_note_of_it_can_be_changed_and_two_choruses_shown():
    """The rhythm stays; and the first chorus is chord tones note for note (rule G32), early notes by their beat."""
    etude = etude_line(BLUES, Neck(), EtudeOptions(density="phrases", seed=2))
    other = change_note(etude, 5)
    assert [(note.start, note.early) for note in other.line.notes] == [
        (note.start, note.early) for note in etude.line.notes
    ]
    assert other.line.notes[5].midi != etude.line.notes[5].midi and check_line(other.line) == ()
    for each in heard_under(demonstration(BLUES, Neck(), EtudeOptions(density="phrases"))[0].line)[0]:
        assert each.note.midi % 12 in each.chord.pitch_classes


@pytest.mark.parametrize("seed", range(3))
def test_musicxml_ties_a_note_over_the_bar_line_and_music21_reads_it_back(seed):
    """Every note comes back at its time, at its pitch and as long as it sounds, ties taken together."""
    line = line_of(BLUES, seed)
    assert any(note.early and note.beat > 4 for note in line.notes)
    score = converter.parse(line_musicxml(line), format="musicxml")
    staff = score.parts[0].stripTies()
    read = [(Fraction(each.getOffsetInHierarchy(staff)).limit_denominator(96), each.pitch.midi,
             Fraction(each.quarterLength).limit_denominator(96)) for each in staff.recurse().notes
            if each.isNote]  # fmt: skip
    assert read == [(note.start, note.midi, note.length) for note in line.notes]


def test_an_early_note_is_shown_said_told_and_heard():
    """Tablature holds it over the bar line, speech and reason say it, data carries it, and it sounds early."""
    page = parse_changes("feel: straight\ntempo: 60\n| Cm7 | F7 | Bbmaj7 | G7 |")
    line = next(line for line in (line_of(page, seed) for seed in range(20)) if any(n.early for n in line.notes))
    note = next(note for note in line.notes if note.early)
    assert "struck half a beat early, before beat" in note.why
    assert any("before its beat" in text for text in line_speech(line))
    data = [each for each in line_json(line)["notes"] if "early" in each]
    assert len(data) == sum(each.early > 0 for each in line.notes) and data[0]["early"] == 0.5
    sounding = [tone for tone in line_score(line).tones if tone.midi == note.midi]
    assert any(abs(tone.start_s - float(note.start)) < 1e-9 for tone in sounding)
    counts = [text for text in tab_lines(line, row="") if text.startswith("    ")]
    assert any("  ." in text or " . " in text for text in counts)


def test_lines_lie_beside_solos_where_the_page_says():
    """The figures of drills/lines/MEASURED.md, on some of its lines: most onsets off the beat, phrases begun off it
    two times of three, steps more than leaps, air between phrases."""
    found = figures(made_lines(progressions(5)))
    value = {name: float(text.split()[0].rstrip("%,")) for name, text in found.items()}
    assert 50 <= value["onsets off the beat"] <= 70
    assert 40 <= value["phrases that begin off the beat"] <= 90
    assert value["intervals: a semitone"] + value["intervals: a tone"] > 55
    assert value["intervals: same note"] == 0
    assert 0.4 <= value["bars from its last onset to the next phrase, median"] <= 1.1
    assert value["chord tones on beats 1 and 3"] == 100
