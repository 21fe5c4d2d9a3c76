"""A session that listens: what was heard stands beside the answer, the player's key decides, and the log keeps both."""

from __future__ import annotations

import json
import threading
from dataclasses import replace
from random import Random

import numpy as np
import pytest
from sittings import gathered

from drills.cards.kinds import kind_of
from drills.configuration.diagram_style import DiagramStyle
from drills.errors import MicrophoneError
from drills.listening.any_take import start_ears
from drills.listening.ears import Ears, hear
from drills.listening.heard import Frame
from drills.session.plain import spoken
from drills.session.screens import screen
from drills.session.session_ears import SessionEars, asked_of, heard_take, usual_first_s
from drills.session.session_sentences import LISTENING, MICROPHONE_ON
from drills.session.sounding import Speaker
from drills.session.take_source import ThreadedTakes
from scheduler.grade import Grade
from scheduler.log.events import Witness
from tests.listening.plucked import RATE, take


class Guitar:
    """Takes that the test plays, one for each prompt, as a microphone would hear them."""

    def __init__(self):
        self.begun, self.trouble, self._ears, self.busy = 0, "", Ears.start(RATE), False

    def begin(self, *, grip=False):
        self.begun += 1
        self._ears = start_ears(RATE, grip=grip)

    def play(self, pitches, start_s=0.6):
        sound = take([(start_s + 0.6 * number, midi) for number, midi in enumerate(pitches)])
        self._ears = hear([Frame(0.0, sound)], RATE)

    def strum(self, pitches):
        sound = take([(0.5 + 0.015 * number, midi) for number, midi in enumerate(pitches)])
        self._ears = self._ears.take(Frame(0.0, sound))

    def heard(self):
        return self._ears, 0.0


def _listening(sitting, guitar, **options):
    one = sitting(**options)
    one.drill.ears = SessionEars(guitar)
    one.start()
    one.through_lessons()
    return one


def _asked(one):
    return [note.midi for note in one.state.question.shapes[0].notes]


def _wrong(pitches, place):
    return [midi + (number == place) for number, midi in enumerate(pitches)]


def _screen(one, width=90, height=40):
    return [line.text for line in screen(one.drill, DiagramStyle(), width, height)]


def _witnesses(one):
    return [event.body for event in one.log.events() if isinstance(event.body, Witness)]


def test_a_clean_pass_is_proposed_and_the_key_decides(sitting):
    """The proposal stands with the answer; the grade is the key's, and the log keeps what was heard beside it."""
    guitar = Guitar()
    one = _listening(sitting, guitar)
    guitar.play(_asked(one))
    one.press("enter", seconds=8)
    assert one.state.heard.grade is Grade.CLEAN and one.state.heard.line == "Clean, I think."
    assert "Clean, I think." in _screen(one) and "Clean, I think." in spoken(one.drill)
    assert all(glyph == "" for glyph in one.state.heard.glyphs)
    one.press("f")
    (witness,) = _witnesses(one)
    review = one.firsts()[-1]
    assert review.grade is Grade.FOUND and witness.target == review.id
    assert (witness.proposed, witness.how, witness.source, witness.sure) == (Grade.CLEAN, "shown", "comb 1", 1.0)
    assert one.state.heard is None or one.state.phase.value == "answer"


def test_another_note_is_named_drawn_and_kept_in_numbers(sitting):
    """`x` stands where it was wrong, the sentence names what sounded, and the log has numbers only."""
    guitar = Guitar()
    one = _listening(sitting, guitar)
    asked = _asked(one)
    guitar.play(_wrong(asked, 2))
    one.press("enter", seconds=8)
    heard = one.state.heard
    assert (heard.grade, heard.slip, heard.glyphs) == (Grade.LOOKED, "shape", ("", "", "x", *[""] * (len(asked) - 3)))
    said = " ".join(_screen(one))
    assert "Looked, I think: the third note was another." in said and "Note 3: " in said
    drawn = [line for line in _screen(one) if " x " in line or "x─" in line or "─x" in line or "X" in line]
    assert drawn, _screen(one)
    detail = json.loads(heard.detail)
    assert detail["notes"][2] == [asked[2], "w", asked[2] + 1] and detail["first_s"] == pytest.approx(0.6, abs=0.03)
    one.press("l")
    assert _witnesses(one)[0].proposed is Grade.LOOKED
    # While it is played again the diagram shows the shape as it is.
    assert one.state.phase.value == "repeat" and "third note was another" not in " ".join(_screen(one))


