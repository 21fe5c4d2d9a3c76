"""A change from one shape to the next: each judged by itself, and what may be the first one ringing on by nobody."""

from __future__ import annotations

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.listening.any_take import change_s, source_of, start_ears, take_over, take_verdict
from drills.listening.change_ears import ChangeEars
from drills.listening.evaluate.change_takes import CHANGE_ENDS, CHANGE_FAULTS, change_take, counted_change, near_pairs
from drills.listening.evaluate.instruments import instruments
from drills.listening.grip_ears import StrumSound
from drills.listening.heard import ClickGrid, Frame, Judged, NoteVerdict, Target, Verdict
from drills.listening.proposal import propose
from drills.listening.verdict import complete
from tests.listening.plucked import RATE, save, take

FIRST, SECOND = (48, 58, 63, 66), (53, 60, 63, 69)
"""Cm7b5 and F7: C Bb Eb Gb, then F C Eb A. They share an Eb."""
TARGET = Target(FIRST + SECOND, onward_at=4)
NAMED = (("Cm7b5", 4), ("F7", 4))


def strokes(*struck, rate=RATE):
    """Grips given as (seconds, MIDI numbers), each stopped when the next one is struck."""
    sound = np.zeros(round((struck[-1][0] + 1.5) * rate))
    for (at, pitches), following in zip(struck, [*struck[1:], (struck[-1][0] + 1.5, ())], strict=True):
        tones = take([(0.015 * number, midi) for number, midi in enumerate(pitches)], tail_s=0.1, noise=0.0, rate=rate)
        length = min(len(tones), round((following[0] - at) * rate))
        tones[length - 600 : length] *= np.linspace(1, 0, 600)
        first = round(at * rate)
        sound[first : first + length] += tones[:length][: len(sound) - first]
    return sound + np.random.default_rng(0).normal(0.0, 0.0005, len(sound))


def _heard(sound):
    return ChangeEars.start(RATE).take(Frame(0.0, sound))


def _judged(verdict):
    return [one.judged.value for one in verdict.notes]


def test_both_are_judged_and_the_change_is_timed():
    """Right, it is clean; another note of the second is named; the change came when it came."""
    right = take_verdict(_heard(strokes((0.5, FIRST), (1.7, SECOND))), TARGET)
    assert _judged(right) == ["right"] * 8 and propose(right, shapes=NAMED).grade == "clean"
    assert change_s(right, TARGET) == pytest.approx(1.2, abs=0.03)
    wrong = take_verdict(_heard(strokes((0.5, FIRST), (1.7, (53, 60, 63, 68)))), TARGET)
    assert _judged(wrong) == ["right"] * 7 + ["wrong"] and wrong.notes[7].heard == 68
    # Bb, a semitone above, rang an octave lower in the first and may be that.
    beside = take_verdict(_heard(strokes((0.5, FIRST), (1.7, (53, 60, 63, 70)))), TARGET)
    assert _judged(beside) == ["right"] * 7 + ["not sure"]
    proposed = propose(wrong, shapes=NAMED)
    assert (proposed.grade, proposed.slip) == ("looked", "shape") and "the fourth note of F7" in proposed.why


def test_the_first_struck_again_is_no_second():
    """Strummed twice before the change, it is waited through; strummed on with no change, nothing is claimed."""
    again = take_verdict(_heard(strokes((0.5, FIRST), (1.3, FIRST), (2.1, SECOND))), TARGET)
    assert _judged(again) == ["right"] * 8 and change_s(again, TARGET) == pytest.approx(1.6, abs=0.03)
    slack = take_verdict(_heard(strokes((0.5, FIRST), (1.3, FIRST[:3]), (2.1, SECOND))), TARGET)  # Gb missed meanwhile
    assert _judged(slack) == ["right"] * 8 and change_s(slack, TARGET) == pytest.approx(1.6, abs=0.03)
    never = take_verdict(_heard(strokes((0.5, FIRST), (1.3, FIRST))), TARGET)
    assert _judged(never) == ["right"] * 4 + ["not sure"] * 4 and propose(never).grade is None
    assert never.doubts == ("I heard one grip and no other after it.",)
    nothing = take_verdict(_heard(np.zeros(RATE) + 1e-4 * np.random.default_rng(0).normal(size=RATE)), TARGET)
    assert propose(nothing).grade is None and set(_judged(nothing)) == {"not sure"}


