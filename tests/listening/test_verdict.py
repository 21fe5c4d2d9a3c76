"""What a take is worth: each fault found, nothing guessed, and the same verdict however the sound comes in."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.listening.alignment import aligned
from drills.listening.comb import Comb
from drills.listening.ears import Ears, hear
from drills.listening.heard import ClickGrid, Frame, Heard, Judged, NoteVerdict, Target, Verdict
from drills.listening.heard_notes import HeardNote, notes_of, tuning_of
from drills.listening.level import Level
from drills.listening.proposal import propose
from drills.listening.sound_doubts import tuning_words
from drills.listening.verdict import judge, over
from tests.listening.plucked import RATE, save, take

ASKED = (48, 51, 54, 58, 60)
"""C Eb Gb Bb C, the arpeggio of Cm7b5."""

BEAT_S = 0.6


def _played(pitches, beat_s=BEAT_S, start_s=0.6):
    return [(start_s + number * beat_s, midi) for number, midi in enumerate(pitches)]


def _verdict(samples, asked=ASKED, click=None, rate=RATE):
    return judge(hear([Frame(0.0, samples)], rate), Target(asked, click))


def _judged(verdict):
    return [note.judged.value for note in verdict.notes]


def test_a_clean_pass_is_clean_and_on_the_click_in_time():
    """All notes right; with the click known the same take may be proposed as in time."""
    sound = take(_played(ASKED))
    assert _judged(_verdict(sound)) == ["right"] * 5
    assert propose(_verdict(sound)).grade == "clean"
    on = _verdict(sound, click=ClickGrid(60 / BEAT_S, 0.6))
    assert max(map(abs, on.off_click_ms)) < 20 and propose(on).grade == "in-time"
    late = take([(at + 0.08 * number, midi) for number, (at, midi) in enumerate(_played(ASKED))])
    assert propose(_verdict(late, click=ClickGrid(60 / BEAT_S, 0.6))).grade == "clean"


@pytest.mark.parametrize(
    ("pitches", "grade", "slip"),
    [
        ((48, 52, 54, 58, 60), "looked", "shape"),
        ((47, 51, 54, 58, 60), "looked", "root"),
        ((48, 51, 58, 60), "looked", "shape"),
        ((48, 51, 53, 54, 58, 60), "found-it", None),
        ((48, 52, 51, 54, 58, 60), "found-it", None),
        ((50, 53, 57, 60, 62), None, None),
    ],
    ids=["wrong", "wrong root", "left out", "extra", "mended", "another chord"],
)
def test_each_fault_brings_its_proposal(pitches, grade, slip):
    """A note left standing wrong is Looked, one put right is Found it, and another chord is nobody's guess."""
    proposal = propose(_verdict(take(_played(pitches))))
    assert (proposal.grade, proposal.slip) == (grade, slip)


def test_a_stop_is_found_it():
    """A gap of more than 1.8 usual ones and 0.6 s over."""
    notes = _played(ASKED)
    stopped = notes[:3] + [(at + 0.9, midi) for at, midi in notes[3:]]
    verdict = _verdict(take(stopped))
    assert verdict.stops == (4,) and propose(verdict).grade == "found-it"
    shorter = notes[:3] + [(at + 0.3, midi) for at, midi in notes[3:]]
    assert propose(_verdict(take(shorter))).grade == "clean"


def test_only_the_first_pass_counts():
    """Up and down again, or noodling afterwards, is not held against the player."""
    assert propose(_verdict(take(_played((*ASKED, 58, 54, 51, 47))))).grade == "clean"


def test_an_octave_off_is_not_sure():
    """An octave is what ears themselves mistake: no grade is proposed."""
    verdict = _verdict(take(_played((48, 51, 66, 58, 60))))
    assert _judged(verdict)[2] == "not sure" and propose(verdict).grade is None


@settings(max_examples=3, deadline=None)
@given(st.lists(st.integers(20, 3000), min_size=1, max_size=40), st.integers(0, 5))
def test_whole_or_in_pieces_the_ears_hear_the_same_to_the_last_bit(sizes, seed):
    """One frame, pieces of 10 ms, and pieces of any sizes give equal events, verdicts and levels."""
    sound = take(_played((48, 52, 51, 54, 58, 60), 0.35), seed=seed, noise=0.003)
    whole = hear([Frame(0.0, sound)], RATE)
    for cuts in ([round(RATE * 0.01)], sizes):
        frames, first, turn = [], 0, 0
        while first < len(sound):
            size = cuts[turn % len(cuts)]
            frames.append(Frame(first / RATE, sound[first : first + size]))
            first, turn = first + size, turn + 1
        pieces = hear(frames, RATE)
        assert pieces.heard == whole.heard
        assert judge(pieces, Target(ASKED)) == judge(whole, Target(ASKED))


