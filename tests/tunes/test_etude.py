"""Etude lines: none breaks a hard rule, options are kept, the search is exact, any note can be changed."""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from random import Random

import numpy as np
import pytest
from music21 import harmony

from drills.changes.changes import Changes
from drills.changes.changes_reading import parse_changes
from drills.changes.changes_source import changes_from
from drills.errors import EtudeError
from drills.harmony.chord_timeline import spans_of
from drills.harmony.harmony import analyse
from drills.harmony.neck_layout import three_strings
from drills.lines.checker import check_line
from drills.lines.etude_line import change_note, demonstration, etude_line
from drills.lines.etude_options import EtudeOptions
from drills.lines.etude_search import cheapest_line
from drills.lines.etude_steps import steps_of
from drills.lines.hand_positions import NEVER, hands_of
from drills.lines.line import CHORD_TONE, CHROMATIC, MODE_NOTE
from drills.lines.owned_forms import owned_places
from drills.lines.rhythm import onsets
from drills.neck.neck import Neck
from drills.neck.tuning import parse_tuning
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import ARPEGGIO, Form
from drills.shapes.same_place import mode_over
from tests.strategies import USUAL_ROOTS, WRITTEN_SUFFIXES
from tests.theory.test_outside import FIGURES, m21

TWO_FIVE_ONE = parse_changes("Cm7 F7 Bbmaj7")
METRES = ("4/4", "4/4", "4/4", "3/4", "6/8", "5/4", "12/8", "2/2", "7/8")
DENSITIES = ("eighths", "eighths", "eighths", "quarters", "triplets", "space")
CHUNKS = 8


def random_changes(random: Random) -> Changes:
    """Two bars of any chords in any metre, sometimes two chords in a bar, now and then one of them silent."""

    def bar() -> str:
        count = random.choice((1, 1, 1, 2))
        chords = [random.choice(USUAL_ROOTS) + random.choice(WRITTEN_SUFFIXES) for _ in range(count)]
        if count == 2 and random.random() < 0.25:
            chords[random.randrange(2)] = "N.C."
        return " ".join(chords)

    bars = [bar(), bar()]
    return parse_changes(f"metre: {random.choice(METRES)}\n| {' | '.join(bars)} |")


@cache
def heard_by_music21(root: str, quality: str) -> frozenset[int] | None:
    """Pitch classes of a chord as music21 reads its symbol; None where it has no such symbol."""
    figure = FIGURES[quality][0]
    if figure is None:
        return None
    return frozenset(pitch.pitchClass for pitch in harmony.ChordSymbol(m21(root) + figure).pitches)


def confirm_strong_beats(line) -> int:
    """How many notes on a first or middle beat were looked up in music21; each must be a tone of its chord."""
    seen = 0
    for note in line.notes:
        bar = line.changes.bars[note.bar - 1]
        half = bar.metre.beats % 2 == 0 and note.beat == 1 + Fraction(bar.metre.beats, 2)
        if note.beat != 1 and not half:
            continue
        chord = next(slot for slot in reversed(bar.chords) if slot.beat <= note.beat).chord
        tones = heard_by_music21(chord.root.name, chord.quality.name)
        if tones is not None:
            seen += 1
            assert note.midi % 12 in tones, f"{note.place} over {chord.name}"
    return seen


