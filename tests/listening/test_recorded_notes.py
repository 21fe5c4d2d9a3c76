"""Recorded notes in a folder make an instrument whose every pitch is in its place, from its very onset on."""

from __future__ import annotations

import numpy as np
import pytest

from drills.errors import MicrophoneError
from drills.listening.ears import hear
from drills.listening.evaluate.instruments import HIGHEST, LOWEST, RATE, Instrument, instruments
from drills.listening.evaluate.recorded_notes import notes_of_folder, pitch_of_name
from drills.listening.heard import Frame
from tests.listening.plucked import hz_of, save, take


def test_a_file_is_named_by_its_pitch():
    """`s` is sharp, the octave is that of scientific pitch notation (A4 = 69)."""
    assert [pitch_of_name(name) for name in ("A4.mp3", "Fs3.wav", "C4.ogg", "E2.flac")] == [69, 54, 60, 40]
    assert [pitch_of_name(name) for name in ("Ab4.mp3", "A4.txt", "A4", "As10.mp3", "README.md")] == [None] * 5


@pytest.fixture
def folder(tmp_path):
    """Two notes as somebody recorded them: at their own rate, after a rest."""
    pytest.importorskip("soundfile")
    for name, midi in (("A2", 45), ("E4", 64)):
        save(tmp_path / f"{name}.wav", take([(0.3, midi)], rate=22_050, ring_s=2.0, noise=0.0), 22_050)
    return tmp_path


def test_what_was_not_recorded_is_the_nearest_note_moved(folder):
    """Every pitch is heard as itself, and begins where the row does."""
    player = Instrument("recorded", None, False, folder=folder)
    for midi in (43, 45, 48, 62, 64, 67):
        sound = np.concatenate((np.zeros(round(0.5 * RATE)), player.note(midi)[:RATE]))
        heard = [one for one in hear([Frame(0.0, sound)], RATE).heard if one.sure > 0.4]
        assert [one.midi for one in heard[:1]] == [midi], (midi, hz_of(midi))
        assert heard[0].at_s == pytest.approx(0.5, abs=0.015)
    assert notes_of_folder(folder, LOWEST, HIGHEST, 2.0, RATE).shape == (HIGHEST - LOWEST + 1, 2 * RATE)


def test_a_folder_without_notes_is_named(tmp_path):
    """The message says what is looked for."""
    pytest.importorskip("soundfile")
    with pytest.raises(MicrophoneError, match=r"expected sound files named by pitch, such as A2\.mp3, got none"):
        notes_of_folder(tmp_path, 40, 50, 1.0, RATE)


def test_further_instruments_were_never_tuned_on(tmp_path):
    """Each further soundfont brings the five guitars under its own name, each folder one player."""
    usual, more = instruments(), instruments([tmp_path / "Other.sf2"], [tmp_path / "mine"])
    new = [one for one in more if one not in usual]
    assert new[-1].name == "recorded (mine)" and not any(one.tuned_on for one in new)
    assert len(new) == 1 or {one.name.rpartition(" ")[2] for one in new[:-1]} == {"(Other)"}
