"""The witness of a sitting: a take for each prompt that is played note by note, judged when the answer is shown."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from drills.cards.prompts.prompt import Question
from drills.listening.any_take import source_of, take_verdict
from drills.listening.comb import in_reach
from drills.listening.heard import ClickGrid, Judged, Verdict
from drills.listening.proposal import propose
from drills.session.hands_free import ACCEPT_S, OFF_AGAIN, HandsFree
from drills.session.heard_take import HeardTake, seconds_left, target_of
from drills.session.session_state import Given, Phase, SessionState
from drills.session.verdict_words import extras_words, glyphs_of, shape_words
from drills.shapes.shape import Shape
from scheduler.grade import Grade
from scheduler.log.events import Witness

if TYPE_CHECKING:
    from drills.listening.any_take import AnyEars
    from drills.session.take_source import ClickSpan, TakeSource

__all__ = ["SessionEars", "asked_of", "heard_take", "usual_first_s"]

_GRADES = {"looked": Grade.LOOKED, "found-it": Grade.FOUND, "clean": Grade.CLEAN, "in-time": Grade.IN_TIME}
_LETTERS = {Judged.RIGHT: "r", Judged.WRONG: "w", Judged.MISSING: "m", Judged.NOT_SURE: "?"}
_KEPT = 3
"""Takes that are remembered, for a grade that is taken back."""
_STILL_THERE_S = 5.0
_FEWEST_FIRST = 20
_LATE_SHARE = 0.9
"""A first note later than this share of the player's own is a hunt; under twenty of them nothing is late."""


def asked_of(question: Question | None) -> tuple[Shape, ...]:
    """The shape that is to be heard, note after note or as a grip, or the two of a change of chord in a row.

    None at all where a prompt asks for something else.
    """
    if question is None or question.check is not None or len(question.shapes) != (2 if question.in_a_row else 1):
        return ()
    return question.shapes if in_reach(note.midi for shape in question.shapes for note in shape.notes) else ()


def usual_first_s(details: Iterable[str]) -> float | None:
    """Seconds to the first note that nine of ten of the player's takes stayed under; None under twenty takes.

    details: those of the witnesses in the log.
    """
    found = []
    for detail in details:
        try:
            first = json.loads(detail).get("first_s")
        except (AttributeError, ValueError):
            continue  # of a version that writes it otherwise
        if isinstance(first, int | float) and not isinstance(first, bool):
            found.append(float(first))
    if len(found) < _FEWEST_FIRST:
        return None
    return sorted(found)[int(_LATE_SHARE * len(found))]


class SessionEars:
    """Follows a sitting from state to state and puts what was heard beside the answer.

    source: where takes come from. late_s: see `usual_first_s`. hands_free: what presses keys for a player who plays
    and waits, or None. offer: whether the player may be told of it. votes: whether engines vote on single notes.
    click: where the beats of the click lie among the frames that come in, None where no click was played last or
    that is not known; left out, nothing is timed.
    """

    def __init__(
        self,
        source: TakeSource,
        late_s: float | None = None,
        *,
        hands_free: HandsFree | None = None,
        offer: bool = False,
        votes: bool = False,
        click: Callable[[], ClickSpan | None] = lambda: None,
    ):
        self._click = click
        self._source, self._late_s, self._hands_free = source, late_s, hands_free
        self.offer, self.votes = offer, votes
        self._takes: list[tuple[Question, HeardTake]] = []
        self._told = self._turned_off = False

    @property
    def listening(self) -> bool:
        """Whether the microphone is open."""
        return not self._source.trouble

    @property
    def hands_free(self) -> bool:
        """Whether playing and waiting is enough."""
        return self.listening and self._hands_free is not None and self._hands_free.on

    def follow(self, before: SessionState, after: SessionState, now_s: float = 0.0) -> SessionState:
        """The state after a key or a tick, with what was heard. now_s: the clock of the sitting, in seconds.

        A prompt that comes up, or goes on after a pause, begins a take; the answer ends it. So does, hands free, a
        diagram that is played from.
        """
        played = (Phase.PROMPT, Phase.LESSON, Phase.REPEAT) if self.hands_free else (Phase.PROMPT,)
        plays = after.phase in played and after.paused_s is None
        went_on = before.phase is after.phase and before.paused_s is None and before.question is after.question
        if plays and not went_on:
            if self._hands_free is not None:
                self._hands_free.prompted(self._source.heard()[0])
            self._source.begin(grip=any(shape.form.kind == "grip" for shape in asked_of(after.question)))
            if after.phase is Phase.PROMPT:
                self._takes = [pair for pair in self._takes if pair[0] is not after.question][-_KEPT:]
        elif after.phase is Phase.ANSWER:
            after = self._answered(before, after, now_s)
        return self._noticed(after)

    def _answered(self, before: SessionState, after: SessionState, now_s: float) -> SessionState:
        if before.phase is Phase.PROMPT and before.question is after.question:
            self._hear(after.question)
            if self.hands_free:
                self._source.begin()  # what is played from now on is noodling
            take = self._take_of(after.question)
            accept_at_s = now_s + ACCEPT_S if self.hands_free and take is not None and take.grade is not None else None
            return replace(after, heard=take and replace(take, accept_at_s=accept_at_s))
        if after.heard is None and (take := self._take_of(after.question)) is not None:
            # A grade that was taken back brings back what was heard of it; now a key decides.
            self._keep(after.question, replace(take, accepted=False))
            return replace(after, heard=self._take_of(after.question))
        if before.paused_s is not None and after.paused_s is None and after.heard is not None and self.hands_free:
            accept_at_s = now_s + ACCEPT_S if after.heard.grade is not None else None
            return replace(after, heard=replace(after.heard, accept_at_s=accept_at_s))
        return after

    def due(self, state: SessionState, now_s: float) -> tuple[str, ...]:
        """The keys that are to be pressed for the player now; none without hands free."""
        if self._hands_free is None:
            return ()
        keys = self._hands_free.due(state, now_s, self._source, asked_of(state.question))
        if keys and state.phase is Phase.ANSWER and state.heard is not None:
            self._keep(state.question, replace(state.heard, accepted=True, accept_at_s=None))
        return keys

    def stirs(self, state: SessionState, now_s: float) -> bool:
        """Whether the seconds that are shown have changed since this was last asked."""
        if self._hands_free is None:
            return False
        before, left = self._hands_free.shown_s, seconds_left(state.heard, now_s)
        self._hands_free.shown_s = left
        return before != left

    @property
    def playing(self) -> bool:
        """Whether a note was heard in the last seconds, which is as good as a key."""
        ears, _ = self._source.heard()
        return self.listening and bool(ears.heard) and ears.now_s - ears.heard[-1].at_s < _STILL_THERE_S

    def witness_of(self, given: Given) -> Witness | None:
        """What the log keeps of a grade, beside its review; None where nothing was heard of it."""
        take = self._take_of(given.question)
        if take is None:
            return None
        if self._hands_free is not None and self._hands_free.graded(given.grade, take):
            self._turned_off = True
        how = "accepted" if take.accepted else "shown"
        return Witness(given.review, take.grade, how, take.source, take.sure, take.detail)

    def _noticed(self, state: SessionState) -> SessionState:
        """Says once why nothing is heard any more, and when hands free has turned itself off."""
        if self._turned_off:
            self._turned_off = False
            return replace(state, note=OFF_AGAIN)
        if self._told or not self._source.trouble:
            return state
        self._told = True
        return replace(state, note=f"Not listening: {self._source.trouble}. The session goes on by keys.")

    def _take_of(self, question: Question | None) -> HeardTake | None:
        return next((take for asked, take in self._takes if asked is question), None)

    def _keep(self, question: Question | None, take: HeardTake) -> None:
        self._takes = [(asked, take if asked is question else old) for asked, old in self._takes]

    def _hear(self, question: Question | None) -> None:
        shapes = asked_of(question)
        if question is not None and shapes and not self._source.trouble:
            ears, from_s = self._source.heard()
            span, first_s = self._click(), None
            if span is not None:
                first_s = self._source.first_s
            click = None if span is None or first_s is None else span.since(first_s)
            self._takes.append((question, heard_take(ears.finish(), shapes, from_s, self._late_s, click)))