@pytest.mark.parametrize("chunk", range(CHUNKS))
def test_a_thousand_lines_over_random_changes_break_no_hard_rule(chunk):
    """Of a thousand lines over random changes, options and metres none has a fault, by the separate checker; and
    on first and middle beats music21 hears chord tones only.

    Where no line exists within the frets drawn, that is said with the bar, and another is drawn.
    """
    random = Random(f"thousand {chunk}")
    neck = Neck()
    found, refused, confirmed = 0, 0, 0
    while found < 1000 // CHUNKS:
        changes = random_changes(random)
        low = random.randrange(1, 10)
        options = EtudeOptions(
            difficulty=random.choice((1, 2, 3)), density=random.choice(DENSITIES),
            direction=random.choice(("waves", "up", "down")), seed=random.randrange(10_000),
            frets=(low, low + random.choice((4, 5, 6))),
        )  # fmt: skip
        try:
            line = etude_line(changes, neck, options).line
        except EtudeError as error:
            assert "bar" in str(error) and "allow more frets" in str(error)
            refused += 1
            continue
        found += 1
        faults = check_line(line, frets=options.frets, most_frets=neck.highest)
        assert faults == (), f"{[str(fault) for fault in faults]} over {[slot.text for _, slot in changes.slots]}"
        confirmed += confirm_strong_beats(line)
    assert confirmed > 2 * found  # two bars each, and every bar begins on a strong beat unless the line rests there
    assert refused <= found // 10


def test_a_hundred_lines_over_a_two_five_one():
    """A hundred lines over ii-V-I: chord tones on 1 and 3, joins within four semitones, no repeats, fingers 1 to 4
    within five frets (drills/RULES.md, G22)."""
    lines = set()
    for seed in range(100):
        options = EtudeOptions(difficulty=1 + seed % 3, seed=seed, frets=(5 + seed % 3, 11))
        line = etude_line(TWO_FIVE_ONE, Neck(), options).line
        assert check_line(line, frets=options.frets) == ()
        chords = {1: "C Eb G Bb", 2: "F A C Eb", 3: "Bb D F A"}
        for note in line.notes:
            if note.beat in (1, 3):
                assert note.pitch.note.name in chords[note.bar].split()
            assert 1 <= note.finger <= 4
        for before, note in zip(line.notes, line.notes[1:], strict=False):
            size = abs(note.midi - before.midi)
            assert size > 0
            assert before.bar == note.bar or size <= 4
        lines.add(tuple(note.place for note in line.notes))
    assert len(lines) >= 90


def test_the_same_question_has_the_same_answer():
    """Changes, neck, options and seed decide the line; another seed gives another."""
    options = EtudeOptions(difficulty=3, seed=4)
    first, again = (etude_line(TWO_FIVE_ONE, Neck(), options).line for _ in range(2))
    assert first == again
    assert first.notes != etude_line(TWO_FIVE_ONE, Neck(), EtudeOptions(difficulty=3, seed=5)).line.notes


@pytest.mark.parametrize(
    ("difficulty", "roles"),
    [(1, {CHORD_TONE}), (2, {CHORD_TONE, MODE_NOTE}), (3, {CHORD_TONE, MODE_NOTE, CHROMATIC})],
)
def test_difficulty_says_which_notes_may_come(difficulty, roles):
    """Chord tones; then notes of the mode too; then approaches from a semitone, each kind really used."""
    used = set()
    for seed in range(4):
        line = etude_line(TWO_FIVE_ONE, Neck(), EtudeOptions(difficulty=difficulty, seed=seed)).line
        used |= {note.role for note in line.notes}
    assert used == roles


def test_chromatic_notes_lead_by_a_semitone_off_the_beat():
    """A chromatic note never falls on a beat and moves by a semitone into a chord tone, spelled with its own letter."""
    seen = 0
    for seed in range(8):
        notes = etude_line(TWO_FIVE_ONE, Neck(), EtudeOptions(difficulty=3, seed=seed)).line.notes
        for note, after in zip(notes, notes[1:], strict=False):
            if note.role == CHROMATIC:
                seen += 1
                assert note.beat.denominator == 2
                assert abs(after.midi - note.midi) == 1 and after.role == CHORD_TONE
                assert abs(after.pitch.diatonic_number - note.pitch.diatonic_number) <= 1
    assert seen >= 5


def test_range_and_frets_are_kept():
    """No note leaves the pitches and the frets asked for."""
    options = EtudeOptions(frets=(4, 9), pitches=(50, 69), seed=1)
    notes = etude_line(TWO_FIVE_ONE, Neck(), options).line.notes
    assert all(50 <= note.midi <= 69 and 4 <= note.fret <= 9 for note in notes)


