"""The learner learns from one player's reviews, one at a time, and takes each back exactly."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from operator import attrgetter
from typing import Any, NamedTuple

from scheduler.card import CARD_KIND, CardSpec
from scheduler.days.practice_day import DAY_STARTS_AT_HOUR, practice_day_of_days
from scheduler.errors import ReviewError
from scheduler.grade import Grade
from scheduler.memory.committee import Memory, PlayerState, Replaced
from scheduler.memory.constants import Constants
from scheduler.memory.pace import Pace
from scheduler.memory.played import Played
from scheduler.review import Review

__all__ = ["Learner", "days_of", "offset_of"]

_JOURNAL = 512
"""Reviews that can be taken back without learning the history again."""

_PLAYED = 256
"""Reviews that an exported state remembers as played. No session has more."""

_DAY_SECONDS = 86400.0

_USUAL_SECONDS = CardSpec("any").seconds
"""What a card takes that the deck does not know."""


class _JournalEntry(NamedTuple):
    """One recorded review and everything it replaced."""

    review: Review
    played: Played
    skills: Replaced
    player: PlayerState
    pace: Pace
    missed_on: int | None


_PLAYED_OF = attrgetter("played")


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
        self._journal: deque[_JournalEntry] = deque(maxlen=_JOURNAL)
        self._before: tuple[Played, ...] = ()
        self._history: Callable[[], Iterable[Review]] | None = None
        # Reviews of the history that the journal has taken back (None) or amended since.
        self._replaced: dict[str, Review | None] = {}

    # -- learning ------------------------------------------------------------

    def record(self, review: Review) -> tuple[str, ...]:
        """Learn from one review, in time proportional to the skills of its card; the skills that changed.

        First attempts teach the memory. A repeat teaches nothing, with one
        exception: a repeat of a card with skills never met is a lesson, and
        they count as met from then on.
        """
        memory, at, grade = self.memory, review.at, review.grade
        card = self.cards.get(review.card)
        shared = review.skills or (card.skills if card else ())
        skills = (*shared, f"{CARD_KIND}:{review.card}")
        offset = offset_of(at)
        at_days = at.timestamp() / _DAY_SECONDS
        player, pace, missed_on = memory.player, self.pace, self.missed_on.get(review.card)
        met = memory.skills
        new = tuple([skill for skill in shared if skill not in met])
        first, clean, missed = review.attempt == "first", False, False
        replaced: Replaced = ()
        if first:
            clean, missed = grade.clean, grade is Grade.LOOKED
            blamed = self.blame.get(review.slip) if review.slip else None
            replaced = memory.learn(skills, grade, at_days, blamed)
            if review.spent is not None:
                expected = card.seconds if card else _USUAL_SECONDS
                self.pace = pace.after(clean, review.spent, expected)
            if missed or missed_on is not None:
                day = practice_day_of_days(at_days, offset, self.day_starts_at_hour)
                if missed:
                    self.missed_on[review.card] = day
                elif missed_on is not None and day > missed_on:
                    del self.missed_on[review.card]
        elif new:
            replaced = memory.see(skills, at_days)
        played = Played(review.id, review.card, at_days, review.session, first, missed, clean, new)
        self._journal.append(_JournalEntry(review, played, replaced, player, pace, missed_on))
        return tuple([skill for skill, _ in replaced])

    def undo(self, review_id: str) -> frozenset[str]:
        """Take one review back, as if it had never been recorded, exactly; the skills that may have changed.

        The last few hundred reviews are taken back from a journal. An older
        one needs the history (`history_from`) and learns it again.

        Raises ReviewError when the id is in neither.
        """
        return self._replace(review_id, None)

    def amend(self, review: Review) -> frozenset[str]:
        """Put a review in place of the recorded one with the same id (a slip named later); as `undo`."""
        return self._replace(review.id, review)

    def _replace(self, review_id: str, instead: Review | None) -> frozenset[str]:
        if not any(entry.review.id == review_id for entry in self._journal):
            return self._learn_again(review_id, instead)
        changed: set[str] = set()
        later: list[Review] = []
        while True:
            entry = self._journal.pop()
            self._take_back(entry)
            changed.update(skill for skill, _ in entry.skills)
            if entry.review.id == review_id:
                break
            later.append(entry.review)
        self._replaced[review_id] = instead
        for review in (*([instead] if instead else []), *reversed(later)):
            changed.update(self.record(review))
        return frozenset(changed)

    def _take_back(self, entry: _JournalEntry) -> None:
        """Put everything back that one review replaced."""
        self.memory.put_back(entry.skills, entry.player)
        self.pace = entry.pace
        card = entry.review.card
        if entry.missed_on is None:
            self.missed_on.pop(card, None)
        else:
            self.missed_on[card] = entry.missed_on

    def _learn_again(self, review_id: str, instead: Review | None) -> frozenset[str]:
        """Learn the whole history again with one review replaced or left out."""
        past = (self._replaced.get(review.id, review) for review in (self._history() if self._history else ()))
        again = [review for review in past if review is not None]
        if not any(review.id == review_id for review in again):
            raise ReviewError(
                f"review {review_id!r}: expected one of the reviews recorded, found none; "
                "rebuild the planner from the log"
            )
        known = {review.id for review in again}
        again += [entry.review for entry in self._journal if entry.review.id not in known]
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
        self._journal.clear()
        self._before = ()

    # -- what was learned ----------------------------------------------------

    def played(self) -> list[Played]:
        """The last few hundred reviews, oldest first."""
        return [*self._before, *map(_PLAYED_OF, self._journal)]

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
        self._before = tuple(Played._make((*most, tuple(new))) for *most, new in state["played"])

    def history_from(self, history: Callable[[], Iterable[Review]]) -> None:
        """Where all reviews learned so far can be had again, should one older than the journal be taken back."""
        self._history, self._replaced = history, {}

    # -- trying --------------------------------------------------------------

    def copy(self) -> Learner:
        """A learner that learns on its own from here and leaves this one as it is."""
        other = object.__new__(Learner)
        other.__dict__ |= self.__dict__ | {
            "memory": self.memory.copy(),
            "missed_on": dict(self.missed_on),
            "_journal": self._journal.copy(),
            "_replaced": dict(self._replaced),
        }
        return other

    def forget_played(self) -> None:
        """Forget which cards were played and keep what they taught, so that long trials of sessions stay quick."""
        self._journal.clear()
        self._before = ()


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
