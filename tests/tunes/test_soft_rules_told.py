"""The soft rules of a line (D4, 10 to 18) told a second time in plain loops, over melodies of every kind."""

from __future__ import annotations

from fractions import Fraction
from random import Random

import pytest

from drills.harmony.chord_timeline import bar_starts
from drills.harmony.harmony import analyse
from drills.lines.checker_soft import SOFT_RULES, SoftFault, soft_faults, soft_score
from drills.lines.line import Line
from tests.tunes.melodies import melody


def under(line: Line) -> list[tuple]:
    """For each note: the chord, the stretch of one chord, the place in its bar, and the classes of chord and mode."""
    bars = bar_starts(line.changes)
    functions, stretches, number = iter(analyse(line.changes)), [], -1
    before: object = ()
    for bar, start in zip(line.changes.bars, bars, strict=False):
        for slot in bar.chords:
            function, chord = next(functions), slot.chord
            kind = None if chord is None else (chord.root.pitch_class, chord.quality.name)
            at = start + (slot.beat - 1) * 4 / bar.metre.unit
            if kind != before:
                number, before = number + 1, kind
            classes: set[int] = set()
            if chord is not None:
                classes = {note.pitch_class for note in chord.notes}
            scale = set(classes)
            if chord is not None and function is not None and function.mode is not None:
                scale |= {note.pitch_class for note in function.mode.notes(chord.root)}
            stretches.append((at, at + slot.beats * 4 / bar.metre.unit, chord, number, classes, scale))
    found = []
    for note in line.notes:
        _, _, chord, stretch, classes, scale = next(each for each in reversed(stretches) if each[0] <= note.start)
        length = sum(each[1] - each[0] for each in stretches if each[3] == stretch)
        found.append((note, chord, stretch, note.start - bars[note.bar - 1], classes, scale, length))
    return found