@pytest.mark.parametrize(("direction", "sign"), [("up", 1), ("down", -1)])
def test_direction_leans_the_line(direction, sign):
    """Asked to go up, two bars end higher than they begin, and lower when asked to go down."""
    changes = parse_changes("Cm7 Cm7 Fm7 Fm7")
    rises = []
    for seed in range(5):
        line = etude_line(changes, Neck(), EtudeOptions(direction=direction, seed=seed)).line
        first, last = line.in_bar(1)[:4], line.in_bar(2)[-4:]
        rises.append(sum(note.midi for note in last) - sum(note.midi for note in first))
    assert all(sign * rise > 0 for rise in rises)


def test_density_sets_the_rhythm():
    """A note a beat, two, three; and phrases that leave rests and do not start on the first beat."""
    for density, count in (("quarters", 4), ("eighths", 8), ("triplets", 12)):
        line = etude_line(TWO_FIVE_ONE, Neck(), EtudeOptions(density=density)).line
        assert len(line.in_bar(1)) == count
    four = parse_changes("Cm7 F7 Bbmaj7 Bbmaj7")
    line = etude_line(four, Neck(), EtudeOptions(density="space")).line
    assert line.notes[0].beat > 1
    assert sum(note.length for note in line.notes) < line.length * 3 / 4


def test_rests_that_leave_a_chord_untold_are_drawn_anew():
    """A bridge that needs a 3rd or 7th on the one note that falls in its first two beats is still found, for every
    seed, and a note of it can be changed over the same rests."""
    page = changes_from("four-chord-round")
    etudes = [etude_line(page, Neck(), EtudeOptions(density="space", seed=seed)) for seed in range(6)]
    assert [check_line(etude.line) for etude in etudes] == [()] * 6
    drawn = next(etude for etude in etudes if etude.draw)
    other = change_note(drawn, 0)
    assert [note.start for note in other.line.notes] == [note.start for note in drawn.line.notes]


def test_nothing_sounds_where_no_chord_does():
    """A line is silent at N.C., and no note is held into it."""
    line = etude_line(parse_changes("| Cm7 | N.C. . F7 . | Bbmaj7 |"), Neck()).line
    assert all(note.end <= 4 or note.start >= 6 for note in line.notes)
    with pytest.raises(EtudeError, match="no chord sounds"):
        etude_line(parse_changes("| N.C. |"), Neck())


def test_every_note_says_why_it_is_there():
    """Each reason names the chord it speaks of, and a resolved seventh is told as such."""
    line = etude_line(parse_changes("Gm7 C7 Fmaj7"), Neck(), EtudeOptions(difficulty=3, seed=3)).line
    assert line.kind == "etude line"
    for note in line.notes:
        assert note.why
        if note.role != CHROMATIC:
            assert f"of {('Gm7', 'C7', 'Fmaj7')[note.bar - 1][0]}" in note.why
    reasons = [
        note.why
        for seed in range(12)
        for note in etude_line(parse_changes("Gm7 C7 Fmaj7"), Neck(), EtudeOptions(difficulty=3, seed=seed)).line.notes
    ]
    etude = etude_line(parse_changes("Gm7 C7 Fmaj7"), Neck(), EtudeOptions(frets=(1, 8)))
    # The 7th of C7 as the last note before Fmaj7, as in line C of the rules.
    led = change_note(etude, 15, 58).line
    assert led.notes[16].why.endswith("the seventh of C7 falls here")
    assert any("leads from a semitone below" in why for why in reasons)
    assert not any("improvis" in why.lower() for why in reasons)


# ---- change this note