def test_nothing_is_guessed_where_nothing_was_played_or_something_else(sitting):
    """Silence, and another chord, bring no grade, no glyph and no named note."""
    guitar = Guitar()
    one = _listening(sitting, guitar)
    one.press("enter", seconds=8)
    assert (one.state.heard.grade, set(one.state.heard.glyphs), one.state.heard.notes) == (None, {""}, ())
    one.press("c")
    one.through_lessons()
    guitar.play([midi + 2 for midi in _asked(one)])
    one.press("enter", seconds=8)
    assert (one.state.heard.grade, set(one.state.heard.glyphs), one.state.heard.notes) == (None, {""}, ())
    assert [witness.proposed for witness in _witnesses(one)] == [None]


def test_a_grade_taken_back_brings_back_what_was_heard(sitting):
    """The answer of the card before shows its own proposal, and a grade given anew is kept with it."""
    guitar = Guitar()
    one = _listening(sitting, guitar)
    guitar.play(_asked(one))
    one.press("enter", seconds=8)
    one.press("c")
    one.through_lessons()
    guitar.play(_wrong(_asked(one), 1))
    one.press("enter", seconds=8)
    one.press("u")
    assert one.state.phase.value == "answer" and one.state.heard.grade is Grade.CLEAN
    one.press("f")
    assert [(w.proposed, r.grade) for w, r in one.log.witnessed()] == [(Grade.CLEAN, Grade.FOUND)]


def test_a_pause_or_a_new_prompt_begins_a_new_take(sitting):
    """What is played while the clock stands still is nobody's business."""
    guitar = Guitar()
    one = _listening(sitting, guitar)
    assert guitar.begun == 1
    guitar.play(_asked(one))
    one.press("p", "enter")
    assert guitar.begun == 2
    one.press("enter", seconds=8)
    assert one.state.heard.grade is None
    one.press("c")
    one.through_lessons()
    assert guitar.begun == 3


def test_a_device_that_is_lost_leaves_the_session_to_the_keys(sitting):
    """It is said once, no grade is invented, and the mark of the microphone goes."""
    guitar = Guitar()
    one = _listening(sitting, guitar)
    assert MICROPHONE_ON in _screen(one)
    guitar.play(_asked(one))
    guitar.trouble = "the microphone was lost in mid-take: plug it in again"
    one.clock.tick(1)
    assert one.drill.tick()
    said = "Not listening: the microphone was lost in mid-take: plug it in again. The session goes on by keys."
    assert one.state.note == said and MICROPHONE_ON not in _screen(one)
    one.press("enter", seconds=8)
    assert one.state.heard is None and one.state.note == ""
    one.press("c")
    assert one.firsts()[-1].grade is Grade.CLEAN and _witnesses(one) == []


def test_every_page_says_that_the_microphone_is_on(sitting):
    """From the plan to the end, over help, words and pause too, however small the window, and in its last line."""
    guitar = Guitar()
    one = sitting(minutes=1.0)
    one.drill.ears = SessionEars(guitar)
    seen = set()
    for key in ("", "enter", "enter", "h", "h", "h", "h", "w", "enter", "p", "enter", "enter", "enter", "c", "q"):
        if key:
            one.press(key)
        for height in (40, 12, 7):
            lines = _screen(one, 60, height)
            assert lines[-1] == MICROPHONE_ON and len(lines) <= height
        seen.add((one.state.phase.value, bool(one.state.help), one.state.words, one.state.paused_s is not None))
    assert {phase for phase, *_ in seen} >= {"start", "lesson", "prompt", "end"}
    assert any(held for _, held, _, _ in seen) and any(paused for *_, paused in seen)


def test_it_is_said_once_what_can_be_heard(sitting):
    """Before the first card, on the screen and in lines; without listening no page says a word of it."""
    one = sitting()
    quiet = (" ".join(_screen(one)), " ".join(spoken(one.drill)))
    one.drill.ears = SessionEars(Guitar())
    for without, said in zip(quiet, (" ".join(_screen(one)), " ".join(spoken(one.drill))), strict=True):
        assert LISTENING in said and "microphone" not in without.lower()


