"""Hands free: playing and waiting is enough, any key overrules, and nothing is taken that was not heard well."""

from __future__ import annotations

import threading
from dataclasses import replace

import numpy as np
import pytest

from drills.configuration.diagram_style import DiagramStyle
from drills.listening.any_take import start_ears
from drills.listening.ears import Ears
from drills.listening.heard import Frame
from drills.session.hands_free import ACCEPT_S, NOODLING_S, OFF_AGAIN, PASSES, HandsFree
from drills.session.plain import spoken
from drills.session.screens import screen
from drills.session.session_ears import SessionEars
from drills.session.session_sentences import HANDS_FREE, LISTENING, OFFER_HANDS_FREE, VOTING
from drills.session.terminal import run_lines
from scheduler.grade import Grade
from scheduler.log.events import Witness
from scheduler.review import Review
from scheduler.statistics.agreement import mostly_same
from tests.listening.plucked import RATE, take


class Guitar:
    """Takes that the test plays; `begin` forgets them, as a microphone's ears do."""

    def __init__(self):
        self.begun, self.trouble, self._ears, self.busy = 0, "", Ears.start(RATE), False

    def begin(self, *, grip=False):
        self.begun += 1
        self._ears = start_ears(RATE, grip=grip)

    def play(self, pitches, tail_s=1.0, beat_s=0.4):
        """A pass; the ears have heard `tail_s` seconds after its last note rang on for one."""
        sound = take([(0.4 + beat_s * number, midi) for number, midi in enumerate(pitches)], ring_s=1.0, tail_s=1.0)
        end = round((0.4 + beat_s * (len(pitches) - 1) + tail_s) * RATE)
        self._ears = Ears.start(RATE).take(Frame(0.0, sound[:end]))

    def silence(self, seconds):
        """Time passes in which nothing is played."""
        at = (self._ears.hops.taken + len(self._ears.hops.rest)) / RATE
        self._ears = self._ears.take(Frame(at, np.random.default_rng(1).normal(0, 0.0005, round(seconds * RATE))))

    def heard(self):
        return self._ears, 0.0


@pytest.fixture
def free(sitting):
    """A hands-free sitting at its first prompt, and its guitar."""
    guitar = Guitar()
    one = sitting()
    one.drill.ears = SessionEars(guitar, hands_free=HandsFree())
    one.start()
    one.through_lessons()
    assert one.state.phase.value == "prompt"
    return one, guitar


def _tick(one, seconds):
    one.clock.tick(seconds)
    return one.drill.tick()


def _asked(one):
    return [note.midi for note in one.state.question.shapes[0].notes]


def _phase(one):
    return one.state.phase.value


def _to_prompt(one, guitar):
    """Lessons played twice, until the next prompt stands."""
    while _phase(one) in ("lesson", "repeat"):
        guitar.play(_asked(one))
        _tick(one, 5)


def _played(one, guitar, pitches=None):
    """Plays at a prompt until the answer stands."""
    guitar.play(pitches or _asked(one), tail_s=2.0)
    assert _tick(one, 5) and _phase(one) == "answer"


def test_playing_and_waiting_is_enough(free):
    """The answer comes by itself, after three seconds silence takes the proposal, and the log says so."""
    one, guitar = free
    first = one.state.card
    _tick(one, 1)
    assert _phase(one) == "prompt"
    _played(one, guitar)
    assert one.state.heard.grade is Grade.CLEAN
    assert not _tick(one, ACCEPT_S - 0.1) or _phase(one) == "answer"
    _tick(one, 0.2)
    assert one.state.card is not first
    (pair,) = one.log.witnessed()
    assert pair[0].how == "accepted" and pair[1].grade is Grade.CLEAN and pair[1].card == first.id


def test_the_answer_does_not_come_before_the_last_right_note_has_sounded(free):
    """Half of it, and a short rest after it, is no answer; the whole and 0.3 s is."""
    one, guitar = free
    asked = _asked(one)
    guitar.play(asked[:3], tail_s=0.6)
    _tick(one, 2)
    assert _phase(one) == "prompt"
    guitar.play(asked, tail_s=0.25)
    _tick(one, 1)
    assert _phase(one) == "prompt"
    guitar.play(asked, tail_s=0.45)
    _tick(one, 1)
    assert _phase(one) == "answer"