def test_one_note_is_changed_and_the_rest_found_again():
    """The wanted note comes, the line stays free of faults, and little else moves."""
    etude = etude_line(TWO_FIVE_ONE, Neck(), EtudeOptions(seed=2))
    for index in range(0, len(etude.line.notes), 3):
        note = etude.line.notes[index]
        other = change_note(etude, index)
        assert other.line.notes[index].midi != note.midi
        assert check_line(other.line) == ()
        differing = sum(a.midi != b.midi for a, b in zip(etude.line.notes, other.line.notes, strict=True))
        assert 1 <= differing <= 4
        # A wish is kept when another note is changed after it.
        wished = change_note(etude, index, other.line.notes[index].midi)
        assert wished.line.notes[index].midi == other.line.notes[index].midi


def test_wishes_are_kept_and_impossible_ones_named():
    """Two wishes hold together; a note outside the chord on beat 1 is refused with the bar."""
    etude = etude_line(TWO_FIVE_ONE, Neck(), EtudeOptions(seed=2))
    once = change_note(etude, 3)
    wanted = once.line.notes[3].midi
    twice = change_note(change_note(etude, 3, wanted), 10)
    assert twice.line.notes[3].midi == wanted
    with pytest.raises(EtudeError, match="bar 2"):
        change_note(etude, 8, 64)  # E natural over F7, on beat 1
    with pytest.raises(EtudeError, match="note 99: expected 0 to"):
        change_note(etude, 99)


# ---- only forms the player owns


def test_only_owned_forms_are_used():
    """With three arpeggios and their modes owned, every note of the line lies in one of them."""
    finder = ShapeFinder(Neck())
    signatures = set()
    for span in spans_of(TWO_FIVE_ONE):
        for string in (6, 5, 4):
            for fret in finder.neck.frets_of(string, span.chord.root.pitch_class):
                if 5 <= fret <= 10:
                    arpeggio = finder.at(span.chord, ARPEGGIO, three_strings(string), fret)
                    signatures |= {arpeggio.signature, mode_over(finder, arpeggio, span.mode.name).signature}
    places = owned_places(TWO_FIVE_ONE, finder, {f"form:{signature}" for signature in signatures})
    line = etude_line(TWO_FIVE_ONE, finder.neck, EtudeOptions(places=places)).line
    assert all((note.string, note.fret) in places[note.bar - 1] for note in line.notes)
    assert check_line(line) == ()


def test_a_chord_without_an_owned_form_is_named():
    """Owning only the minor seventh, the player is told that F7 has no form yet."""
    finder = ShapeFinder(Neck())
    minor = finder.find(spans_of(TWO_FIVE_ONE)[0].chord, ARPEGGIO, three_strings(6))
    with pytest.raises(EtudeError, match=r"bar 2, F7: none of the forms you own"):
        owned_places(TWO_FIVE_ONE, finder, {minor.signature})


# ---- exactness