def test_a_note_that_rings_on_from_the_first_is_not_missing_in_the_second():
    """The Eb that both have, left ringing and not struck again: nobody can say that it does not sound."""
    sound = strokes((0.5, (48, 58, 66)), (1.7, (53, 60, 69)))
    ringing = take([(0.5, 63)], ring_s=2.6, tail_s=0.2, noise=0.0)[: len(sound)]
    sound[: len(ringing)] += ringing
    verdict = take_verdict(_heard(sound), TARGET)
    assert verdict.notes[6].judged is Judged.NOT_SURE and "wrong" not in _judged(verdict)
    silent = take_verdict(_heard(strokes((0.5, FIRST), (1.7, (53, 60, 63)))), TARGET)
    assert silent.notes[7].judged is Judged.MISSING  # no note of the first lies there


def test_a_second_stroke_in_the_sound_of_the_first_is_left_out_of_it():
    """Half a second apart: what is looked at of the first ends where the second begins."""
    ears = _heard(strokes((0.5, FIRST), (0.92, SECOND)))
    assert [round(one.at_s, 2) for one in ears.strokes] == pytest.approx([0.5, 0.92], abs=0.03)
    assert len(ears.strokes[0].after) < 0.36 * RATE < len(ears.strokes[1].after)
    assert "wrong" not in _judged(take_verdict(ears, TARGET))


def test_a_tap_while_the_second_rings_is_not_taken_for_it():
    """The second stroke began while the first was looked at; a faint tap of the hand 0.15 s later is no stroke."""
    sound = strokes((0.5, FIRST), (0.92, SECOND))
    at = round(1.07 * RATE)
    sound[at : at + 400] += np.random.default_rng(4).normal(0.0, 0.04 * np.abs(sound).max(), 400)
    assert [round(one.at_s, 2) for one in _heard(sound).strokes] == pytest.approx([0.5, 0.92], abs=0.03)


def test_a_second_that_holds_all_of_the_first_and_one_that_is_the_same_are_heard():
    """C Bb Eb and then C Bb Eb Gb; the first again is no second. F7 twice is asked for by its two strokes."""
    grows = Target((*FIRST[:3], *FIRST), onward_at=3)
    verdict = take_verdict(_heard(strokes((0.5, FIRST[:3]), (1.7, FIRST[:3]), (2.9, FIRST))), grows)
    assert _judged(verdict) == ["right"] * 7 and change_s(verdict, grows) == pytest.approx(2.4, abs=0.03)
    twice = Target(SECOND + SECOND, onward_at=4)
    assert _judged(take_verdict(_heard(strokes((0.5, SECOND), (1.7, SECOND))), twice)) == ["right"] * 8
    once = take_verdict(_heard(strokes((0.5, SECOND))), twice)
    assert once.doubts == ("I heard one grip and no other after it.",)


def test_in_time_takes_a_click():
    """Both strokes on a beat; one of them a tenth of a second late; no click."""
    clicked = Target(TARGET.pitches, ClickGrid(100.0, 0.5), 4)
    on = take_verdict(_heard(strokes((0.5, FIRST), (1.7, SECOND))), clicked)
    assert propose(on).grade == "in-time" and all(abs(off) < 30 for off in on.off_click_ms)
    late = take_verdict(_heard(strokes((0.5, FIRST), (1.82, SECOND))), clicked)
    assert propose(late).grade == "clean" and late.off_click_ms[-1] == pytest.approx(120, abs=30)


@settings(max_examples=2, deadline=None)
@given(st.lists(st.integers(50, 3000), min_size=1, max_size=20))
def test_whole_or_in_pieces_a_change_is_heard_the_same(sizes):
    """To the last bit, as every other take is."""
    sound = strokes((0.3, FIRST), (1.0, SECOND))
    whole, pieces, first, turn = _heard(sound), ChangeEars.start(RATE), 0, 0
    while first < len(sound):
        size = sizes[turn % len(sizes)]
        pieces = pieces.take(Frame(first / RATE, sound[first : first + size]))
        first, turn = first + size, turn + 1
    assert [one.at_s for one in pieces.strokes] == [one.at_s for one in whole.strokes] and len(whole.strokes) == 2
    assert all(np.array_equal(a.after, b.after) for a, b in zip(pieces.strokes, whole.strokes, strict=True))
    assert take_verdict(pieces, TARGET) == take_verdict(whole, TARGET)