def test_the_seconds_run_down_on_the_screen(free):
    """In words and a bar, drawn anew each second, in plain characters too."""
    one, guitar = free
    _played(one, guitar)
    lines = {line.text for line in screen(one.drill, DiagramStyle(), 90, 40)}
    assert "Silence takes Clean: 3 s ■■■" in lines
    assert _tick(one, 1.2)
    assert not _tick(one, 0.1)
    assert "Silence takes Clean: 2 s ##" in {t.text for t in screen(one.drill, DiagramStyle(ascii=True), 90, 40)}
    assert any("In three seconds silence takes it" in line for line in spoken(one.drill))


def test_a_grade_key_overrules_and_two_in_a_row_turn_it_off(free):
    """The key is the grade, marked as shown; a grade that is the one proposed begins the count anew."""
    one, guitar = free
    for keys, stays in (("f", True), ("c", True), ("f", True), ("l", False)):
        _to_prompt(one, guitar)
        _played(one, guitar)
        one.press(keys)
        if _phase(one) == "repeat" and stays:
            _to_prompt(one, guitar)
        assert one.drill.ears.hands_free is stays
    assert one.state.note == OFF_AGAIN
    assert {witness.how for witness, _ in one.log.witnessed()} == {"shown"}
    assert one.drill.tick_s == 0.5


def test_what_was_not_heard_well_waits_for_a_key(free):
    """Another chord is nobody's guess: no countdown, however long the silence."""
    one, guitar = free
    _played(one, guitar, [midi + 2 for midi in _asked(one)])
    assert one.state.heard.grade is None
    _tick(one, 30)
    assert _phase(one) == "answer" and one.firsts() == []
    one.press("c")
    assert one.firsts()[0].grade is Grade.CLEAN


def test_a_miss_that_silence_takes_names_its_slip_and_stays_until_two_right_passes(free):
    """A wrong pass in between does not count, and a right one begins no third."""
    one, guitar = free
    asked = _asked(one)
    _played(one, guitar, [midi + (number == 2) for number, midi in enumerate(asked)])
    _tick(one, ACCEPT_S + 0.1)
    assert _phase(one) == "repeat" and one.state.given[-1].slip == "shape"
    wrong = [midi + (number == 1) for number, midi in enumerate(asked)]
    for pitches, phase in ((asked, "repeat"), (wrong, "repeat"), (asked, "gone")):
        assert _phase(one) == "repeat"
        guitar.play(pitches, tail_s=2.0)
        _tick(one, 5)
        assert (_phase(one) == "repeat") is (phase == "repeat")
    assert PASSES == 2


def test_a_lesson_is_over_after_two_right_passes(sitting):
    """As after a miss: played from the diagram, twice."""
    guitar = Guitar()
    one = sitting()
    one.drill.ears = SessionEars(guitar, hands_free=HandsFree())
    one.start()
    assert _phase(one) == "lesson"
    guitar.play(_asked(one))
    _tick(one, 5)
    assert _phase(one) == "lesson"
    guitar.play(_asked(one))
    _tick(one, 5)
    assert _phase(one) != "lesson" or one.state.lessons


def test_playing_on_into_a_prompt_is_no_answer(free):
    """What goes on from before is passed over until 0.7 s of silence."""
    one, guitar = free
    _played(one, guitar)
    guitar.play([60, 62, 64], tail_s=0.3)
    _tick(one, ACCEPT_S + 0.5)
    assert _phase(one) == "answer"  # while it is played on, silence takes nothing
    guitar.play([60, 62, 64], tail_s=0.3)
    one.press("c")
    _to_prompt(one, guitar)
    one.drill.ears._hands_free.noodling = True
    guitar.play(_asked(one), tail_s=0.4)
    _tick(one, 1)
    assert _phase(one) == "prompt"
    begun = guitar.begun
    guitar.silence(NOODLING_S)
    _tick(one, 1)
    assert _phase(one) == "prompt" and guitar.begun == begun + 1
    _played(one, guitar)