def _price(hands, steps, rows, columns) -> int:
    """The cost of a sequence of holds, by the rules as they are written down, one at a time."""
    intervals = {1: 0, 2: 0, 3: 1, 4: 1, 5: 3, 6: 5, 7: 4, 8: 7, 9: 7}
    total = 0
    keys = [int(hands.midi[row, column]) for row, column in zip(rows, columns, strict=True)]
    for index, step in enumerate(steps):
        row, column, key = rows[index], columns[index], keys[index]
        if not hands.valid[row, column] or step.cost[key] >= NEVER:
            return NEVER
        total += int(step.cost[key])
        if index == 0:
            continue
        before = steps[index - 1]
        size = key - keys[index - 1]
        if abs(size) not in intervals or (step.join and abs(size) > 4):
            return NEVER
        total += intervals[abs(size)]
        if step.leading:
            third, seventh = step.leading
            if keys[index - 1] % 12 == seventh and size not in (-1, -2):
                return NEVER
            if keys[index - 1] % 12 == third and size not in (1, 2):
                return NEVER
        if before.chromatic[keys[index - 1]]:
            if abs(size) != 1 or not step.chord_tone[key]:
                return NEVER
            if size == -1 and keys[index - 2] - keys[index - 1] not in (1, 2):
                return NEVER
        if rows[index] == rows[index - 1]:
            total += int(hands.pair[row, columns[index - 1], column])
        else:
            finger, last = int(hands.finger[row, column]), int(hands.finger[rows[index - 1], columns[index - 1]])
            near = abs(int(hands.moved[rows[index - 1], row])) <= (99 if step.far else 3)
            if index % 2 or not step.may_move or not near or (finger and finger == last):
                return NEVER
            total += int(hands.shift[rows[index - 1], row, finger])
        if index > 1:
            earlier = keys[index - 1] - keys[index - 2]
            if min(abs(size), abs(earlier)) >= 3 and size * earlier > 0:
                tones = [steps[index - 2 + part].chord_tone[keys[index - 2 + part]] for part in range(3)]
                if not (all(tones) and step.same and before.same):
                    return NEVER
            if index % 2 == 0 and keys[index - 2] == key:
                return NEVER
        if total >= NEVER:
            return NEVER
    heard = False
    for index, step in enumerate(steps):
        heard = bool(step.guide[keys[index]]) or (heard and not step.opens)
        if step.closes and not heard:
            return NEVER
    return total


@pytest.mark.parametrize("seed", range(6))
def test_no_line_is_cheaper_than_the_one_found(seed):
    """On four-string basses and narrow frets, where every line can be tried, none costs less than the one found."""
    random = Random(f"exact {seed}")
    neck = Neck(parse_tuning("E1 A1 D2 G2"), scale_mm=864, reach_limit_mm=140)
    changes = parse_changes(random.choice(("| Dm7 G7 |", "| Cm7 | F7 |", "| Fmaj7 E7 |", "metre: 3/4\n| Am7 | D7 |")))
    options = EtudeOptions(difficulty=1 + seed % 3, density="eighths" if seed % 2 else "quarters", seed=seed)
    low = 5
    hands = hands_of(neck, (low, low + 4))
    spans = spans_of(changes)
    rhythm = onsets(changes, spans, options.density, Random(1))[:5]
    compass = int(hands.midi[hands.valid].min()), int(hands.midi[hands.valid].max())
    steps = steps_of(changes, spans, rhythm, options, compass, Random(seed))

    best = [NEVER]

    def extend(rows, columns):
        price = _price(hands, steps[: len(rows)], rows, columns)
        closed = len(rows) == len(steps)
        if price >= best[0]:
            return
        if closed:
            best[0] = price
            return
        step = steps[len(rows)]
        for row, column in zip(*np.nonzero(hands.valid & (step.cost[hands.midi] < NEVER)), strict=True):
            if rows and row != rows[-1] and not (step.may_move and len(rows) % 2 == 0):
                continue
            extend([*rows, int(row)], [*columns, int(column)])

    found = cheapest_line(hands, steps, options.widest_shift)
    # The cost of what was found, over every hand that could play it.
    held = [
        [
            (row, column)
            for row in range(len(hands.midi))
            for column in range(hands.midi.shape[1])
            if hands.valid[row, column]
            and (hold.string, hold.fret, hold.finger)
            == (hands.string[row, column], hands.fret[row, column], hands.finger[row, column])
        ]
        for hold in found
    ]
    layers: list[list] = [[]]
    for options_here in held:
        layers = [
            [*way, place]
            for way in layers
            for place in options_here
            if not way or way[-1][0] == place[0] or len(way) % 2 == 0
        ]
    cost = min(_price(hands, steps, [row for row, _ in way], [column for _, column in way]) for way in layers)
    assert cost < NEVER
    best[0] = cost
    extend([], [])
    assert best[0] == cost


# ---- two choruses