def test_which_stroke_left_the_first():
    """It fits the second better than the first; one that is all of the first is the first again."""
    ears = ChangeEars.start(RATE)
    sound = StrumSound(0.0, RATE, np.zeros(10), np.zeros(10))
    assert not take_over(ears, TARGET) and not take_over(ChangeEars(ears.waiting, (sound,)), TARGET)
    live = ears
    for frame in np.array_split(strokes((0.3, FIRST), (1.0, SECOND)), 40):
        if take_over(live, TARGET):
            break
        live = live.take(Frame(live.now_s, frame))
    assert take_over(live, TARGET) and live.now_s < 2.0 and source_of(live)[0] == "grip"


def test_simulated_changes_are_what_they_say():
    """On an instrument plucked by rule no right note is called wrong and no wrong one right, however the first ends."""
    total = {}
    # Every second of all pairs, as on a chess board: each fault with one end or two.
    faults = [CHANGE_FAULTS[number % 2 :: 2] for number in range(len(CHANGE_ENDS))]
    for seed, (end, fault) in enumerate(
        (end, one) for end, some in zip(CHANGE_ENDS, faults, strict=True) for one in some
    ):
        for name, count in counted_change(change_take(FIRST, SECOND, instruments()[0], fault, end, seed)).items():
            total[name] = total.get(name, 0) + count
    assert total["second: missing notes"] and total["second: unplayed notes"]
    for which in ("first", "second"):
        assert total[f"{which}: wrong notes"]
        assert not total.get(f"{which}: right called wrong") and not total.get(f"{which}: right called missing"), total
        assert not total.get(f"{which}: wrong called right"), total
        assert total[f"{which}: right called right"] >= 0.8 * total[f"{which}: right notes"], total
    assert total["true"] == total["claimed"] >= 3, total


# ---- notes one after another


def _sequence(*parts, gap_s=0.5):
    places = [midi for part in parts for midi in part]
    return take([(0.5 + gap_s * number, midi) for number, midi in enumerate(places)])


def _sung(sound, target=TARGET):
    return take_verdict(start_ears(RATE, grip=False).take(Frame(0.0, sound)).finish(), target)


LINE, ONWARD = (48, 51, 55, 58), (53, 57, 60, 63)
"""Cm7 and F7 note by note."""
IN_A_ROW = Target(LINE + ONWARD, onward_at=4)


def test_two_arpeggios_in_a_row():
    """Right; a stop before the second, named; another root of the second is a root."""
    right = _sung(_sequence(LINE, ONWARD), IN_A_ROW)
    assert propose(right, shapes=NAMED).grade == "clean" and change_s(right, IN_A_ROW) == pytest.approx(0.5, abs=0.03)
    halting = take([(0.5 + 0.5 * number + (number > 3) * 2, midi) for number, midi in enumerate(LINE + ONWARD)])
    stopped = propose(_sung(halting, IN_A_ROW), shapes=NAMED)
    assert stopped.grade == "found-it" and "a stop before the first note of F7" in stopped.why
    missed = [NoteVerdict(midi, Judged.RIGHT, at_s=float(at)) for at, midi in enumerate(IN_A_ROW.pitches)]
    missed[4] = NoteVerdict(53, Judged.WRONG, 54, 4.0)
    proposed = propose(Verdict(tuple(missed)), shapes=NAMED)
    assert (proposed.grade, proposed.slip) == ("looked", "root") and "the first note of F7" in proposed.why
    assert propose(Verdict(tuple(missed))).slip == "shape"  # of one shape only its first note is its root


def test_the_first_played_up_and_down_is_held_against_nobody():
    """More was played than both, once each: no grade, and no note of the second is wrong or missing."""
    sound = _sequence(LINE, (60, 58, 55, 51, 48), ONWARD)
    verdict = _sung(sound, IN_A_ROW)
    assert {one.judged for one in verdict.notes[4:]} <= {Judged.RIGHT, Judged.NOT_SURE}
    proposed = propose(verdict, shapes=NAMED)
    assert proposed.grade is None and proposed.why.endswith("Your word?")


def test_a_change_is_over_only_with_most_of_the_second():
    """The last note alone, which the first may have too, does not end it."""
    ears = start_ears(RATE, grip=False).take(Frame(0.0, _sequence(LINE, (63,)))).finish()
    assert not complete(ears, IN_A_ROW) and complete(ears, Target((*LINE, 63)))
    whole = start_ears(RATE, grip=False).take(Frame(0.0, _sequence(LINE, ONWARD))).finish()
    assert complete(whole, IN_A_ROW)