@settings(max_examples=6, deadline=None)
@given(st.floats(-20, 20))
def test_level_changes_no_verdict(level_db):
    """20 dB softer to 20 dB louder than a take whose peak is 26 dB under full scale."""
    sound = take(_played((48, 51, 53, 54, 58, 60)), noise=0)
    sound = sound / np.abs(sound).max() * 0.05
    usual, other = _verdict(sound), _verdict(sound * 10 ** (level_db / 20))
    assert _judged(other) == _judged(usual) and other.extras == usual.extras == (53,)
    assert propose(other).grade == "found-it"


@settings(max_examples=6, deadline=None)
@given(st.floats(0, 2))
def test_a_later_start_changes_no_verdict(late_s):
    """Silence before the first note moves every time by as much, and nothing else."""
    sound = take(_played((48, 52, 54, 58, 60)))
    lead = np.random.default_rng(1).normal(0, 0.0005, round(late_s * RATE))
    usual, later = _verdict(sound), _verdict(np.concatenate((lead, sound)))
    assert _judged(later) == _judged(usual)
    for before, after in zip(usual.notes, later.notes, strict=True):
        assert after.at_s - before.at_s == pytest.approx(late_s, abs=0.011)


@settings(max_examples=8, deadline=None)
@given(st.integers(-6, 12), st.sampled_from([(48, 51, 54, 58, 60), (48, 52, 54, 58, 60), (48, 51, 53, 54, 58, 60)]))
def test_target_and_playing_moved_together_keep_the_proposal(semitones, pitches):
    """Another key is the same verdict."""
    moved = tuple(midi + semitones for midi in ASKED)
    verdict = _verdict(take(_played([midi + semitones for midi in pitches])), moved)
    assert propose(verdict).grade == propose(_verdict(take(_played(pitches)))).grade


@settings(max_examples=8, deadline=None)
@given(st.floats(432, 446))
def test_the_pitch_of_a4_is_found_and_does_no_harm(a4_hz):
    """Every note right, and the tuning told to two cents."""
    verdict = _verdict(take(_played(ASKED), a4_hz=a4_hz))
    assert _judged(verdict) == ["right"] * 5
    assert verdict.tuning_cents == pytest.approx(1200 * np.log2(a4_hz / 440), abs=2)


def test_a_pitch_is_decided_before_the_target_is_seen():
    """What is heard of a take is one thing, whatever is asked for."""
    ears = hear([Frame(0.0, take(_played((48, 52, 54, 58, 60))))], RATE)
    heard = ears.heard
    for asked in (ASKED, (48, 52, 55, 59, 60)):
        judge(ears, Target(asked))
        assert ears.heard is heard
    assert [note.midi for note in heard] == [48, 52, 54, 58, 60]


def test_a_ringing_string_is_not_heard_again():
    """Three strings ring on under a fourth; the comb of the difference finds the new one alone."""
    before = take([(0.0, 48), (0.0, 52), (0.0, 55)], tail_s=0)[:4400]
    both = take([(0.0, 48), (0.0, 52), (0.0, 55), (0.2, 59)], tail_s=0)[4400 : 4400 + 4400]
    assert round(Comb().pitch_of(before[:4400], both, RATE).pitch) == 59


def test_the_same_pitch_again_is_no_new_note_and_weak_ones_are_unpitched():
    """The rules that took most false grades away."""
    heard = [Heard(1.0, 50, 0, 0.9), Heard(1.2, 50, 0, 0.9), Heard(1.4, 52, 0, 0.05), Heard(1.6, 50, 0, 0.9)]
    assert [note.midi for note in notes_of(heard)] == [50, None]


def test_nothing_is_claimed_of_the_first_tenth_of_a_second():
    """A note at once has no pitch; the same note later has."""
    assert [note.midi for note in hear([Frame(0.0, take([(0.05, 50)]))], RATE).heard] in ([], [None])
    assert [note.midi for note in hear([Frame(0.0, take([(0.4, 50)]))], RATE).heard][:1] == [50]


