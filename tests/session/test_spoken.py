"""A session that speaks: each new moment is said once, a voice that is not there is said once, and nothing waits."""

from __future__ import annotations

import subprocess
import sys
import time
from dataclasses import replace

import pytest

from drills.session.announcer import VOICE_FAILED, Announcer, announced
from drills.session.hands_free import ACCEPT_S, AFTER_SPEECH_S
from drills.session.heard_take import HeardTake
from drills.sound.voice import NO_VOICE, SYSTEM_VOICES, Voice, find_voice
from scheduler.grade import Grade
from tests.cli.conftest import neckwork

__all__ = ["neckwork"]


class Spoken:
    """A voice that says nothing and remembers what it was given."""

    def __init__(self):
        self.texts, self.speaking, self.failed, self.stopped = [], False, False, 0

    def say(self, text):
        self.texts.append(text)

    def stop(self):
        self.stopped += 1


@pytest.fixture
def said(sitting):
    """A sitting at its first prompt, and what was said so far."""
    voice = Spoken()
    one = sitting()
    one.drill.announcer = Announcer(voice)
    one.drill.announce()
    one.start()
    one.through_lessons()
    return one, voice


def test_each_moment_is_said_once(said):
    """Plan, warm-up, lesson and prompt; ticks add nothing."""
    one, voice = said
    count = len(voice.texts)
    assert count >= 3 and "10 minutes" in voice.texts[0]
    for _ in range(5):
        one.clock.tick(0.5)
        one.drill.tick()
    assert len(voice.texts) == count


def test_a_prompt_is_called_short_and_an_answer_whole(said):
    """The prompt is the call alone; without a proposal the answer tells string, fret and finger."""
    one, voice = said
    call = one.state.card.prompt.split()[0][0]
    assert voice.texts[-1].startswith(call) and "Enter" not in voice.texts[-1]
    one.press("enter", seconds=8)
    assert "string" in voice.texts[-1] and "finger" in voice.texts[-1]
    one.press("l")
    assert voice.texts[-1].startswith("Play it right twice, slowly.")


def _take(grade, glyphs, line):
    return HeardTake(glyphs, line, (), grade, None, 1.0, "comb 1", "{}")


def test_of_what_was_right_only_the_proposal_is_said(said):
    """Whoever played it right needs not be told how it goes; of a wrong note all is told."""
    one, _ = said
    one.press("enter", seconds=8)
    notes = len(one.state.question.shapes[0].notes)
    for glyphs, told in ((("",) * notes, False), (("x",) + ("",) * (notes - 1), True)):
        one.drill.state = replace(one.state, heard=_take(Grade.CLEAN, glyphs, "Clean, I think."))
        lines = announced(one.drill)
        assert lines[0] == "Clean, I think." and (len(lines) > 1) is told


def test_a_new_notice_is_said_alone(said):
    """The moment it stands under is not said again."""
    one, voice = said
    one.press("?")
    assert voice.texts[-1] == "Marked for your teacher."


def test_a_voice_that_does_not_speak_is_told_once(said):
    """On the screen, and the session goes on."""
    one, voice = said
    voice.failed = True
    one.clock.tick(0.5)
    one.drill.tick()
    assert one.state.note == VOICE_FAILED
    one.press("enter", seconds=8)
    one.clock.tick(0.5)
    one.drill.tick()
    assert one.state.note == ""


def test_silence_takes_nothing_while_the_proposal_is_being_said():
    """The three seconds are over only when the voice has been silent for one and a half."""
    from drills.session.hands_free import HandsFree
    from drills.session.session_state import Phase, SessionState
    from tests.session.test_hands_free import Guitar

    free, guitar = HandsFree(), Guitar()
    take = replace(_take(Grade.CLEAN, (), "Clean, I think."), accept_at_s=10.0 + ACCEPT_S)
    state = SessionState(600.0, phase=Phase.ANSWER, heard=take)
    guitar.busy = True
    assert free.due(state, 14.0, guitar, None) == ()
    guitar.busy = False
    assert free.due(state, 14.0 + AFTER_SPEECH_S - 0.1, guitar, None) == ()
    assert free.due(state, 14.0 + AFTER_SPEECH_S, guitar, None) == ("c",)


# ---- the voice of the system


def test_the_first_voice_that_is_there_is_taken():
    """Each reads its standard input: no text can be taken for an option."""
    for command in SYSTEM_VOICES:
        assert find_voice(lambda name, only=command[0]: name if name == only else None) == command
    assert find_voice(lambda _: None) is None
    assert all(any("-" in part for part in command[1:]) for command in SYSTEM_VOICES)


def _ended(voice):
    end = time.monotonic() + 20
    while voice.speaking and time.monotonic() < end:
        time.sleep(0.01)


def test_a_text_reaches_the_voice_whole_and_a_new_one_ends_it(tmp_path):
    """By its input, in UTF-8; saying something else does not count as a failure."""
    out = tmp_path / "said"
    write = f"import sys; open({str(out)!r}, 'ab').write(sys.stdin.buffer.read())"
    voice = Voice((sys.executable, "-c", write))
    voice.say("--help; E♭ major seven")
    assert voice.speaking
    _ended(voice)
    assert out.read_text(encoding="utf-8") == "--help; E♭ major seven\n" and not voice.failed
    slow = Voice((sys.executable, "-c", "import time; time.sleep(60)"))
    slow.say("one")
    slow.say("two")
    assert slow.speaking and not slow.failed
    slow.stop()
    assert not slow.speaking and not slow.failed
    slow.say("   ")
    assert not slow.speaking


@pytest.mark.parametrize("command", [(sys.executable, "-c", "raise SystemExit(1)"), ("/nowhere/voice",)])
def test_a_voice_that_fails_is_known_to(command):
    """By its code, or because it is not there; nothing is raised."""
    voice = Voice(command, subprocess.Popen)
    voice.say("E flat")
    _ended(voice)
    assert voice.failed


def test_a_machine_without_a_voice_says_so(neckwork, monkeypatch):
    """With the plan, and the session begins."""
    monkeypatch.setattr("drills.sound.voice.find_voice", lambda: None)
    monkeypatch.setattr("builtins.input", lambda: "q")
    ran = neckwork("session", "--spoken", "--plain", "--quiet")
    assert ran.code == 0 and NO_VOICE in ran.out
