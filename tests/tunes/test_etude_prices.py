"""What a note of an etude line costs: every soft rule has its price, and none of them is nothing."""

from __future__ import annotations

from fractions import Fraction
from random import Random

import pytest

from drills.changes.changes_reading import parse_changes
from drills.harmony.chord_timeline import same_chord, spans_of, tones_of
from drills.lines.etude_options import EtudeOptions
from drills.lines.etude_steps import steps_of
from drills.lines.hand_positions import NEVER, hands_of
from drills.lines.onset import Onset
from drills.lines.rhythm import onsets
from drills.neck.neck import Neck

LOW, HIGH = 45, 76


class Even(Random):
    """Chance without noise: every note's own number is 0."""

    def getrandbits(self, k):
        return 0


def _wished(start):
    """Where a rising line leans: ten semitones to either side of the middle within two bars of 4/4."""
    return round((LOW + HIGH) / 2 + 10 * (2 * float(start % 8) / 8 - 1))


def _price(key, difficulty, density, onset, before, after, span, new_chord):
    """The price of a key at an onset by the soft rules, in plain steps; None where a hard rule forbids it."""
    tones = tones_of(span)
    place = onset.start % 4
    kind = key % 12
    root, third = tones.chord.root.pitch_class, tones.guide_tones[0]
    strong = place in (0, 2) or new_chord
    on_beat = place.denominator == 1
    held = onset.length >= 1
    opens = before is None or before.start + before.length < onset.start
    ends = after is None or after.start > onset.start + onset.length
    free = difficulty >= 2 and not strong
    if kind in tones.chord_tones:
        price = 2 if free and not on_beat and not held else 0  # an arpeggio in every bar is exercise
    elif kind in tones.mode_notes and free and (not on_beat or density == "quarters"):
        if (on_beat or held) and kind in tones.avoid:
            return None
        price = 6 if on_beat or held else 2 if difficulty == 3 else 0
    elif kind not in tones.mode_notes and free and difficulty == 3 and not on_beat and not held and not ends:
        price = 1
    else:
        return None
    if onset.length >= 2 and tones.has_major_seventh and kind == root:
        return None
    price += 2 * (new_chord and kind not in tones.guide_tones)
    price += 3 * (opens and kind == root)
    if ends:
        price += 4 * (kind == root) + 8 * (kind not in (third, (root + 7) % 12, (root + 2) % 12))
    return price + abs(key - _wished(onset.start)) // 2


@pytest.mark.parametrize("difficulty", [1, 2, 3])
@pytest.mark.parametrize("density", ["eighths", "quarters", "space"])
@pytest.mark.parametrize(
    "text", ["| Dm7 | G7 | Cmaj7 | Cmaj7 |", "| F7 Bb7 | F7 | Cm7b5 F7 | Bbm7 |", "| Bb7 | Bb7 | Bbmaj7 | Bb7 |"]
)
def test_every_price_is_as_the_soft_rules_say(text, density, difficulty):
    """Rules 10 to 16 for a line that is not bad (common practice), each at its price, key by key and note by note."""
    page = parse_changes(text)
    spans = spans_of(page)
    options = EtudeOptions(difficulty=difficulty, density=density, direction="up")
    rhythm = onsets(page, spans, density, Even(1))
    steps = steps_of(page, spans, rhythm, options, (LOW, HIGH), Even(1))
    assert len(steps) == len(rhythm) > 8
    for number, (step, onset) in enumerate(zip(steps, rhythm, strict=True)):
        before = rhythm[number - 1] if number else None
        after = rhythm[number + 1] if number + 1 < len(rhythm) else None
        span = next(each for each in spans if each.start <= onset.start < each.end)
        new_chord = number == 0 or not same_chord(steps[number - 1].span.chord, span.chord)
        for key in range(LOW, HIGH + 1):
            price = _price(key, difficulty, density, onset, before, after, span, new_chord)
            assert step.cost[key] == (NEVER if price is None else price), (onset, key)
        assert all(step.cost[key] == NEVER for key in (LOW - 1, HIGH + 1))


@pytest.mark.parametrize("root", ["C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B"])
def test_a_phrase_may_end_off_the_beat_on_third_fifth_or_ninth(root):
    """On every root: two eighths and a rest in each half of a bar, the second of them a note of the mode or chord."""
    page = parse_changes(f"| {root}7 | {root}7 |")
    spans = spans_of(page)
    rhythm = tuple(
        Onset(Fraction(half) + Fraction(each, 2), Fraction(1, 2), half // 4) for half in (0, 2, 4, 6) for each in (0, 1)
    )
    options = EtudeOptions(difficulty=2, density="eighths", direction="up")
    steps = steps_of(page, spans, rhythm, options, (LOW, HIGH), Even(1))
    for number, (step, onset) in enumerate(zip(steps, rhythm, strict=True)):
        before = rhythm[number - 1] if number else None
        after = rhythm[number + 1] if number + 1 < len(rhythm) else None
        for key in range(LOW, HIGH + 1):
            price = _price(key, 2, "eighths", onset, before, after, spans[onset.bar], number == 0)
            assert step.cost[key] == (NEVER if price is None else price), (onset, key)


def test_a_window_from_the_nut_holds_the_open_strings():
    """Frets 0 to 4 let every open string sound with no finger on it; frets 1 to 5 hold none."""
    neck = Neck()
    hands = hands_of(neck, (0, 4))
    opened = hands.valid & (hands.fret == 0)
    assert set(hands.string[opened].tolist()) == set(range(1, 7))
    assert set(hands.finger[opened].tolist()) == {0}
    assert not ((hands_of(neck, (1, 5)).fret == 0) & hands_of(neck, (1, 5)).valid).any()
    assert EtudeOptions(frets=(0, 3)).window(neck) == (0, 3)
    assert Fraction(int((hands.valid & (hands.fret > 4)).sum())) == 0