@given(st.floats(-49, 49), st.lists(st.integers(40, 80), min_size=3, max_size=8))
def test_one_tuning_for_the_whole_take(cents, pitches):
    """A guitar as far off as can be told is rounded alike on every note."""
    heard = []
    for number, midi in enumerate(pitches):
        pitch = midi + (cents + (-1) ** number * 0.5) / 100
        heard.append(Heard(float(number), round(pitch), (pitch - round(pitch)) * 100, 0.9))
    assert tuning_of(heard) == pytest.approx(cents, abs=0.6)


def test_a_note_bent_sharp_is_rounded_by_the_tuning_of_the_take():
    """Three notes 30 cents high and one 55: the last is the lower of its two neighbours, as the guitar stands."""
    heard = [Heard(1, 50, 30, 0.9), Heard(2, 52, 30, 0.9), Heard(3, 54, 30, 0.9), Heard(4, 58, -45, 0.9)]
    assert [note.midi for note in notes_of(heard)] == [50, 52, 54, 57]


@given(
    st.lists(st.sampled_from([48, 50, 52, 55, None]), max_size=6),
    st.lists(st.sampled_from([48, 50, 52, 55]), min_size=1, max_size=5),
)
def test_alignment_is_the_cheapest_of_all(played, asked):
    """The program's price equals that of trying every way."""
    notes = [HeardNote(float(n), midi, 0.8 if midi else 0.0) for n, midi in enumerate(played)]

    def price(taken, besides):
        cost = 0.0
        for place, midi in zip(taken, asked, strict=True):
            if place is None:
                cost += 0.9
            elif notes[place].midi is None:
                cost += 0.45
            elif notes[place].midi != midi:
                cost += 0.95
        return cost + sum(0.12 if notes[i].midi is None else 0.65 for i in besides)

    def cheapest(i, j):
        if j == len(asked):
            return 0.0
        ways = [0.9 + cheapest(i, j + 1)]
        if i < len(notes):
            here = notes[i].midi
            ways.append((0.12 if here is None else 0.65) + cheapest(i + 1, j))
            ways.append((0.45 if here is None else 0.0 if here == asked[j] else 0.95) + cheapest(i + 1, j + 1))
        return min(ways)

    taken, besides = aligned(notes, asked)
    used = [place for place in taken if place is not None]
    assert used == sorted(used) and not set(used) & set(besides)
    assert price(taken, besides) == pytest.approx(cheapest(0, 0))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda sound: sound * 0, "gives nothing"),
        (lambda sound: sound * 0.002, "too quiet"),
        (lambda sound: np.clip(sound * 40, -1, 1), "clipped"),
    ],
    ids=["zeros", "quiet", "clipped"],
)
def test_sound_that_cannot_be_judged_brings_its_sentence(change, said):
    """No grade, and what to do."""
    proposal = propose(_verdict(change(take(_played(ASKED), noise=0))))
    assert proposal.grade is None and said in proposal.why


def test_lost_sound_and_a_guitar_far_off_are_said():
    """A jump of the capture time; strings 45 cents high."""
    sound = take(_played(ASKED))
    half = len(sound) // 2
    ears = hear([Frame(0.0, sound[:half]), Frame(half / RATE + 0.05, sound[half:])], RATE)
    assert "lost" in propose(judge(ears, Target(ASKED))).why
    off = propose(_verdict(take([(at, midi + 0.45) for at, midi in _played(ASKED)])))
    assert off.grade is None and "tune it first" in off.why


@pytest.mark.parametrize(
    ("cents", "where"),
    [(-0.4, "at"), (0.4, "at"), (-3.2, "3 cents below"), (0.8, "1 cent above"), (45, "45 cents above")],
)
def test_the_tuning_is_said_without_a_sign(cents, where):
    """A guitar in tune lies at A, and never "-0 cents" from it."""
    assert tuning_words(cents) == f"The guitar lies {where} A = 440 Hz"


def test_a_take_is_over_soon_after_its_last_note_or_after_a_silence():
    """0.3 s after the last note when it was right; 1.5 s when it was not; never before two notes."""

    def ends(pitches):
        ears, sound = Ears.start(RATE), take(_played(pitches), tail_s=3)
        step = round(RATE * 0.01)
        for first in range(0, len(sound), step):
            ears = ears.take(Frame(first / RATE, sound[first : first + step]))
            if over(ears, Target(ASKED)):
                return ears.now_s - ears.heard[-1].at_s
        return None

    assert ends(ASKED) == pytest.approx(0.3, abs=0.02)
    assert ends(ASKED[:4]) == pytest.approx(1.5, abs=0.02)
    assert ends(ASKED[:1]) is None