def test_a_grade_taken_back_waits_for_a_key(free):
    """Silence has been wrong once; what is given now is the player's own."""
    one, guitar = free
    _played(one, guitar)
    _tick(one, ACCEPT_S + 0.1)
    one.press("u")
    assert _phase(one) == "answer" and one.state.heard.accept_at_s is None
    _tick(one, 30)
    assert _phase(one) == "answer"
    one.press("f")
    assert [(witness.how, review.grade) for witness, review in one.log.witnessed()] == [("shown", Grade.FOUND)]


def test_a_pause_holds_the_seconds(free):
    """After it the proposal stands for three seconds again."""
    one, guitar = free
    _played(one, guitar)
    one.press("p")
    _tick(one, 60)
    assert one.state.paused_s is not None
    one.press("enter")
    _tick(one, ACCEPT_S - 0.5)
    assert _phase(one) == "answer"
    _tick(one, 0.6)
    assert _phase(one) != "answer"


def test_playing_is_as_good_as_a_key(free):
    """Two minutes at one card, playing: nobody has left."""
    one, guitar = free
    for _ in range(5):
        guitar.play([40], tail_s=0.5)
        _tick(one, 50)
    assert one.state.paused_s is None
    guitar.begin()
    _tick(one, 121)
    assert one.state.gone


def test_it_is_said_what_silence_does_and_offered_when_it_would_have_been_right(sitting):
    """Without it only who agreed 18 times of 20 is told that there is such a thing."""
    one = sitting()
    said = []
    for options in ({}, {"offer": True}, {"hands_free": HandsFree()}, {"votes": True, "offer": True}):
        one.drill.ears = SessionEars(Guitar(), **options)
        said.append([line for line in spoken(one.drill) if line.startswith(LISTENING)])
    assert said == [
        [LISTENING],
        [f"{LISTENING} {OFFER_HANDS_FREE}"],
        [f"{LISTENING} {HANDS_FREE}"],
        [f"{LISTENING} {VOTING} {OFFER_HANDS_FREE}"],
    ]


def _pairs(count, same, one):
    at = one.clock()
    pairs = []
    for number in range(count):
        own = Grade.IN_TIME if number < same else Grade.FOUND
        pairs.append((Witness(f"r{number}", Grade.CLEAN, "shown", "comb 1", 1.0), Review("c", own, at, 1.0)))
    return pairs


def test_eighteen_of_the_last_twenty(sitting):
    """Older ones do not count, nor what silence took."""
    one = sitting()
    assert mostly_same(_pairs(20, 18, one)) and not mostly_same(_pairs(20, 17, one))
    assert not mostly_same(_pairs(19, 19, one))
    assert mostly_same([*_pairs(30, 0, one), *_pairs(20, 18, one)])
    taken = [(replace(witness, how="accepted"), review) for witness, review in _pairs(20, 20, one)]
    assert not mostly_same(taken)


def test_spoken_lines_go_on_by_what_is_heard(free):
    """While a line is waited for the answer and the next prompt are said; a typed line still counts."""
    one, guitar = free
    said, typed = [], threading.Event()
    guitar.play(_asked(one), tail_s=2.0)
    lines = iter(["q", "q"])

    def read():
        typed.wait(20)
        return next(lines)

    def say(line):
        said.append(line)
        if line == "Clean, I think.":
            typed.set()

    one.drill.ears._hands_free.noodling = False
    assert run_lines(one.drill, read, say) == 0
    prompt, answer = said.index(spoken_prompt(said)), said.index("Clean, I think.")
    assert prompt < answer
    assert one.state.phase.value == "done"


def spoken_prompt(said):
    """The line of the prompt among those said."""
    return next(line for line in said if "Play it" in line)


def test_a_lost_device_ends_hands_free(free):
    """Keys as ever, at the slow pace of looking at time."""
    one, guitar = free
    guitar.play(_asked(one), tail_s=2.0)
    guitar.trouble = "the recording is over"
    _tick(one, 5)
    assert _phase(one) == "prompt" and "Not listening" in one.state.note and one.drill.tick_s == 0.5