def told(line: Line) -> list[tuple[str, int, str]]:
    """Rule, count and message of every soft rule broken."""
    notes = under(line)
    if not notes:
        return []
    keys = [each[0].midi for each in notes]
    said: list[tuple[str, int, str]] = []

    # 10: runs one way of ten notes or more
    runs, index = [], 0
    while index + 1 < len(keys):
        way = (keys[index + 1] > keys[index]) - (keys[index + 1] < keys[index])
        end = index + 1
        while end + 1 < len(keys) and (keys[end + 1] > keys[end]) - (keys[end + 1] < keys[end]) == way:
            end += 1
        if way and end - index + 1 >= 10:
            runs.append(end - index + 1)
        index = end
    if runs:
        said.append(("10", len(runs), f"{max(runs)} notes in one direction"))

    # 10: a range of a fifth to two octaves in every four bars
    count = len(line.changes.bars)
    ranges = []
    for first in range(1, max(count - 3, 1) + 1):
        inside = [each[0].midi for each in notes if each[0].bar in (first, first + 1, first + 2, first + 3)]
        if len(inside) >= 5 and (max(inside) - min(inside) < 7 or max(inside) - min(inside) > 24):
            ranges.append(max(inside) - min(inside))
    if ranges:
        said.append(("10", len(ranges), f"a range of {ranges[0]} semitones in four bars"))

    phrases: list[list[tuple]] = []
    for number, each in enumerate(notes):
        rested = number and each[0].start > notes[number - 1][0].start + notes[number - 1][0].length
        if not number or rested:
            phrases.append([])
        phrases[-1].append(each)

    def on_root(each: tuple) -> bool:
        return each[1] is not None and each[0].midi % 12 == each[1].root.pitch_class

    # 11: rhythm, and how phrases begin
    if len(notes) >= 5 and len({each[0].length for each in notes[:-1]}) == 1 and len(phrases) == 1:
        said.append(("11", 1, "one length throughout, no rest"))
    if not [phrase for phrase in phrases if phrase[0][3] != 0 or not on_root(phrase[0])]:
        said.append(("11", 1, "every phrase begins on beat 1 and on the root"))

    # 12: contour and figures, bar by bar
    bars: list[list[tuple]] = []
    for each in notes:
        if not bars or bars[-1][0][0].bar != each[0].bar:
            bars.append([])
        bars[-1].append(each)
    figures = [[b[0].midi - a[0].midi for a, b in zip(bar, bar[1:], strict=False)] for bar in bars]
    ways = [["up" if step > 0 else "down" if step < 0 else "level" for step in steps] for steps in figures]
    long = [way for way, bar in zip(ways, bars, strict=True) if len(bar) >= 3]
    if len(long) >= 3 and all(way == long[0] for way in long):
        said.append(("12", 1, "every bar has the same contour"))
    most, running = 0, 0
    for number, figure in enumerate(figures):
        running = running + 1 if number and figure == figures[number - 1] else 1
        if len(figure) >= 2:
            most = max(most, running)
    if most >= 4:
        said.append(("12", 1, f"the same figure {most} bars running"))

    # 13: where phrases end
    missed = []
    for phrase in phrases:
        note, chord, _, place, *_ = phrase[-1]
        metre = line.changes.bars[note.bar - 1].metre
        strong = place == 0 or (metre.beats % 2 == 0 and place == metre.quarters / 2)
        target = False
        if chord is not None:
            wanted = {2}
            for interval in chord.quality.intervals:
                if interval.steps == 2 or interval.steps == 4:
                    wanted.add(interval.semitones)
            target = (note.midi - chord.root.pitch_class) % 12 in wanted
        if not (strong and target):
            missed.append(note)
    if missed:
        plural = "phrase" if len(missed) == 1 else "phrases"
        said.append(("13", len(missed), f"{len(missed)} {plural} without a target, first at bar {missed[0].bar}"))

    # 14: chromatic notes
    outside = [each[1] is not None and each[0].midi % 12 not in each[5] for each in notes]
    twice = len([1 for number in range(1, len(notes)) if outside[number - 1] and outside[number]])
    if twice:
        said.append(("14", twice, f"{twice} time{'s' if twice > 1 else ''} two chromatic notes in a row"))
    on_beat = len([1 for out, each in zip(outside, notes, strict=True) if out and each[3] == int(each[3])])
    if on_beat:
        said.append(("14", on_beat, f"{on_beat} chromatic note{'s' if on_beat > 1 else ''} on the beat"))

    # 15: arpeggios in root order
    plain = 0
    for bar in bars:
        chord = bar[0][1]
        if chord is not None and len(bar) >= 3 and on_root(bar[0]):
            steps = [0, *sorted(chord.quality.semitones)[1:]]
            wanted = [bar[0][0].midi + step for step in steps]
            got = [each[0].midi for each in bar]
            shorter = min(len(wanted), len(got))
            plain += wanted[:shorter] == got[:shorter]
    if len(bars) >= 2 and plain == len(bars):
        said.append(("15", 1, "every bar is the arpeggio in root order"))

    # 16: how phrases end
    if all(on_root(phrase[-1]) for phrase in phrases):
        said.append(("16", 1, "every phrase ends on the root"))

    # 17: how far the hand moves
    positions = [each[0].fret - each[0].finger for each in notes if each[0].fret != 0 and each[0].finger != 0]
    moved = 0
    for number in range(1, len(positions)):
        far = abs(positions[number] - positions[number - 1])
        if far >= 2:
            moved += far
    asked = 2 * max(1, len({each[2] for each in notes}) - 1)
    if moved > asked:
        said.append(
            ("17", 1, f"the hand moves {moved} frets in all where the changes of chord ask {asked} at most")
        )  # fmt: skip

    # 18: notes of a mode over a chord of one quarter or less
    passing = {each[2] for each in notes if each[1] is not None and each[6] <= 1 and each[0].midi % 12 not in each[4]}
    if passing:
        plural = "chord" if len(passing) == 1 else "chords"
        said.append(("18", len(passing), f"{len(passing)} {plural} of a beat with notes of a mode of its own"))
    return said


