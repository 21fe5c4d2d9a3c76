"""Takes of real playing: recorded once somebody has agreed, graded blind, judged by the table, removed whole."""

from __future__ import annotations

import csv
import io
import json
import sys
import types
from datetime import date

import numpy as np
import pytest

from drills.errors import MicrophoneError
from drills.listening.evaluate.__main__ import main as evaluate
from drills.listening.evaluate.counted_takes import counted
from drills.listening.evaluate.kept_takes import REQUESTS, TakeFolder, request_at
from tests.listening.plucked import RATE, take

ASKED = (48, 51, 54, 58, 60)


def _pass(request="right", place=0):
    """A pass played as it was asked for."""
    plan = [(0.6 + 0.5 * number, midi) for number, midi in enumerate(ASKED)]
    here = place - 1
    if request == "wrong":
        plan[here] = (plan[here][0], plan[here][1] + 1)
    elif request == "missing":
        plan = plan[:here] + [(at - 0.5, midi) for at, midi in plan[here + 1 :]]
    elif request == "extra":
        plan.insert(here, (plan[here][0] - 0.25, plan[here][1] - 1))
    elif request == "mended":
        plan = [*plan[:here], (plan[here][0], plan[here][1] + 1), *((at + 0.4, midi) for at, midi in plan[here:])]
    elif request == "hesitation":
        plan = plan[:here] + [(at + 2.0, midi) for at, midi in plan[here:]]
    return take(plan, ring_s=1.0, tail_s=2.6)


def _library(sounds):
    """A sound library whose microphone plays one sound each time it is opened."""

    class Stream:
        def __init__(self, callback, blocksize, **_given):
            self.callback, self.size = callback, blocksize

        def start(self):
            sound = next(sounds)
            for first in range(0, len(sound) - self.size, self.size):
                self.callback(sound[first : first + self.size, None], self.size, None, 0)

        def close(self):
            self.closed = True

    library = types.ModuleType("sounddevice")
    library.PortAudioError = type("PortAudioError", (Exception,), {})
    library.query_devices = lambda kind: {"default_samplerate": float(RATE)}
    library.InputStream = Stream
    return library


def _recorded(neckwork, monkeypatch, folder, answers, sounds=()):
    monkeypatch.setitem(sys.modules, "sounddevice", _library(iter(sounds)))
    monkeypatch.setattr("drills.microphone.device._PATIENCE_S", 5.0)
    monkeypatch.setattr(sys, "stdin", io.StringIO("\n".join(answers) + "\n"))
    return neckwork("listen", "Cm7b5", "--strings", "543", "--keep-takes", str(folder))


def test_nothing_is_recorded_before_somebody_agrees(neckwork, monkeypatch, tmp_path):
    """Neither enter nor no is a yes; the microphone stays closed and no folder is made."""
    for answer in ("", "no", "somebody"):
        ran = _recorded(neckwork, monkeypatch, tmp_path / "takes", [answer])
        assert ran.code == 0 and "Nothing is recorded." in ran.out and "microphone is on" not in ran.out
    assert not (tmp_path / "takes").exists()
    folder = TakeFolder(tmp_path / "takes")
    with pytest.raises(MicrophoneError, match="nobody has agreed"):
        folder.keep(np.zeros(9), RATE, "Cm7b5", ASKED, "right", 0, "2026-03-02")
    with pytest.raises(MicrophoneError, match="expected me or guardian"):
        folder.agree("a friend")


def test_takes_are_asked_for_kept_judged_and_removed(neckwork, monkeypatch, tmp_path, capsys):
    """Right and wrong by turns; what did not go as asked is not kept; the same folder goes on the next day."""
    folder = tmp_path / "takes"
    first, second = request_at(0, 5), request_at(1, 5)
    ran = _recorded(
        neckwork, monkeypatch, folder, ["guardian", "", "n", "", "y", "", "y", "q"],
        [_pass("wrong", 3), _pass(*first), _pass(*second)],
    )  # fmt: skip
    assert ran.code == 0 and ran.out.count("kept: ") == 2 and ran.out.count("Take 1, Cm7b5") == 2
    ran = _recorded(neckwork, monkeypatch, folder, ["q"])
    assert "Who agrees" not in ran.out and "Take 3" in ran.out
    kept = TakeFolder(folder)
    assert kept.agreed_by == "guardian"
    assert [(one.request, one.place, one.asked, one.on) for one in kept.takes] == [
        (*first, ASKED, date.today().isoformat()), (*second, ASKED, date.today().isoformat()),
    ]  # fmt: skip
    assert {path.stat().st_mode & 0o077 for path in folder.iterdir()} == {0}
    found = counted(kept.loaded()).numbers
    assert (found["takes"], found["true"], found["right heard"], found["wrong heard"]) == (2, 2, 9, 1)
    evaluate([str(folder)])
    assert "2 takes played by hand" in capsys.readouterr().out
    monkeypatch.setattr(sys, "stdin", io.StringIO("y\n"))
    (folder / "mine.txt").write_text("a note of the player's own")
    assert "removed: 2 takes" in neckwork("listen", "--delete-takes", str(folder)).out
    assert [path.name for path in folder.iterdir()] == ["mine.txt"]