def test_only_what_is_played_note_by_note_is_heard():
    """A prompt that is typed has no take; a change of chord has both its shapes in a row."""
    kinds = set()
    for deck in ("first", "away", "transitions"):
        material = gathered(deck)
        for card in list(material.cards.values())[:60]:
            question = material.question(card, Random(1))
            heard = asked_of(question)
            kinds.add((kind_of(card.kind).name, bool(heard)))
            assert heard in ((), question.shapes) and len(heard) in (0, 1 + (card.to is not None))
    assert ("name", True) in kinds
    assert {kind for kind, heard in kinds if not heard} > {"note", "spell"}
    assert {kind for kind, heard in kinds if heard} == {"name", "transition"}


def test_a_first_note_later_than_nine_of_ten_is_a_hunt(sitting):
    """The player's own takes say what is late, from twenty on."""
    details = [json.dumps({"first_s": number / 10}) for number in range(1, 21)]
    assert usual_first_s(details) == 1.9
    assert usual_first_s(details[1:]) is None
    assert usual_first_s([*details[1:], "{", "[]", '{"first_s": null}', '{"first_s": true}']) is None
    one = sitting()
    one.start()
    one.through_lessons()
    shapes = asked_of(one.state.question)
    sound = take([(2.5 + 0.6 * number, note.midi) for number, note in enumerate(shapes[0].notes)])
    ears = hear([Frame(0.0, sound)], RATE)
    assert heard_take(ears, shapes, 0.0, 3.0).grade is Grade.CLEAN
    late = heard_take(ears, shapes, 1.0, 3.0)
    assert late.grade is Grade.FOUND and json.loads(late.detail)["first_s"] == pytest.approx(3.5, abs=0.03)


def _in_a_row(one):
    """A change of chord in place of the card's own question."""
    material = gathered("transitions")
    card = next(card for card in material.cards.values() if card.to is not None)
    question = material.question(card, Random(1))
    one.drill.state = replace(one.state, question=question)
    return question.shapes


def test_a_change_of_chord_is_heard_in_a_row(sitting):
    """Both shapes, one after the other: a note of the second is named with its chord and drawn there."""
    guitar = Guitar()
    one = _listening(sitting, guitar)
    shapes = _in_a_row(one)
    asked = [note.midi for shape in shapes for note in shape.notes]
    guitar.play(asked)
    one.press("enter", seconds=8)
    assert one.state.heard.grade is Grade.CLEAN
    one.press("c")
    one.through_lessons()
    assert _in_a_row(one) == shapes
    place = len(shapes[0].notes) + 1
    guitar.play(_wrong(asked, place))
    one.press("enter", seconds=8)
    heard = one.state.heard
    assert heard.grade is Grade.LOOKED and heard.slip == "shape" and len(heard.glyphs) == len(asked)
    assert [number for number, glyph in enumerate(heard.glyphs) if glyph] == [place]
    name = shapes[1].name
    assert heard.line == f"Looked, I think: the second note of {name} was another."
    assert any(words.startswith(f"{name}, note 2: ") for words in heard.notes)
    drawn = [line.text for line in screen(one.drill, DiagramStyle(ascii=True), 90, 60)]
    marked = [number for number, line in enumerate(drawn) if "(x)" in line]
    assert len(marked) == 1 and marked[0] > max(n for n, line in enumerate(drawn) if line.startswith(f"{name}, "))


def test_a_grip_is_heard_as_one_stroke(sitting):
    """Each note of it at its own pitch; the log names what heard it."""
    guitar = Guitar()
    one = _listening(sitting, guitar)
    shape = one.material.grip(one.state.card)
    question = replace(one.state.question, shapes=(shape,))
    one.drill.state = replace(one.state, question=question)
    guitar.begin(grip=True)
    asked = [note.midi for note in shape.notes]
    guitar.strum([*asked[:-1], asked[-1] + 1])
    one.press("enter", seconds=8)
    heard = one.state.heard
    assert heard.source == "grip 4" and heard.grade in (Grade.LOOKED, None)
    assert [letter for _, letter, *_ in json.loads(heard.detail)["notes"][:-1]].count("r") >= 2
    assert json.loads(heard.detail)["notes"][-1][1] != "r"


# ---- the thread that listens


def _frames(sound, at_s=0.0):
    size = RATE // 100
    return [Frame(at_s + first / RATE, sound[first : first + size]) for first in range(0, len(sound), size)]


