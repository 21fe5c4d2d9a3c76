"""One contract for all engines: the comb, the trained models where they are installed, their vote, and stand-ins."""

from __future__ import annotations

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.errors import EngineError
from drills.listening.ears import hear
from drills.listening.engine import Pitched
from drills.listening.engine_names import ENGINES
from drills.listening.engines import engine_named
from drills.listening.heard import Frame, Target
from drills.listening.heard_notes import CERTAIN
from drills.listening.proposal import propose
from drills.listening.resample import resampled
from drills.listening.verdict import judge
from drills.listening.vote import Vote
from drills.pitch_models.loaded import load_pitch_models
from tests.cli.test_no_network import watched
from tests.listening.plucked import RATE, save, take
from tests.listening.stand_ins import StandIns

try:
    MODELS = load_pitch_models()
except EngineError:
    MODELS = None

STOOD_IN = {f"{name}, stood in for": engine_named(name, 40, StandIns) for name in ENGINES if name != "comb"}
INSTALLED = {name: engine_named(name, 40, lambda: MODELS) for name in ENGINES if name == "comb" or MODELS}
FOUND = INSTALLED | STOOD_IN
OPEN_STRINGS = (40, 45, 50, 55, 59, 64)
ASKED = (48, 51, 54, 58, 60)

each = pytest.mark.parametrize("engine", FOUND.values(), ids=FOUND)


def _around(midi, *, rate=RATE, ringing=(), **kept):
    """Before and after a pluck, of 0.19 s each; strings that ring on were plucked half a second earlier."""
    sound = take([(0.5, string) for string in ringing] + [(1.0, midi)], rate=rate, **kept)
    first, size = round(1.012 * rate), round(0.19 * rate)
    last = round(0.992 * rate)
    return sound[last - size : last], sound[first : first + size], rate


def test_all_engines_are_found():
    """Every engine of the list is here, as itself or by a stand-in; with the models installed, as itself."""
    assert len(FOUND) == len(INSTALLED) + len(ENGINES) - 1
    assert set(INSTALLED) in ({"comb"}, set(ENGINES))
    assert {engine.name for engine in FOUND.values()} == set(ENGINES)
    assert all(engine.version >= 1 for engine in FOUND.values())
    assert all(engine.lowest <= 40 and engine.highest >= 88 for engine in FOUND.values())


@each
@pytest.mark.parametrize("midi", [*OPEN_STRINGS, 70, 76])
def test_a_plucked_string_is_heard(engine, midi):
    """Open strings and the highest frets: the right semitone to ten cents, with certainty."""
    found = engine.pitch_of(*_around(midi))
    assert found.pitch == pytest.approx(midi, abs=0.1) and found.sure >= CERTAIN


@each
@pytest.mark.parametrize("gain_db", [-20, 20])
def test_louder_or_softer_is_the_same(engine, gain_db):
    """Twenty decibels either way."""
    before, after, rate = _around(57, noise=0)
    usual, gain = engine.pitch_of(before, after, rate), 10 ** (gain_db / 20)
    found = engine.pitch_of(before * gain, after * gain, rate)
    assert found.pitch == pytest.approx(usual.pitch, abs=0.01) and found.sure == pytest.approx(usual.sure, abs=0.01)


@each
@pytest.mark.parametrize("rate", [16_000, 44_100, 48_000])
def test_any_rate_is_the_same(engine, rate):
    """The rates that devices have."""
    found = engine.pitch_of(*_around(57, rate=rate))
    assert found.pitch == pytest.approx(57, abs=0.1) and found.sure >= CERTAIN


@each
@pytest.mark.parametrize("a4_hz", [432.0, 446.0])
def test_another_tuning_is_told_in_cents(engine, a4_hz):
    """A4 from 432 to 446 Hz moves every pitch by as much, to five cents."""
    found = engine.pitch_of(*_around(52, a4_hz=a4_hz))
    assert (found.pitch - 52) * 100 == pytest.approx(1200 * np.log2(a4_hz / 440), abs=5)


@each
def test_silence_and_noise_have_no_pitch(engine):
    """Exact zeros, noise that goes on, and noise that begins."""
    rng = np.random.default_rng(3)
    size = round(0.19 * RATE)
    zeros, noise = np.zeros(size), rng.normal(0, 0.05, size)
    for before, after in ((zeros, zeros), (rng.normal(0, 0.05, size), noise), (zeros + 1e-5 * noise, noise)):
        found = engine.pitch_of(before, after, RATE)
        assert found is None or found.sure < 0.15


@each
def test_a_string_that_rings_on_is_no_new_note(engine):
    """Nothing is plucked while a string rings: no pitch that counts."""
    sound = take([(0.5, 50)])
    size = round(0.19 * RATE)
    found = engine.pitch_of(sound[RATE : RATE + size], sound[RATE + size : RATE + 2 * size], RATE)
    assert found is None or found.sure < 0.15