def heard_take(
    ears: AnyEars,
    shapes: Sequence[Shape],
    from_s: float = 0.0,
    late_s: float | None = None,
    click: ClickSpan | None = None,
) -> HeardTake:
    """What is made of a take.

    shapes: what was asked, one shape or two in a row. from_s: seconds from the prompt to the beginning of what the
    ears heard. click: the click it was played over, from that beginning; what was not played while it sounded, from
    the first note to the last, is not timed.
    """
    grid = None if click is None else ClickGrid(click.tempo_bpm, click.from_s)
    verdict = take_verdict(ears, target_of(shapes, grid))
    if click is not None and not _over(click, verdict):
        verdict = take_verdict(ears, target_of(shapes))
    first = verdict.notes[0].at_s
    first_s = None if first is None else from_s + first
    named = [(shape.name, len(shape.notes)) for shape in shapes]
    proposal = propose(verdict, first_s=first_s, late_s=late_s, shapes=named if len(shapes) > 1 else ())
    unsure = sum(one.judged is Judged.NOT_SURE for one in verdict.notes)
    right = sum(one.judged is Judged.RIGHT for one in verdict.notes)
    claimed = not verdict.doubts and 2 * right >= len(verdict.notes)
    return HeardTake(
        glyphs_of(verdict) if claimed else ("",) * len(verdict.notes),
        proposal.why,
        tuple([*shape_words(verdict, shapes), *extras_words(verdict)] if claimed else []),
        _GRADES.get(proposal.grade or ""),
        proposal.slip,
        round(1 - unsure / len(verdict.notes), 3),
        "{} {}".format(*source_of(ears)),
        _detail(verdict, first_s),
    )


def _over(click: ClickSpan, verdict: Verdict) -> bool:
    """Whether every note that was heard came while the click sounded, or within half a beat of it."""
    half_s = 30.0 / click.tempo_bpm
    times = [note.at_s for note in verdict.notes if note.at_s is not None]
    return all(click.from_s - half_s <= at <= click.until_s + half_s for at in times)


def _detail(verdict: Verdict, first_s: float | None) -> str:
    """The verdict in numbers: for each note asked for its MIDI number, a letter, and what was heard instead."""
    return json.dumps(
        {
            "notes": [
                [one.asked, _LETTERS[one.judged], *([one.heard] if one.heard is not None else [])]
                for one in verdict.notes
            ],
            "extras": list(verdict.extras),
            "stops": list(verdict.stops),
            "cents": verdict.tuning_cents,
            "doubts": len(verdict.doubts),
            "first_s": None if first_s is None else round(first_s, 2),
        },
        separators=(",", ":"),
    )