def test_a_late_first_note_is_a_hunt_for_this_player():
    """Later than the player's own 90th percentile, where that is known."""
    verdict = Verdict(tuple(NoteVerdict(midi, Judged.RIGHT, at_s=float(n)) for n, midi in enumerate(ASKED)))
    assert propose(verdict, first_s=5.0, late_s=4.0).grade == "found-it"
    assert propose(verdict, first_s=3.0, late_s=4.0).grade == "clean"
    assert propose(verdict, first_s=5.0).grade == "clean"


def test_the_command_draws_says_and_documents(tmp_path, neckwork):
    """A wrong third note: x on the diagram, in words, spoken, and as a document."""
    good = save(tmp_path / "good.wav", take(_played(ASKED)))
    bad = save(tmp_path / "bad.wav", take(_played((48, 51, 55, 58, 60))))
    args = ("listen", "Cm7b5", "--strings", "543", "--engine", "comb", "--wav")
    clean = neckwork(*args, str(good))
    assert clean.code == 0 and clean.out.splitlines()[-1] == "Clean, I think."
    assert "x" not in "".join(line for line in clean.out.splitlines() if line[:2].strip().isdigit())
    wrong = neckwork(*args, str(bad))
    assert "Note 3: G, not Gb." in wrong.out and wrong.out.splitlines()[-1].startswith("Looked, I think")
    assert sum("x" in line for line in wrong.out.splitlines() if line[:2].strip().isdigit()) == 1
    assert "Note 3: G, not Gb." in neckwork(*args, str(bad), "--plain").out
    document = json.loads(neckwork(*args, str(bad), "--json").out)
    assert document["proposal"]["grade"] == "looked" and document["proposal"]["slip"] == "shape"
    assert [note["judged"] for note in document["notes"]][2] == "wrong" and document["engine"]["name"] == "comb"


def test_the_command_asks_for_one_source_and_keeps_no_grip(tmp_path, neckwork):
    """Neither or both of --wav and --live; notes that sound together."""
    path = str(save(tmp_path / "a.wav", take(_played(ASKED))))
    assert neckwork("listen", "Cm7b5").code == 2
    assert neckwork("listen", "Cm7b5", "--live", "--wav", path).code == 2
    grip = neckwork("listen", "Cm7b5", "--form", "grip", "--keep-takes", str(tmp_path / "takes"))
    assert grip.code == 1 and "one after another" in grip.err


def test_an_overdriven_guitar_is_not_judged():
    """Tones that go on and hiss, as an amplifier makes of a string: a sentence and no grade."""
    sound = np.zeros(round(6 * RATE))
    for at, midi in _played(ASKED):
        first, count = round(at * RATE), round(BEAT_S * RATE)
        phase = 2 * np.pi * 440 * 2 ** ((midi - 69) / 12) * np.arange(count) / RATE
        sound[first : first + count] = sum(0.05 * np.sin(number * phase) / number**0.5 for number in range(1, 16))
    proposal = propose(_verdict(sound + np.random.default_rng(0).normal(0, 1e-4, len(sound))))
    assert proposal.grade is None and "overdriven" in proposal.why


@pytest.mark.parametrize("kind", ["clicks", "swells"])
def test_what_is_no_pluck_is_no_note(kind):
    """Clicks beside the notes, and noise that swells, are not held against the player as other notes."""
    rng = np.random.default_rng(2)
    sound = take(_played(ASKED))
    usual = _verdict(sound)
    if kind == "clicks":
        for at in np.arange(0.3, len(sound) / RATE - 0.2, 0.37):
            first = round(at * RATE)
            sound[first : first + 88] += rng.uniform(-0.3, 0.3, 88) * np.hanning(88)
    else:
        swell = np.clip(np.sin(2 * np.pi * 1.3 * np.arange(len(sound)) / RATE), 0, None)
        sound = sound + rng.normal(0, 0.01, len(sound)) * swell
    verdict = _verdict(sound)
    assert _judged(verdict) == _judged(usual) == ["right"] * 5
    assert verdict.extras == () and propose(verdict).grade == "clean"