PAGES = (
    "| Cmaj7 | Am7 | Dm7 | G7 |", "| Cmaj7 | Cmaj7 | Cmaj7 | Cmaj7 | Cmaj7 |",
    "| C7 . . F7 | Bb7 . Eb7 . | N.C. | Fm6 |",
    "metre: 3/4\n| F7 | Bb7 | F7 |", "metre: 6/8\n| Cm7b5 F7 | Bbm7 | C | Cdim7 C7#5 |", "| Cm7 | F7 |",
    "| Dm7 . G7 . | Cmaj7 Csus4 |", "| C |",
)  # fmt: skip
LENGTHS = (Fraction(1, 4), Fraction(1, 2), Fraction(1), Fraction(3, 2))


def some_line(random: Random) -> Line:
    """A melody of one of many kinds: wandering, running, a figure again and again, arpeggios, with rests or without."""
    page = random.choice(PAGES)
    end = bar_starts(melody(page, [60], [0]).changes)[-1]
    length, rests = random.choice(LENGTHS), random.choice((0.0, 0.1, 0.4))
    figure = [random.randrange(-4, 5) for _ in range(random.choice((1, 2, 4)))]
    kind = random.choice(("wander", "run", "figure", "narrow", "arpeggio", "arpeggio"))
    keys, starts, lengths, at, way = [], [], [], Fraction(0), 1
    key = random.choice((48, 53, 57, 60, 60, 60))
    line = melody(page, [60], [0])
    starts_of_bars = bar_starts(line.changes)
    while at < end:
        bar = max(number for number in range(len(starts_of_bars) - 1) if starts_of_bars[number] <= at)
        if kind == "wander":
            key = min(84, max(40, key + random.randrange(-9, 10)))
        elif kind == "narrow":
            key = 60 + random.randrange(random.choice((3, 7, 8)))
        elif kind == "run":
            way = -way if random.random() < 0.1 else way
            key = key + way * random.choice((1, 2))
        elif kind == "figure":
            key += figure[len(keys) % len(figure)]
        else:
            chord = line.changes.bars[bar].chords[0].chord
            steps = (0,) if chord is None else chord.quality.semitones
            root = 48 if chord is None else 48 + chord.root.pitch_class
            key = root + steps[int((at - starts_of_bars[bar]) / length) % len(steps)]
            key += random.random() < 0.05
        if random.random() >= rests:
            keys.append(key)
            starts.append(at)
            lengths.append(length if random.random() < 0.8 else length / 2)
            if rests == 0.0 or random.random() < 0.7:
                lengths[-1] = length
        at += length if random.random() < 0.9 else random.choice(LENGTHS)
    places = [(1, random.choice((0, 5, 5, 6, 7, 8)), random.choice((0, 1, 2, 3, 4))) for _ in keys]
    if random.random() < 0.5:
        places = [(1, 5 + number % 2, 1) for number in range(len(keys))]
    return melody(page, keys, starts, lengths, places=places)


@pytest.mark.parametrize("part", range(6))
def test_every_soft_rule_is_told_as_the_plain_loops_tell_it(part):
    """Rules, counts and words agree, in the order of the rules."""
    random, seen = Random(f"soft {part}"), set()
    for _ in range(150):
        line = some_line(random)
        found = soft_faults(line)
        assert [(fault.rule, fault.count, fault.message) for fault in found] == told(line), line.notes
        assert soft_score(line) == sum(fault.count for fault in found)
        seen |= {fault.rule for fault in found}
    assert len(seen) >= 8


def run_of(count: int, way: int = 1) -> list[int]:
    """So many keys one way, a semitone apart, and a turn after them."""
    return [60 + way * step for step in range(count)] + [60 + way * (count - 2)]


EDGES = {
    "nine notes up": ("| C | C |", run_of(9)), "ten notes up": ("| C | C |", run_of(10)),
    "nine notes down": ("| C | C |", run_of(9, -1)), "ten notes down": ("| C | C |", run_of(10, -1)),
    "a level note ends a run": ("| C | C |", [60, 61, 62, 63, 64, 64, 65, 66, 67, 68, 69, 70]),
    "a range of a tritone": ("| C |", [60, 66, 62, 64, 65]), "a range of a fifth": ("| C |", [60, 67, 62, 64, 65]),
    "two octaves": ("| C |", [48, 72, 60, 62, 64]), "over two octaves": ("| C |", [48, 73, 60, 62, 64]),
    "four notes have no range": ("| C |", [60, 61, 62, 61]), "five notes have": ("| C |", [60, 61, 62, 61, 62]),
    "four eighths alike": ("| C |", [62, 60, 64, 67]), "five eighths alike": ("| C |", [62, 60, 64, 67, 72]),
    "no note at all": ("| C |", []), "one note": ("| C |", [60]), "one third": ("| C |", [64]),
}  # fmt: skip