@pytest.mark.parametrize(
    "text", ["F7 Bb7 F7 F7 Bb7 Bdim7 F7 D7 Gm7 C7 F7 C7", "Dm7b5 G7b9 Cm6 Cm6", "| Ebmaj7 C7 | Fm7 Bb7 | Eb6 |"]
)
def test_two_demonstration_choruses(text):
    """The first chorus is chord tones note for note; the second has only notes of each chord's mode, chord tones on
    beats 1 and 3 (rule G32)."""
    changes = parse_changes(text)
    first, second = demonstration(changes, Neck())
    modes = dict(zip([(bar.number, slot.beat) for bar, slot in changes.slots], analyse(changes), strict=True))

    def under(note):
        bar = changes.bars[note.bar - 1]
        slot = max((slot for slot in bar.chords if slot.beat <= note.beat), key=lambda slot: slot.beat)
        return slot.chord, modes[bar.number, slot.beat].mode

    for note in first.line.notes:
        assert note.midi % 12 in under(note)[0].pitch_classes
    for note in second.line.notes:
        chord, mode = under(note)
        assert (note.midi - chord.root.pitch_class) % 12 in mode.pitch_classes
        if note.beat in (1, 3):
            assert note.midi % 12 in chord.pitch_classes
    assert any(note.midi % 12 not in under(note)[0].pitch_classes for note in second.line.notes)
    assert first.line.title != second.line.title
    assert check_line(first.line) == check_line(second.line) == ()


# ---- other necks


@pytest.mark.parametrize("tuning", ["E1 A1 D2 G2", "E2 A2 D3 G3 C4 F4", "B1 E2 A2 D3 G3 B3 E4", "G3 C4 E4 A4"])
def test_other_tunings(tuning):
    """Lines are made and hold on a bass, on fourths, on seven strings and on a low-G ukulele."""
    neck = Neck(parse_tuning(tuning), reach_limit_mm=150)
    line = etude_line(TWO_FIVE_ONE, neck, EtudeOptions(seed=1)).line
    assert check_line(line, most_frets=neck.highest) == ()


def test_options_out_of_range_are_named():
    """Each wrong option is refused with what was expected."""
    for wrong, message in (
        ({"difficulty": 4}, "difficulty: expected 1, 2 or 3"),
        ({"density": "many"}, "density: expected one of quarters"),
        ({"direction": "left"}, "direction: expected one of waves"),
        ({"widest_shift": 13}, "widest_shift: expected 0 to 12"),
    ):
        with pytest.raises(EtudeError, match=message):
            EtudeOptions(**wrong)
    with pytest.raises(EtudeError, match="expected four frets or more within 0 to 15, got 14 to 16"):
        etude_line(TWO_FIVE_ONE, Neck(), EtudeOptions(frets=(14, 16)))


def test_a_line_that_cannot_be_is_refused_with_its_bar():
    """Asked for a range that holds no tone of the second chord, the tool names the bar and what to allow."""
    with pytest.raises(EtudeError, match=r"bar 2, F#maj7: no note .* allow more frets"):
        etude_line(parse_changes("Cmaj7 F#maj7"), Neck(), EtudeOptions(difficulty=1, pitches=(55, 57)))


def test_shapes_are_untouched_by_forms_unknown():
    """A signature nobody knows owns nothing."""
    finder = ShapeFinder(Neck())
    with pytest.raises(EtudeError, match="bar 1"):
        owned_places(TWO_FIVE_ONE, finder, {Form().id + "/0+0"})


def test_a_chromatic_note_that_falls_was_fallen_to_in_triplets_too():
    """Wherever in its beat it stands: up into its goal, or passing down from a semitone or a tone above."""
    falling = 0
    for seed in range(6):
        options = EtudeOptions(difficulty=3, density="triplets", seed=seed)
        notes = etude_line(TWO_FIVE_ONE, Neck(), options).line.notes
        for before, note, after in zip(notes, notes[1:], notes[2:], strict=False):
            if note.role == CHROMATIC and after.midi < note.midi:
                falling += 1
                assert before.midi - note.midi in (1, 2)
    assert falling >= 3