def _taken(frames, busy=lambda: False, error=None):
    done = threading.Event()

    def give():
        yield from frames
        done.set()
        if error is not None:
            raise error

    takes = ThreadedTakes(give(), RATE, busy).start()
    assert done.wait(20)
    takes.close()
    return takes


def test_a_thread_hears_what_a_fold_hears():
    """From a device whose clock stands anywhere: the same notes at the same times, to the last bit."""
    sound = take([(0.6 + 0.6 * number, midi) for number, midi in enumerate((48, 51, 54))])
    ears, from_s = _taken(_frames(sound)).heard()
    later, _ = _taken(_frames(sound, at_s=40.0)).heard()
    folded = Ears.start(RATE)
    for frame in _frames(sound):
        folded = folded.take(frame)
    assert ears.heard == folded.heard and len(ears.heard) >= 3 and from_s == 0.0
    assert [(one.midi, round(one.at_s, 3)) for one in later.heard] == [
        (one.midi, round(one.at_s, 3)) for one in folded.heard
    ]
    assert later.hops.lost == 0


def test_what_sounds_while_the_tool_sounds_is_not_heard():
    """The tool's own sound, and 0.3 s after it, is no part of a take; what comes later is, at its own time."""
    sound = take([(0.5, 48), (1.1, 51), (2.5, 54), (3.1, 58)])
    frames = _frames(sound)
    at = iter(frame.at_s for frame in frames)
    ears, from_s = _taken(frames, busy=lambda: next(at) < 1.8).heard()
    assert from_s == pytest.approx(2.1, abs=0.02)
    assert [one.midi for one in ears.heard if one.sure > 0.4] == [54, 58]
    assert ears.heard[0].at_s + from_s == pytest.approx(2.5, abs=0.02)


def test_an_error_of_the_device_is_told_and_raised_nowhere():
    """The thread ends; whoever asks is told why, and what was heard before stays."""
    sound = take([(0.6, 48)])
    takes = _taken(_frames(sound), error=MicrophoneError("the microphone was lost in mid-take: plug it in again"))
    assert takes.trouble.startswith("the microphone was lost")
    assert [one.midi for one in takes.heard()[0].heard] == [48]
    assert _taken(_frames(np.zeros(1000))).trouble == "the recording is over"


def test_a_click_without_pitch_does_no_harm_to_what_is_heard():
    """A closed hi-hat 12 dB under the guitar, on each beat that is played on: every note right, none besides."""
    from drills.listening.heard import Target
    from drills.listening.verdict import judge
    from drills.sound.click import click_track
    from drills.sound.voices import samples_of, sounded

    score = click_track(100, 2, pitched=False)
    assert {tone.voice for tone in score.tones} == {"drums"} and len(score.tones) == 12
    assert [tone.start_s for tone in score.tones] == [tone.start_s for tone in click_track(100, 2).tones]
    assert score.tones[0].loudness == score.tones[4].loudness > score.tones[1].loudness
    asked = (48, 51, 54, 58, 60)
    sound = take([(2.4 + 0.6 * number, midi) for number, midi in enumerate(asked)])
    strokes = np.zeros(len(sound))
    for tone in score.tones:
        stroke = sounded(tone, RATE, 0, samples_of(tone, RATE))
        first = round(tone.start_s * RATE)
        strokes[first : first + len(stroke)] += stroke[: len(strokes) - first]
    sound += strokes / np.abs(strokes).max() * np.abs(sound).max() * 10 ** (-12 / 20)
    verdict = judge(hear([Frame(0.0, sound)], RATE), Target(asked))
    assert [note.judged.value for note in verdict.notes] == ["right"] * 5 and verdict.extras == ()


def test_a_click_is_listened_through_and_nothing_else():
    """Only a click without pitch may sound while ears are open."""
    played = []

    class Player:
        silent = False

        def play(self, sound):
            played.append(sound)

        def wait(self, _timeout_s):
            return False

    for pitched, through in ((False, True), (True, False)):
        speaker = Speaker(pitched_click=pitched)
        speaker._made = Player()
        speaker.click(80)
        assert speaker.sounding and speaker.only_clicks is through
        speaker.parts([])
        assert speaker.sounding and not speaker.only_clicks
    assert {tone.voice for tone in played[0].tones} == {"drums"}
    assert {tone.voice for tone in played[2].tones} == {"click"}