def test_every_request_comes_and_half_are_right():
    """Each fault, at each inner note, in a hundred takes; never the first or the last note."""
    asked = [request_at(number, 5) for number in range(200)]
    assert sum(request == "right" for request, _ in asked) == 100
    assert {pair for pair in asked if pair[0] != "right"} == {
        (request, place) for request in REQUESTS if request != "right" for place in (2, 3, 4)
    }
    assert {request_at(number, 2) for number in range(20)} == {("right", 0)}


@pytest.mark.parametrize("request_name", REQUESTS)
def test_a_pass_played_as_asked_is_heard_as_asked(request_name, tmp_path):
    """The grade a request stands for is the one that is proposed."""
    folder = TakeFolder(tmp_path / "t")
    folder.agree("me")
    folder.keep(_pass(request_name, 3), RATE, "Cm7b5", ASKED, request_name, 0 if request_name == "right" else 3, "")
    found = counted(TakeFolder(tmp_path / "t").loaded()).numbers
    assert (found["true"], found["claimed"]) == (1, 1), dict(found)


def test_a_teachers_blind_grade_is_the_truth(tmp_path):
    """The list to grade names no request; a grade written there stands, and a later take does not wipe it out."""
    folder = TakeFolder(tmp_path / "t")
    folder.agree("me")
    folder.keep(_pass(), RATE, "Cm7b5, strings 5-4-3", ASKED, "right", 0, "2026-03-02")
    blind = tmp_path / "t" / "grades.csv"
    assert blind.read_text() == 'take,asked,grade\ntake-0001.wav,"Cm7b5, strings 5-4-3",\n'
    with blind.open("w", newline="") as file:
        csv.writer(file).writerows([["take", "asked", "grade"], ["take-0001.wav", "Cm7b5", "found-it"]])
    folder = TakeFolder(tmp_path / "t")
    folder.keep(_pass(), RATE, "Cm7b5, strings 5-4-3", ASKED, "right", 0, "2026-03-02")
    assert [one.grade for one in folder.loaded()] == ["found-it", "clean"]
    blind.write_text("take,asked,grade\ntake-0001.wav,x,good\n")
    with pytest.raises(MicrophoneError, match=r"take-0001.wav, grade: expected one of looked, .* got 'good'"):
        folder.loaded()


@pytest.mark.parametrize(
    "wrong",
    [
        "{", "[]", '{"format": "other", "version": 1}',
        *(
            json.dumps({"format": "kept-takes", "version": 1, "agreed_by": "me", "takes": [
                {"file": "take-0001.wav", "shape": "x", "asked": [48, 50], "request": "right", "place": 0, "on": "",
                 **odd}
            ]})
            for odd in ({"file": "../../secret.wav"}, {"file": "take-00/1.wav"}, {"request": "dream"}, {"place": 3},
                        {"asked": []}, {"asked": "x"})
        ),
    ],
)  # fmt: skip
def test_a_list_from_elsewhere_is_refused(wrong, tmp_path, neckwork):
    """It names no file outside its folder, and nothing is removed by it."""
    (tmp_path / "takes.json").write_text(wrong)
    with pytest.raises(MicrophoneError, match="no list of kept takes"):
        TakeFolder(tmp_path)
    assert neckwork("listen", "--delete-takes", str(tmp_path)).code == 1
    assert (tmp_path / "takes.json").exists()


def test_a_folder_of_something_else_is_left_alone(tmp_path, neckwork):
    """Neither recorded into nor emptied; a sound that is gone is named."""
    (tmp_path / "photo").write_text("x")
    with pytest.raises(MicrophoneError, match="new or empty folder"):
        TakeFolder(tmp_path)
    assert "no kept takes" in neckwork("listen", "--delete-takes", str(tmp_path / "nowhere")).out
    folder = TakeFolder(tmp_path / "t")
    folder.agree("me")
    one = folder.keep(_pass(), RATE, "x", ASKED, "right", 0, "")
    (tmp_path / "t" / one.file).unlink()
    with pytest.raises(MicrophoneError, match=r"take-0001\.wav: the sound of a kept take is gone"):
        folder.loaded()
    assert folder.delete() == 1 and not (tmp_path / "t").exists()
    assert neckwork("listen").code == 2
