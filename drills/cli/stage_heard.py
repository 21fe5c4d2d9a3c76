"""Hears a stage that was played over its track, says bar by bar what sounded, and proposes its ticket."""

from __future__ import annotations

from dataclasses import dataclass, replace
from statistics import median
from typing import TYPE_CHECKING

from drills.band.band import band
from drills.errors import NotPlayableError
from drills.listening.bars import RECORDED, judge_line, propose_ticket
from drills.listening.comb import comb_reaching, in_reach
from drills.listening.ears import hear
from drills.listening.grip_ears import GripEars, grip_verdict
from drills.listening.heard import Frame, Judged, Verdict
from drills.microphone.wav_input import read_wav
from drills.session.verdict_words import extras_words, note_words
from drills.tunes.stages.stage_due import due_of, track_tones

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drills.lines.line import Line
    from drills.listening.bars import BarVerdict, Due, LineVerdict
    from drills.listening.ears import Ears
    from drills.listening.engine import Engine
    from drills.microphone.wav_input import WavInput
    from drills.shapes.finder import ShapeFinder
    from drills.sound.score import Score
    from drills.tunes.stages.stage_table import StageLines

__all__ = ["HeardStage", "best_line", "heard_stage", "refuse_unheard", "stage_engine"]

_UNTIMED_S = 0.5
"""So far all of it may lie from where the device says: what a wireless headphone adds (chosen)."""
_LEAD_S, _RING_S = 0.35, 0.8
"""Seconds before and after a grip is due in which it is looked for."""


@dataclass(frozen=True, slots=True)
class HeardStage:
    """The line of a stage that was played, and the verdict on it. untimed: as in `propose_ticket`."""

    line: Line
    verdict: LineVerdict
    untimed: str = ""

    def lines(self) -> list[str]:
        """What to print: each bar that was not right and in time, and the proposal."""
        told = [self.line.title]
        for bar in () if self.verdict.doubts else self.verdict.bars:
            names = [note.pitch.note.name for note in self.line.in_bar(bar.bar)]
            told += [f"Bar {bar.bar}. {words}" for words in self._words(bar, names)]
        told.append(self.proposed[1])
        return told

    @property
    def proposed(self) -> tuple[bool | None, str]:
        """Whether it was in time, None where that would be a guess, and a sentence."""
        return propose_ticket(self.verdict, self.untimed)

    def _words(self, bar: BarVerdict, names: Sequence[str]) -> list[str]:
        whole = Verdict(bar.notes, bar.extras)
        words = [*note_words(whole, names), *extras_words(whole)]
        if bar.faint:
            words.append("There may have been another note.")
        if not (bar.on_time or self.untimed):
            worst = max(bar.off_ms, key=abs)
            words.append(f"{abs(worst):.0f} ms {'late' if worst > 0 else 'early'}.")
        return words

    def document(self) -> dict[str, object]:
        """The verdict as data."""
        in_time, why = self.proposed
        return {
            "line": self.line.title,
            "bars": [
                {
                    "bar": bar.bar,
                    "notes": [
                        {"asked": one.asked, "judged": one.judged.value, "heard": one.heard} for one in bar.notes
                    ],
                    "off_ms": list(bar.off_ms),
                    "extras": list(bar.extras),
                }
                for bar in self.verdict.bars
            ],
            "tuning_cents": self.verdict.tuning_cents,
            "doubts": list(self.verdict.doubts),
            "proposal": {"in_time": in_time, "why": why},
            "tried_on": "simulated playing only",
        }


def heard_stage(path: str, stage: StageLines, finder: ShapeFinder, track_from_s: float) -> HeardStage:
    """What was played in a recording: of the lines of the stage the one that fits best.

    track_from_s: seconds into the recording at which the track began, with its count-in. Raises NotPlayableError
    where nothing is written to hear it against, or a note cannot be heard; MicrophoneError for the file.
    """
    refuse_unheard(stage)
    sound = read_wav(path)
    ears = hear(sound.frames(), sound.rate, stage_engine(finder))
    return best_line(stage.lines, band(stage.changes, finder), ears, sound, track_from_s)


def stage_engine(finder: ShapeFinder) -> Engine:
    """What hears a stage: the comb, for models would hear the track as well as the guitar."""
    return comb_reaching(min(pitch.midi for pitch in finder.tuning.open))


def refuse_unheard(stage: StageLines) -> None:
    """Raises NotPlayableError where nothing is written to hear a stage against, or a note of it cannot be heard."""
    if not stage.lines:
        raise NotPlayableError(f"stage {stage.stage.called}: nothing is written in it, so there is nothing to hear")
    for line in stage.lines:
        if not in_reach(note.midi for group in line.struck() for note in group):
            raise NotPlayableError(f"{line.title}: only notes from D1 to F#6 can be heard; choose another place")


def best_line(
    lines: Sequence[Line], track: Score, ears: Ears, sound: WavInput, track_from_s: float, *, untimed: str = "",
    mend: str = RECORDED,
) -> HeardStage:  # fmt: skip
    """Of some lines the one that fits what was heard best.

    track: what sounded. ears: what was heard of `sound`. track_from_s: seconds into it at which the track began, with
    its count-in. untimed: why nothing is timed, see `propose_ticket`; then all of it may lie up to half a second early
    or late. mend: what to do where all of it does.
    """
    heard = []
    for line in lines:
        found = _judged(line, track, ears, sound, track_from_s, mend)
        offs = [off for bar in found.bars for off in bar.off_ms]
        if untimed and offs and abs(late_s := median(offs) / 1000) <= _UNTIMED_S:
            found = _judged(line, track, ears, sound, track_from_s + late_s, mend)
        heard.append(HeardStage(line, found, untimed))
    return max(heard, key=lambda one: _right(one.verdict))


def _judged(line: Line, track: Score, ears: Ears, sound: WavInput, from_s: float, mend: str) -> LineVerdict:
    due = due_of(line, from_s + track.count_in_s)
    grips = {place: _grip(sound, one) for place, one in enumerate(due) if len(one.pitches) > 1}
    return judge_line(ears, due, track_tones(track, from_s), grips, mend)


def _right(verdict: LineVerdict) -> int:
    return sum(note.judged is Judged.RIGHT for bar in verdict.bars for note in bar.notes)


def _grip(sound: WavInput, due: Due) -> Verdict:
    """A grip is looked for around its time alone: what rang before it is no part of it."""
    first = max(0, round((due.from_s - _LEAD_S) * sound.rate))
    part = sound.samples[first : max(first, round((due.until_s + _RING_S) * sound.rate))]
    found = grip_verdict(GripEars.start(sound.rate).take(Frame(0.0, part)), due.pitches)
    begin_s = first / sound.rate
    notes = tuple(replace(one, at_s=None if one.at_s is None else begin_s + one.at_s) for one in found.notes)
    return replace(found, notes=notes, doubts=())