@each
def test_a_ringing_string_is_never_taken_for_the_new_one(engine):
    """Two strings ring on under a third: the third, or no certainty."""
    found = engine.pitch_of(*_around(60, ringing=(48, 55)))
    assert found is None or found.sure < CERTAIN or round(found.pitch) == 60


@each
def test_the_same_sound_gets_the_same_answer_and_is_left_as_it_was(engine):
    """Nothing is kept from one onset to the next."""
    before, after, rate = _around(59)
    copies = before.copy(), after.copy()
    first = engine.pitch_of(before, after, rate)
    engine.pitch_of(*_around(64))
    assert engine.pitch_of(before, after, rate) == first
    assert np.array_equal(before, copies[0]) and np.array_equal(after, copies[1])


@each
def test_a_take_is_the_same_whole_in_pieces_moved_and_later(engine):
    """To the last bit in pieces of 10 ms; the same verdict half a second later, and three semitones up."""
    played = (48, 51, 53, 54, 58, 60)

    def heard(semitones=0, start_s=0.6, piece_s=None):
        sound = take([(start_s + number * 0.5, midi + semitones) for number, midi in enumerate(played)])
        size = len(sound) if piece_s is None else round(piece_s * RATE)
        frames = [Frame(first / RATE, sound[first : first + size]) for first in range(0, len(sound), size)]
        ears = hear(frames, RATE, engine)
        return ears, judge(ears, Target(tuple(midi + semitones for midi in ASKED)))

    ears, usual = heard()
    in_pieces, pieced = heard(piece_s=0.01)
    assert in_pieces.heard == ears.heard and pieced == usual
    assert propose(usual).grade == "found-it" and usual.extras == (53,)
    for _, other in (heard(start_s=1.1), heard(semitones=3)):
        assert [note.judged for note in other.notes] == [note.judged for note in usual.notes]
        assert propose(other).grade == "found-it"


@given(
    st.lists(st.tuples(st.integers(400, 800), st.sampled_from([0.0, 0.05, 0.1, 0.2, 0.4, 0.9])), min_size=3, max_size=3)
)
def test_two_that_agree_are_sure_and_one_alone_is_not(answers):
    """The rule of the vote, for all answers: whatever is certain has two engines behind it that agree."""
    engines = [_Says(pitch / 10, sure) for pitch, sure in answers]
    found = Vote(engines[0], tuple(engines[1:])).pitch_of(np.zeros(1), np.zeros(1), RATE)
    counted = [pitch / 10 for pitch, sure in answers if sure >= 0.15]
    pairs = [one for place, one in enumerate(counted) for two in counted[place + 1 :] if abs(one - two) <= 0.5]
    weak = answers[0][1] < 0.15
    confirmed = weak and answers[1][1] >= 0.7 and abs(answers[0][0] - answers[1][0]) <= 5
    if answers[0][1] > 0 and pairs:
        assert found.pitch in pairs and found.sure >= CERTAIN
    elif confirmed:
        assert found.pitch == answers[0][0] / 10 and 0.15 <= found.sure < CERTAIN
    elif answers[0][1] == 0:
        assert found.sure == 0  # no pluck
    else:
        assert found.sure <= 0.1


def test_a_pitch_taken_for_no_pluck_needs_the_model_that_hears_beginnings():
    """The tracker alone makes no note of it, however sure; nor does the model with another pitch, or unsure."""
    for polyphonic, tracker, sure in ((0.0, 0.9, 0.0), (0.65, 0.9, 0.0), (0.7, 0.0, 0.3)):
        vote = Vote(_Says(60.0, 0.0), (_Says(60.2, polyphonic), _Says(60.0, tracker)))
        assert vote.pitch_of(np.zeros(1), np.zeros(1), RATE) == Pitched(60.0, sure)
    other = Vote(_Says(60.0, 0.0), (_Says(72.0, 1.0), _Says(72.0, 1.0)))
    assert other.pitch_of(np.zeros(1), np.zeros(1), RATE).sure == 0.0


class _Says:
    """An engine with one answer."""

    name, version, lowest, highest = "says", 1, 21, 108

    def __init__(self, pitch, sure):
        self._answer = Pitched(pitch, sure)

    def pitch_of(self, before, after, rate):
        return self._answer


def test_a_wrong_note_that_one_engine_alone_hears_is_not_held_against_the_player():
    """The comb says a semitone off, the others say nothing: not sure, and no grade."""

    class Misled(_Says):
        def pitch_of(self, before, after, rate):
            return (
                Pitched(52.0, 0.9)
                if abs(self.truth(before, after, rate).pitch - 51) < 0.3
                else self.truth(before, after, rate)
            )

    from drills.listening.comb import Comb

    misled = Misled(0, 0)
    misled.truth = Comb().pitch_of
    sound = take([(0.6 + number * 0.5, midi) for number, midi in enumerate(ASKED)])
    alone = propose(judge(hear([Frame(0.0, sound)], RATE, misled), Target(ASKED)))
    vote = Vote(misled, STOOD_IN["vote, stood in for"].others)
    assert alone.grade == "looked"
    assert propose(judge(hear([Frame(0.0, sound)], RATE, vote), Target(ASKED))).grade == "clean"


