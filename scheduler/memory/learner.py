"""The learner learns from one player's reviews, one at a time, and takes each back exactly."""

from __future__ import annotations

import copy
from collections import deque
from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from typing import Any, NamedTuple

from scheduler.card import CARD_KIND, CardSpec
from scheduler.days.practice_day import DAY_STARTS_AT_HOUR, practice_day_of_days
from scheduler.errors import ReviewError
from scheduler.grade import Grade
from scheduler.memory.committee import Memory, PlayerState
from scheduler.memory.constants import Constants
from scheduler.memory.pace import Pace
from scheduler.memory.played import Played
from scheduler.memory.skill_memory import SkillMemory
from scheduler.review import Review

__all__ = ["Learner", "days_of", "offset_of"]

_BLOCK, _BLOCKS = 64, 5
"""The last 257 reviews or more can be taken back without learning the history again: this many whole blocks of this
many are kept, each with what had been learned before it. Taking one back learns its block again, in 4 ms or less."""

_PLAYED = 256
"""Reviews that an exported state remembers as played. So many are left here when all that can be was taken back."""

_DAY_SECONDS = 86400.0

_USUAL_SECONDS = CardSpec("any").seconds
"""What a card takes that the deck does not know."""


class _Block(NamedTuple):
    """What had been learned before some reviews that followed on one another, and those reviews."""

    skills: dict[str, SkillMemory]
    player: PlayerState
    pace: Pace
    missed_on: dict[str, int]
    reviews: list[Review]