def _of_events(*events, end_s=9.0):
    """The verdict on events alone: (seconds, MIDI number or None, how sure), of a guitar in tune."""
    heard = tuple(Heard(at, midi, 0.0, sure) for at, midi, sure in events)
    ears = Ears.start(RATE)
    hops = replace(ears.hops, taken=round(end_s * RATE))
    return judge(replace(ears, heard=heard, hops=hops, level=Level(peak=0.5, taken=RATE)), Target(ASKED))


@pytest.mark.parametrize(
    ("third", "judged"),
    [
        (((2.0, 55, 0.9),), "wrong"),
        (((1.7, 55, 0.9), (2.2, None, 0.0)), "not sure"),
        (((1.7, 55, 0.9), (2.2, 54, 0.05)), "not sure"),
        (((1.5, 55, 0.9),), "not sure"),
        (((2.0, 55, 0.3),), "not sure"),
        (((2.0, 66, 0.9),), "not sure"),
    ],
    ids=["another", "and something", "and faintly the right one", "and room for more", "not certain", "an octave"],
)
def test_a_note_is_called_wrong_only_where_the_right_one_cannot_have_sounded_too(third, judged):
    """Another note in its place, early and with a gap or an onset after it, may have been one too many."""
    verdict = _of_events((0.0, 48, 0.9), (1.0, 51, 0.9), *third, (3.0, 58, 0.9), (4.0, 60, 0.9))
    assert _judged(verdict) == ["right", "right", judged, "right", "right"]
    assert (propose(verdict).grade is None) == (judged == "not sure")


def test_a_faint_note_that_is_the_one_asked_for_is_taken_for_it_and_the_other_was_too_many():
    """Gb heard faintly after G: the G came besides, and of the Gb nothing is said."""
    notes = ((0.0, 48, 0.9), (1.0, 51, 0.9), (1.7, 55, 0.77), (2.2, 54, 0.05), (3.0, 58, 0.9), (4.0, 60, 0.9))
    verdict = _of_events(*notes)
    assert verdict.extras == (55,) and verdict.notes[2].at_s == 2.2


@pytest.mark.parametrize(
    ("one", "grade"),
    [
        ((1.5, 53, 0.05), None),
        ((1.5, 53, 0.0), None),
        ((1.5, 51, 0.05), "clean"),
        ((1.5, 66, 0.05), "clean"),
        ((1.5, 55, 0.05), "clean"),
        ((1.5, 40, 0.05), "clean"),
        ((-0.5, 53, 0.05), "clean"),
        ((1.5, None, 0.0), "clean"),
    ],
    ids=[
        "near",
        "in tune",
        "sounding on",
        "an octave up",
        "a third partial",
        "far below",
        "before it began",
        "no pitch",
    ],
)
def test_a_faint_note_on_the_way_leaves_the_grade_open(one, grade):
    """A pitch too weak to be held against the player may have been a note; what rings on, or lies far off, is none."""
    right = [(float(number), midi, 0.9) for number, midi in enumerate(ASKED)]
    proposal = propose(_of_events(*sorted([*right, one], key=lambda event: event[0])))
    assert proposal.grade == grade
    assert ("another note on the way" in proposal.why) == (grade is None)


def test_a_weak_pitch_off_the_tuning_of_the_take_was_no_note():
    """What clicks and noise bring lies anywhere between the pitches; a fretted note lies with the others."""
    others = [Heard(float(number), midi, 2.0, 0.9) for number, midi in enumerate(ASKED)]
    assert notes_of([*others, Heard(9.0, 62, 5.0, 0.0)])[-1].credible
    assert not notes_of([*others, Heard(9.0, 62, 12.0, 0.0)])[-1].credible
    assert notes_of([*others, Heard(9.0, 62, 12.0, 0.03)])[-1].credible


def test_at_the_end_two_notes_are_missing_and_one_may_have_been_soft():
    """A take that stops one note short is not sure of that note; one that stops two short has left them out."""
    right = [(float(number), midi, 0.9) for number, midi in enumerate(ASKED)]
    assert _judged(_of_events(*right[:4]))[3:] == ["right", "not sure"]
    assert _judged(_of_events(*right[:3]))[3:] == ["missing", "missing"]
    assert _judged(_of_events(*right[:3], end_s=2.5))[3:] == ["not sure", "not sure"]