@pytest.mark.parametrize("name", EDGES)
def test_soft_rules_at_their_edges(name):
    """One short of a limit, at it and past it."""
    line = melody(*EDGES[name])
    assert [(fault.rule, fault.count, fault.message) for fault in soft_faults(line)] == told(line)


@pytest.mark.parametrize("odd", range(6))
def test_one_length_throughout_leaves_out_the_last(odd):
    """A single other length among the rest is enough; the last note may be as long as it likes."""
    lengths = [Fraction(1, 2)] * 6
    lengths[odd] = Fraction(3, 4)
    line = melody("| C |", [62, 60, 64, 67, 72, 64], lengths=lengths)
    assert ("11" in {fault.rule for fault in soft_faults(line)}) == (odd == 5)


@pytest.mark.parametrize("bars", [2, 3, 4, 5, 6])
@pytest.mark.parametrize("figure", [[0, 4], [0, 4, 7], [0, 4, 4], [0, 0, 2], [0, 2, 1, 5]])
def test_one_figure_in_so_many_bars(figure, bars):
    """Contours from three bars on, figures from four on; two notes are no contour, and one interval is no figure."""
    page = "| " + "Cmaj7 | " * bars
    keys, starts = [], []
    for bar in range(bars):
        for place, step in enumerate(figure):
            keys.append(60 + step + (bar % 2))
            starts.append(4 * bar + place)
    for cut in (0, 1, len(figure)):
        line = melody(page, keys[cut:], starts[cut:], [1] * len(keys[cut:]))
        assert [(fault.rule, fault.count, fault.message) for fault in soft_faults(line)] == told(line)


@pytest.mark.parametrize("bars", [3, 4, 5, 6])
def test_every_four_bars_have_their_own_range(bars):
    """A note far away counts in each four bars it stands in; a page of fewer is one."""
    page = "| " + "C | " * bars
    for wide in range(1, bars + 1):
        starts = [Fraction(4 * bar + 2 * half) for bar in range(bars) for half in (0, 1)]
        keys = [60 + half for _ in range(bars) for half in (0, 1)]
        keys[2 * wide - 2] = 67
        line = melody(page, keys, starts)
        ranges = [fault for fault in soft_faults(line) if "a range of" in fault.message]
        assert [(fault.rule, fault.count, fault.message) for fault in ranges] == [
            each for each in told(line) if "a range of" in each[2]
        ]


@pytest.mark.parametrize("moved", [0, 1, 2, 3, 4, 5])
@pytest.mark.parametrize("page", ["| C |", "| C | F7 |", "| C F7 | Bb7 |"])
def test_a_hand_may_move_two_frets_a_change(page, moved):
    """A stretch of one fret is no move; open strings say nothing of the hand."""
    ends = [0, 4, 5] if "|" in page[2:-1] else [0, 1, 2]
    for places in (
        [(1, 5, 1), (1, 5 + moved, 1), (1, 0, 0)], [(1, 5, 1), (1, 0, 0), (1, 5 + moved, 1)],
        [(1, 5, 2), (1, 5 + moved, 2), (1, 5, 2)], [(1, 5, 1), (1, 5, 0), (1, 6 + moved, 2)],
    ):  # fmt: skip
        line = melody(page, [60, 62, 64], ends, places=places)
        assert [(fault.rule, fault.count, fault.message) for fault in soft_faults(line)] == told(line)


def test_the_rules_have_their_numbers_and_words():
    """A fault says its words and its rule."""
    assert [int(rule) for rule in SOFT_RULES] == list(range(10, 19))
    assert str(SoftFault("16", 1, "every phrase ends on the root")) == (
        f"every phrase ends on the root (the rule: {SOFT_RULES['16']})"
    )