class Learner:
    """Learns from one player's reviews. It knows nothing of how cards are chosen.

    cards: the cards that reviews may name, by id. They give the expected
        seconds of a card, and the skills of a review that names none.
    blame: slip -> the kind of skill it blames for a miss.
    day_starts_at_hour: local hour at which a practice day begins, 0 to under 24.
    constants: the memory's global constants; None for the usual ones.

    memory: what is believed of every skill. pace: how long the player takes.
    missed_on: card -> practice day (days since 1970) on which it was last
    looked up; a first attempt on a later day that is not looked up ends it.
    """

    def __init__(
        self,
        cards: Mapping[str, CardSpec] | None = None,
        blame: Mapping[str, str] | None = None,
        day_starts_at_hour: float = DAY_STARTS_AT_HOUR,
        constants: Constants | None = None,
    ) -> None:
        self.cards: Mapping[str, CardSpec] = cards or {}
        self.blame: Mapping[str, str] = blame or {}
        self.day_starts_at_hour = day_starts_at_hour
        self.memory = Memory(constants)
        self.pace = Pace()
        self.missed_on: dict[str, int] = {}
        self._blocks: deque[_Block] = deque(maxlen=_BLOCKS)
        self._played: deque[Played] = deque(maxlen=_PLAYED + _BLOCK * _BLOCKS)
        self._history: Callable[[], Iterable[Review]] | None = None
        # Reviews of the history that were taken back (None) or amended since, from a block.
        self._replaced: dict[str, Review | None] = {}
        # The last review that no block holds any more.
        self._let_go: str | None = None

    # -- learning ------------------------------------------------------------

    def record(self, review: Review) -> tuple[str, ...]:
        """Learn from one review, in time proportional to the skills of its card; the skills that changed.

        First attempts teach the memory. A repeat teaches nothing, with one
        exception: a repeat of a card with skills never met is a lesson, and
        they count as met from then on.
        """
        memory, at, grade = self.memory, review.at, review.grade
        if not self._blocks or len(self._blocks[-1].reviews) >= _BLOCK:
            if len(self._blocks) == _BLOCKS:
                self._let_go = self._blocks[0].reviews[-1].id
            self._blocks.append(_Block(dict(memory.skills), memory.player, self.pace, dict(self.missed_on), []))
        skills, met = self._skills(review), memory.skills
        at_days = at.timestamp() / _DAY_SECONDS
        new = tuple([skill for skill in skills[:-1] if skill not in met])
        first, clean, missed = review.attempt == "first", False, False
        if first:
            clean, missed = grade.clean, grade is Grade.LOOKED
            memory.learn(skills, grade, at_days, self.blame.get(review.slip) if review.slip else None)
            if review.spent is not None:
                card = self.cards.get(review.card)
                self.pace = self.pace.after(clean, review.spent, card.seconds if card else _USUAL_SECONDS)
            missed_on = self.missed_on.get(review.card)
            if missed or missed_on is not None:
                day = practice_day_of_days(at_days, offset_of(at), self.day_starts_at_hour)
                if missed:
                    self.missed_on[review.card] = day
                elif missed_on is not None and day > missed_on:
                    del self.missed_on[review.card]
        elif new:
            memory.see(skills, at_days)
        self._played.append(Played(review.id, review.card, at_days, review.session, first, missed, clean, new))
        self._blocks[-1].reviews.append(review)
        return skills if first or new else ()

    def _skills(self, review: Review) -> tuple[str, ...]:
        """The skills that a review teaches, its card's own last."""
        card = None if review.skills else self.cards.get(review.card)
        return (*(card.skills if card else review.skills), f"{CARD_KIND}:{review.card}")

    def undo(self, review_id: str) -> frozenset[str]:
        """Take one review back, as if it had never been recorded, exactly; the skills that may have changed.

        For one of the last few hundred reviews, a block of them is learned
        again. An older one needs the history (`history_from`) and learns it again.

        Raises ReviewError when the id is in neither, or reviews older than these few hundred are not in the history.
        """
        return self._replace(review_id, None)

    def amend(self, review: Review) -> frozenset[str]:
        """Put a review in place of the recorded one with the same id (a slip named later); as `undo`."""
        return self._replace(review.id, review)

    def _replace(self, review_id: str, instead: Review | None) -> frozenset[str]:
        if not any(review.id == review_id for review in self._recorded()):
            return self._learn_again(review_id, instead)
        self._replaced[review_id] = instead
        later: list[Review] = []
        while not any(review.id == review_id for review in later):
            block = self._blocks.pop()
            later[:0] = block.reviews
        # A copy of this learner may hold the same block.
        self.memory.skills, self.missed_on = dict(block.skills), dict(block.missed_on)
        self.memory.player, self.pace = block.player, block.pace
        changed: set[str] = set()
        for _ in later:
            self._played.pop()
        for review in later:
            changed.update(self._skills(review))
            kept = instead if review.id == review_id else review
            if kept is not None:
                changed.update(self.record(kept))
        return frozenset(changed)

    def _recorded(self) -> list[Review]:
        """The last few hundred reviews, which can be taken back without the history."""
        return [review for block in self._blocks for review in block.reviews]

    def _learn_again(self, review_id: str, instead: Review | None) -> frozenset[str]:
        """Learn the whole history again with one review replaced or left out."""
        past = tuple(self._history() if self._history else ())
        again = [review for one in past if (review := self._replaced.get(one.id, one)) is not None]
        # What came after the history and is in no block any more would be lost without a word.
        whole = self._let_go is None or any(one.id == self._let_go for one in past)
        if not whole or not any(review.id == review_id for review in again):
            raise ReviewError(
                f"review {review_id!r}: expected one of the last few hundred recorded, or a history with all reviews "
                "and this one, found neither; rebuild the planner from the log"
            )
        known = {review.id for review in again}
        again += [review for review in self._recorded() if review.id not in known]
        with_instead = (instead if review.id == review_id else review for review in again)
        left = tuple(review for review in with_instead if review is not None)
        changed = set(self.memory.skills)
        self._forget()
        for review in left:
            changed.update(self.record(review))
        self.history_from(lambda: left)
        return frozenset(changed)

    def _forget(self) -> None:
        """Go back to the state of no reviews."""
        self.memory = Memory(self.memory.constants)
        self.pace = Pace()
        self.missed_on = {}
        self.forget_played()

    # -- what was learned ----------------------------------------------------

    def played(self) -> list[Played]:
        """The last few hundred reviews, oldest first."""
        return list(self._played)

    def snapshot(self) -> tuple[object, ...]:
        """Everything learned, as one comparable value. What takes back the last reviews is not in it."""
        return (
            dict(self.memory.skills),
            self.memory.player,
            self.pace,
            dict(self.missed_on),
            self.played()[-_PLAYED:],
        )

    def rests_on(self) -> list[Any]:
        """What the learned state rests on besides the reviews, as a JSON value.

        Constants that only the choice of cards reads are not in it.
        """
        slow = sorted((card.id, card.seconds) for card in self.cards.values() if card.seconds != _USUAL_SECONDS)
        return [self.memory.constants.learning_values(), sorted(self.blame.items()), self.day_starts_at_hour, slow]

    def export(self) -> dict[str, Any]:
        """Everything learned, as a JSON value. What takes back the last reviews is not in it."""
        return {
            "memory": self.memory.export(),
            "pace": list(self.pace),
            "missed_on": dict(self.missed_on),
            "played": [list(played) for played in self.played()[-_PLAYED:]],
        }

    def restore(self, state: Mapping[str, Any]) -> None:
        """Take over what `export` gave in place of what was learned, to the last bit."""
        self._forget()
        self.memory.restore(state["memory"])
        self.pace = Pace(*state["pace"])
        self.missed_on = dict(state["missed_on"])
        self._played.extend(Played._make((*most, tuple(new))) for *most, new in state["played"])

    def history_from(self, history: Callable[[], Iterable[Review]]) -> None:
        """Where all reviews learned so far can be had again, should one before the last few hundred be taken back."""
        self._history, self._replaced = history, {}

    # -- trying --------------------------------------------------------------

    def copy(self) -> Learner:
        """A learner that learns on its own from here and leaves this one as it is."""
        return copy.copy(self)

    def __getstate__(self) -> dict[str, Any]:
        """What a copy takes over."""
        return vars(self) | {
            "memory": self.memory.copy(),
            "missed_on": dict(self.missed_on),
            "_blocks": deque((block._replace(reviews=block.reviews.copy()) for block in self._blocks), _BLOCKS),
            "_played": self._played.copy(),
            "_replaced": dict(self._replaced),
        }

    def forget_played(self) -> None:
        """Forget which cards were played and keep what they taught, so that long trials of sessions stay quick."""
        self._blocks.clear()
        self._played.clear()
        self._let_go = None


def days_of(at: datetime) -> float:
    """Days since 1970-01-01 UTC; raises ReviewError for a moment without an offset."""
    offset_of(at)
    return at.timestamp() / _DAY_SECONDS


def offset_of(at: datetime) -> float:
    """Local time minus UTC in seconds; raises ReviewError for a moment without an offset."""
    offset = at.utcoffset()
    if offset is None:
        raise ReviewError(f"time: expected a moment with a UTC offset, got {at!r}")
    return offset.total_seconds()
