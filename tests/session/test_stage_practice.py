"""Playing a stage: what is heard at each key, what counts as in time, and what is told without sound."""

from __future__ import annotations

import pytest

from drills.session.stage_practice import HELP, StageHeard, StageHearing, practise
from drills.sound.score import Score
from drills.tunes.stages.stage_table import STAGES
from drills.tunes.stages.ticket import StageTicket


class Recorder:
    """A player of scores that only remembers what was asked of it."""

    def __init__(self, notice: str | None = None, dead: bool = False):
        self.asked: list[str] = []
        self.notice, self.dead = notice, dead

    def play(self, score: Score) -> None:
        self.asked.append(score.title)

    def stop(self) -> None:
        self.asked.append("silence")

    def wait(self, timeout_s: float | None = None) -> bool:
        return self.notice is not None or self.dead

    def take_notice(self) -> str | None:
        if not self.asked:  # nothing was tried yet, so nothing went wrong
            return None
        notice, self.notice = self.notice, None
        return notice


def heard(title: str) -> StageHeard:
    return StageHeard(title, (f"tab of {title}",), lambda: Score((), title=title), lambda: Score((), title="track"))


def play(keys: str, ticket: StageTicket, stage: int = 3, sound: Recorder | None = None, lines=("up", "eighths")):
    """The end of a practice with these keys (words, separated by blanks), the tickets kept and what was said."""
    typed = iter([*keys.split(), "q"])
    kept: list[StageTicket] = []
    said: list[str] = []
    taking = practise(
        STAGES[stage - 1], [heard(title) for title in lines], ticket,
        ask=lambda: next(typed), say=said.append, sound=sound, keep=kept.append,
    )  # fmt: skip
    return taking, kept, said


def test_keys_play_the_line_the_track_and_the_next_line():
    """Enter and a pedal's Page Down play the line over the track, b the track, n turns to the next line and round."""
    sound = Recorder()
    _, _, said = play("enter b n pagedown n enter s", StageTicket(3), sound=sound)
    assert sound.asked == ["up", "track", "eighths", "up", "silence"]
    assert said[0] == "tab of up" and said.count("tab of eighths") == 1 and said.count("tab of up") == 2


class Listening:
    """Ears that only remember what was asked of them, and never have anything to say."""

    def __init__(self):
        self.asked: list[str] = []

    def begin(self, at: int, track: Score) -> None:
        self.asked.append(f"{track.title} of {at}")

    def drop(self) -> None:
        self.asked.append("drop")

    def told(self) -> None:
        return None


@pytest.mark.parametrize(
    ("keys", "stage", "lines", "asked"),
    [
        ("b n b", 3, ("up", "eighths"), ["track of 0", "drop", "track of 1", "drop"]),
        ("b enter b b", 3, ("up",), ["track of 0", "drop", "track of 0", "drop", "track of 0", "drop"]),
        ("b s", 3, ("up",), ["track of 0", "drop"]),
        ("b o", 2, ("up",), ["track of 0", "drop"]),  # an earlier stage is left for the open one
        ("b o n h u t", 3, ("up",), ["track of 0", "drop"]),  # none of these ends a track; the last is of the end
        ("enter n s o", 3, ("up", "eighths"), []),
    ],
)
def test_what_ends_a_track_ends_its_hearing_and_nothing_else_does(keys, stage, lines, asked):
    """The ears hear the track alone, of the line that is shown, until the track is ended or another is turned to."""
    ears, typed = Listening(), iter([*keys.split(), "q"])
    practise(
        STAGES[stage - 1], [heard(title) for title in lines], StageTicket(3), ask=lambda: next(typed),
        say=lambda _: None, sound=Recorder(), keep=lambda _: None,
        hearing=StageHearing(ears, lambda _: next(typed)),
    )  # fmt: skip
    assert ears.asked == asked


def test_twice_in_time_opens_the_next_and_each_pass_is_kept_at_once():
    """The first pass is kept as one, the second opens stage 4 (drills/RULES.md, D2); going on ends this stage."""
    taking, kept, said = play("t up o", StageTicket(3))
    assert kept == [StageTicket(3, 1), StageTicket(4)] and taking.ticket == StageTicket(4) and taking.on
    assert any("stage 4, Spell down, is open" in text for text in said)
    # Playing on in an open stage takes nothing away and gives nothing more.
    assert play("t", StageTicket(5), stage=3)[1] == [StageTicket(5)]


def test_a_pass_is_taken_back():
    """A slip of the finger: u restores what stood before, as often as there were passes, and then says so."""
    taking, kept, said = play("t t u u u", StageTicket(3))
    assert kept == [
        StageTicket(3, 1),
        StageTicket(4),
        StageTicket(3, 1),
        StageTicket(3),
    ] and taking.ticket == StageTicket(3)
    assert said[-1] == "Nothing to take back."


def test_a_stage_that_is_not_open_cannot_be_ticked():
    """Looking ahead is free; t says what opens the stage and keeps nothing; o goes to the open one."""
    taking, kept, said = play("t o", StageTicket(2), stage=7)
    assert kept == [] and taking.on
    assert any("Not open yet" in text and "Stage 3, Spell up" in text for text in said)
    assert not play("o", StageTicket(3))[0].on


def test_without_sound_practice_goes_on():
    """Silence by wish says to count; a machine that cannot sound says so once, and is not asked again."""
    assert "The sound is off; count yourself in." in play("enter", StageTicket(3))[2]
    sound = Recorder("No sound: nothing to play with.")
    _, _, said = play("enter enter t", StageTicket(3), sound=sound)
    assert said.count("No sound: nothing to play with.") == 1 and len(sound.asked) == 1
    assert any("In time." in text for text in said)
    # On the next stage the machine has said it already, and is still silent.
    _, _, said = play("enter enter", StageTicket(3), sound=Recorder(dead=True))
    assert said.count("Nothing sounds on this machine; count yourself in.") == 1
    # News that comes late is told before the next key is answered.
    late = Recorder()
    late.wait = lambda timeout_s=None: False
    late.notice = "No sound after all."
    assert "No sound after all." in play("enter", StageTicket(3), sound=late)[2]


@pytest.mark.parametrize("lines", [("one",), ("one", "two")])
def test_every_key_is_told_in_eighty_columns(lines):
    """The line of keys fits the screen, and h explains each of them."""
    said = play("h", StageTicket(3), lines=lines)[2]
    keys = next(text for text in said if text.startswith("Enter play"))
    assert len(keys) <= 80 and ("n next" in keys) == (len(lines) > 1)
    assert len([text for text in said if text.split()[0] in {key for key, _ in HELP}]) >= len(HELP)
