"""The judge of the ears: its takes are what they say, its counts hold against a reference, its table is printed."""

from __future__ import annotations

import mir_eval
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.proportion import proportion_confint

from drills.listening.ears import hear
from drills.listening.evaluate.__main__ import main
from drills.listening.evaluate.asked_material import asked_of_material
from drills.listening.evaluate.counted_takes import counted, wilson
from drills.listening.evaluate.disturbers import KINDS, disturber
from drills.listening.evaluate.instruments import HIGHEST, LOWEST, RATE, instruments
from drills.listening.evaluate.takes import DISTURBANCES, FAULTS, FAULTS_OF_ONE, take
from drills.listening.heard import Frame, Target
from drills.listening.proposal import propose
from drills.listening.verdict import judge

ASKED = (48, 51, 54, 58, 60)
PLAYABLE = [one for one in instruments() if one.name != "overdriven"]
"""The overdriven guitar is not judged; every other instrument this machine has is."""


@given(st.integers(0, 50), st.integers(0, 50))
def test_the_interval_is_wilsons(hits, more):
    """Against statsmodels."""
    low, high = proportion_confint(hits, hits + more, method="wilson") if hits + more else (0, 1)
    assert wilson(hits, hits + more) == pytest.approx((low, high), abs=1e-4)


@pytest.mark.parametrize("fault", FAULTS)
def test_a_take_is_what_it_says(fault):
    """Its truth agrees with the notes it is made of, and its seed gives it again."""
    one = take(ASKED, instruments()[0], fault, "none", 7)
    midis = [midi for _, midi in one.played]
    assert np.array_equal(one.samples, take(ASKED, instruments()[0], fault, "none", 7).samples)
    assert len(midis) == 5 + (fault in ("extra", "mended")) - (fault == "missing")
    assert (midis == list(ASKED)) == (fault in ("none", "loose", "hesitation"))
    assert one.right.count(True) == 5 - (fault in ("wrong", "octave", "missing"))
    assert np.abs(one.samples).max() <= 1


@pytest.mark.parametrize("instrument", PLAYABLE, ids=lambda one: one.name)
def test_notes_of_right_and_wrong_takes_on_every_instrument(instrument):
    """No right note is called wrong, no wrong one right, and a grade that is claimed is true."""
    takes = [
        take(ASKED, instrument, fault, disturbance, 30_000 + seed)
        for seed, (fault, disturbance) in enumerate(
            [("none", "ringing"), ("wrong", "noise 20 dB"), ("mended", "room"), ("missing", "hum"), ("loose", "click")]
        )
    ]
    numbers = counted(takes).numbers
    assert numbers["right called wrong"] == numbers["right called missing"] == numbers["wrong called right"] == 0
    assert numbers["true"] == numbers["claimed"] >= 4


def test_onsets_and_pitches_against_the_reference_measures():
    """Precision and recall of mir_eval's transcription measures (Raffel et al. 2014), onsets within 50 ms."""
    scores = []
    for seed, instrument in enumerate(PLAYABLE):
        one = take(ASKED, instrument, "none", DISTURBANCES[seed % len(DISTURBANCES)], 40_000 + seed)
        heard = [
            note for note in hear([Frame(0.0, one.samples)], RATE).heard if note.midi is not None and note.sure > 0.15
        ]
        truth_at = np.array([[at, at + 0.2] for at, _ in one.played])
        truth_hz = np.array([440 * 2 ** ((midi + one.cents / 100 - 69) / 12) for _, midi in one.played])
        found_at = np.array([[note.at_s, note.at_s + 0.2] for note in heard])
        found_hz = np.array([440 * 2 ** ((note.pitch - 69) / 12) for note in heard])
        precision, recall, _, _ = mir_eval.transcription.precision_recall_f1_overlap(
            truth_at, truth_hz, found_at, found_hz, onset_tolerance=0.05, pitch_tolerance=50.0, offset_ratio=None
        )
        scores.append((precision, recall))
    precision, recall = np.mean(scores, axis=0)
    assert precision >= 0.95 and recall >= 0.95


@pytest.mark.parametrize("kind", KINDS)
def test_nobody_playing_brings_no_proposal(kind):
    """Speech, music, tapping and noise, as far as this machine can make them."""
    made = 0
    for seed in range(4):
        sound = disturber(kind, 8.0, 50_000 + seed)
        if sound is None:
            pytest.skip(f"{kind}: fluidsynth with timgm6mb-soundfont, or espeak-ng, is not installed")
        made += 1
        assert propose(judge(hear([Frame(0.0, sound)], RATE), Target(ASKED))).grade is None
    assert made == 4


def test_the_table_is_printed(capsys):
    """Every row of a small run, and that all of it is simulated."""
    main(["--takes", "2", "--minutes", "0.7"])
    printed = capsys.readouterr().out
    assert "Simulated playing only" in printed
    for row in ("right called wrong", "wrong called right", "not sure", "grade true when claimed", "onsets", "CPU"):
        assert row in printed
    assert "tapping: 0 proposals in 1 takes" in printed


def test_engines_are_printed_side_by_side(capsys):
    """A column for each engine, the measures of the reference, each condition, and sound in which nobody plays."""
    main(["--takes", "3", "--minutes", "0.2", "--engines", "comb"])
    printed = capsys.readouterr().out
    for row in ("right notes called wrong", "grade true when claimed", "mir_eval, mean precision", "tapping"):
        assert f"| {row} |" in printed
    (recall,) = [line for line in printed.splitlines() if line.startswith("| mir_eval, mean recall")]
    assert 0.8 <= float(recall.split("|")[2]) <= 1.0


@pytest.mark.parametrize(("kind", "sizes"), [("scales", {8}), ("two-octaves", {9}), ("roots", {1}), ("changes", {10})])
def test_scales_two_octaves_roots_and_changes_are_asked_apart(kind, sizes):
    """Each is a list of shapes of its own that an instrument can play, and a take of each can go wrong."""
    asked = asked_of_material(kind)
    assert {len(one) for one in asked} == sizes and len(asked) >= 12
    assert all(LOWEST <= midi <= HIGHEST for one in asked for midi in one)
    faults = FAULTS_OF_ONE if kind == "roots" else FAULTS
    made = take(asked[0], instruments()[0], faults[1], "none", 5)
    assert len(made.right) == len(asked[0]) and (kind != "roots" or made.right == (False,))


def test_other_material_is_refused():
    """By name, with what there is."""
    with pytest.raises(ValueError, match="arpeggios, scales"):
        asked_of_material("grips")