def test_the_last_engine_is_asked_only_where_two_do_not_agree():
    """A clear pluck takes two engines; what is no pluck takes the comb alone."""
    models = StandIns()
    vote = engine_named("vote", 40, lambda: models)
    vote.pitch_of(*_around(57))
    assert models.asked == ["notes"]
    models.asked.clear()
    assert vote.pitch_of(np.zeros(4000), np.zeros(4000), RATE) is None
    assert models.asked == []


def test_the_comb_needs_no_model_and_a_name_that_is_none_is_refused():
    """Models are loaded only for an engine that asks them."""

    def refuse():
        raise EngineError("not here")

    assert engine_named("comb", 40, refuse).name == "comb"
    with pytest.raises(EngineError):
        engine_named("vote", 40, refuse)
    with pytest.raises(ValueError, match="expected one of comb, polyphonic, tracker, vote"):
        engine_named("nose", 40, StandIns)


@pytest.mark.parametrize("name", [None, *ENGINES])
def test_the_command_hears_by_the_engine_that_was_asked_for(tmp_path, neckwork, name):
    """The best installed where none was; one that is not installed is refused with what to do."""
    path = str(save(tmp_path / "a.wav", take([(0.6 + number * 0.5, midi) for number, midi in enumerate(ASKED)])))
    ran = neckwork(
        "listen", "Cm7b5", "--strings", "543", "--wav", path, "--json", *(["--engine", name] if name else [])
    )
    if name is None or name in INSTALLED:
        told = json.loads(ran.out)
        assert told["engine"]["name"] == (name or list(INSTALLED)[-1]) and told["proposal"]["grade"] == "clean"
    else:
        assert ran.code == 1 and "pip install 'neckwork[listen]'" in ran.err


def test_an_engine_says_where_it_ends_and_a_grip_takes_none(neckwork, tmp_path):
    """A bass below the tracker; a grip is verified in one way."""
    path = str(save(tmp_path / "a.wav", take([(0.6, 40)])))
    grip = neckwork("listen", "Cm7b5", "--form", "grip", "--engine", "comb", "--wav", path)
    assert grip.code == 2 and "leave --engine out" in grip.err
    if MODELS is not None:
        low = neckwork("listen", "F#m7", "--strings", "432", "--tuning", "bass", "--engine", "tracker", "--wav", path)
        assert low.code == 1 and "--engine comb" in low.err


@pytest.mark.skipif(MODELS is None, reason="the trained models are not installed")
def test_the_models_open_no_connection(tmp_path):
    """Under the audit hook that watches every command: no internet socket, no look-up of a host."""
    path = str(save(tmp_path / "a.wav", take([(0.6 + number * 0.5, midi) for number, midi in enumerate(ASKED)])))
    lines = [["listen", "Cm7b5", "--strings", "543", "--engine", name, "--wav", path] for name in ("tracker", "vote")]
    found = watched(lines, tmp_path)
    assert found["seen"] == [] and set(found["codes"].values()) == {0}


def test_a_library_that_is_not_there_is_said_with_what_to_do():
    """Not installed, or not loading."""
    for error in (ImportError("No module named 'onnxruntime'"), OSError("a library of the system is missing")):

        def load(_name, error=error):
            raise error

        with pytest.raises(EngineError, match=r"pip install 'neckwork\[listen\]'"):
            load_pitch_models(load)


@settings(max_examples=8, deadline=None)
@given(
    st.sampled_from([16_000, 22_050, 44_100, 48_000, 96_000]), st.sampled_from([16_000, 22_050]), st.floats(60, 6000)
)
def test_sound_at_another_rate_is_the_same_sound(rate, to_rate, hz):
    """A sine below .9 of both bands comes out as that sine to a thousandth; above the new band it is gone."""
    sine = np.sin(2 * np.pi * hz * np.arange(round(0.3 * rate)) / rate)
    made = resampled(sine, rate, to_rate)
    wanted = np.sin(2 * np.pi * hz * np.arange(len(made)) / to_rate)
    inner = slice(round(0.02 * to_rate), -round(0.02 * to_rate))
    assert len(made) == len(sine) * to_rate // rate
    assert np.abs(made - wanted)[inner].max() < 1e-3


def test_what_lies_above_the_new_band_is_taken_away():
    """A tone of 9 kHz at 16,000 samples a second would be heard as one of 7."""
    sine = np.sin(2 * np.pi * 9000 * np.arange(13_230) / 44_100)
    assert np.abs(resampled(sine, 44_100, 16_000)[400:-400]).max() < 1e-2