def test_who_looks_for_the_second_is_not_interrupted():
    """Two seconds of silence end one shape, and a change of which some of the second was played; else four do."""

    def is_over(target, silence_s, *parts):
        last_s = 0.5 * sum(map(len, parts))
        sound = np.append(_sequence(*parts), np.zeros(3 * RATE))[: round((last_s + silence_s) * RATE)]
        return take_over(start_ears(RATE, grip=False).take(Frame(0.0, sound)), target)

    assert is_over(Target((*LINE, 62)), 2.0, LINE)
    assert not is_over(IN_A_ROW, 2.0, LINE) and not is_over(IN_A_ROW, 2.0, LINE[:3])
    assert is_over(IN_A_ROW, 2.0, LINE, ONWARD[:2]) and is_over(IN_A_ROW, 4.5, LINE)


@pytest.mark.parametrize("onward_at", [0, 8, 9])
def test_two_shapes_have_a_note_each(onward_at):
    """What is said of the rest is an error, named."""
    with pytest.raises(ValueError, match="onward_at"):
        Target(IN_A_ROW.pitches, onward_at=onward_at)


def test_the_command_hears_a_change(tmp_path, neckwork):
    """Two grips by name, the second where its root is nearest; as lines and as a document."""
    (first, *_), seconds = (
        json.loads(neckwork("shape", name, "--form", "grip", "--json").out) for name in ("Cm7", "F7")
    )
    path = tmp_path / "change.wav"
    asked = [note["midi"] for note in first["notes"]]

    def root(row):
        return next((note["fret"], note["string"]) for note in row["notes"] if note["degree"] == "1")

    fret, string = root(first)
    near = min(seconds, key=lambda row: (abs(root(row)[0] - fret), abs(root(row)[1] - string)))
    assert len(seconds) > 1
    save(path, strokes((0.5, asked), (1.7, [note["midi"] for note in near["notes"]])))
    found = json.loads(neckwork("listen", "Cm7", "F7", "--form", "grip", "--wav", str(path), "--json").out)
    onward = found["onward"]
    assert onward["strings"] == "-".join(map(str, near["strings"])) and onward["shape"] == "F7"
    assert onward["after_s"] == pytest.approx(1.2, abs=0.03) and onward["from_note"] == len(asked) + 1
    assert [note["asked"] for note in found["notes"]][: len(asked)] == asked and found["engine"]["name"] == "grip"
    lines = neckwork("listen", "Cm7", "F7", "--strings", "543,543", "--wav", str(path)).out
    assert "Cm7, strings 5-4-3" in lines and "F7, strings 5-4-3" in lines and "your word?" in lines.lower()
    grips = ("listen", "Cm7", "F7", "--form", "grip", "--wav", str(path), "--tempo", "100", "--first-click", "0.5")
    (said,) = [line for line in neckwork(*grips).out.splitlines() if line.startswith("After the click")]
    assert "The change came" in neckwork(*grips).out
    assert said.count(",") == 2  # one figure for each stroke, also where both are alike
    assert neckwork("listen", "Cm7", "F7", "--strings", "5,4,3", "--wav", str(path)).out == lines
    refused = neckwork("listen", "Cm7", "F7", "--strings", "543,543,432", "--wav", str(path))
    assert refused.code == 2 and "one set for both cards, or two" in refused.err


def test_no_time_is_told_of_a_change_that_was_not_heard(tmp_path, neckwork):
    """Of one chord alone, its arpeggio up and down, the second of two is in doubt, and so is when it came."""
    path = tmp_path / "one.wav"
    assert neckwork("hear", "Cm7b5", "--strings", "543", "--wav", str(path)).code == 0
    said = neckwork("listen", "Cm7b5", "F7", "--strings", "543", "--wav", str(path)).out
    assert "F7, note 1: F? Not heard well." in said and "The change came" not in said
    told = json.loads(neckwork("listen", "Cm7b5", "F7", "--strings", "543", "--wav", str(path), "--json").out)
    assert told["onward"]["after_s"] is None


def test_pairs_of_grips_lie_near_one_another():
    """As many notes, and five semitones apart on the average at most."""
    pairs = near_pairs([FIRST, SECOND, (70, 75, 80, 84), (48, 52, 55)])
    assert pairs == [(FIRST, SECOND), (SECOND, FIRST)]
