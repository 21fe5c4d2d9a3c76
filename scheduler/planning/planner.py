"""The planner: which card to play now, what it has learned, and why it chose."""

from __future__ import annotations

import hashlib
import math
from collections import deque
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from scheduler.card import CARD_KIND, CardSpec, kind_of
from scheduler.errors import CardError, ReviewError
from scheduler.grade import Grade
from scheduler.memory.committee import Memory, PlayerState
from scheduler.memory.constants import Constants
from scheduler.memory.pace import Pace
from scheduler.memory.skill_memory import SkillMemory
from scheduler.planning.eligibility import apart_from, open_cards
from scheduler.planning.rules import NO_RULES, TeachingRules
from scheduler.planning.session_so_far import Played, SessionSoFar, sitting_at
from scheduler.review import Review

if TYPE_CHECKING:
    from scheduler.planning.reasons import Reasons, SkillState

__all__ = ["CatchUp", "Planner"]

_JOURNAL = 512
"""Reviews that can be taken back without a rebuild."""

_PLAYED = 256
"""Reviews that an exported state remembers as played: more than any session has."""

_ABSENCE_DAYS = 7.0
"""Days without practice that are an absence and no habit."""

_LOTS_A_SESSION = 1000
"""Lots are drawn by number: more than any session has cards, so that no two sessions have the same luck."""

_SESSIONS_READ = 8
"""Sessions by which a player's days are known: a week and a day of daily practice."""

_DAY_SECONDS = 86400.0


class _JournalEntry(NamedTuple):
    """One recorded review and everything it replaced."""

    review: Review
    played: Played
    traces: tuple[tuple[str, SkillMemory | None], ...]
    player: PlayerState
    pace: Pace
    owed: int | None


class CatchUp(NamedTuple):
    """An estimate of the way back after an absence.

    sessions: ten-minute sessions until mean recall over met cards is what it
        was after the last session; 0 when it never left. recall_before,
        recall_now: that mean then and now.
    """

    sessions: int
    recall_before: float
    recall_now: float


class Planner:
    """Chooses cards for one player and learns from every first attempt.

    cards: the deck; ids must differ; new material is met in their order where
    it gains alike. seed: settles other ties. history: reviews
    in the order they are to be learned from. rules: what a teacher asks.
    constants: the memory's global constants, when refitted.

    Asking (`next`, `recall`, `plan`, `why`, `state`, `catch_up`) never changes
    anything. `record` costs the same whatever the length of the log.

    Raises CardError for two cards with one id, and for ids not in the deck.
    """

    def __init__(
        self,
        cards: Iterable[CardSpec],
        seed: int = 0,
        history: Iterable[Review] = (),
        rules: TeachingRules | None = None,
        constants: Constants | None = None,
    ) -> None:
        self.cards: tuple[CardSpec, ...] = tuple(cards)
        self.seed = seed
        self.rules = rules or NO_RULES
        self.memory = Memory(constants)
        self.pace = Pace()
        self._by_id = {card.id: card for card in self.cards}
        self._rows = {card.id: row for row, card in enumerate(self.cards)}
        self._seconds = np.array([card.seconds for card in self.cards])
        self._users: dict[str, list[str]] = {}
        for card in self.cards:
            for skill in card.skills:
                self._users.setdefault(skill, []).append(card.id)
        if len(self._by_id) != len(self.cards):
            seen: set[str] = set()
            twice = next(c.id for c in self.cards if c.id in seen or seen.add(c.id))
            raise CardError(f"deck: expected every card id once, got {twice!r} twice")
        self._owed: dict[str, int] = {}
        self._journal: deque[_JournalEntry] = deque(maxlen=_JOURNAL)
        self._before: tuple[Played, ...] = ()
        self._begun: str | None = None
        self._gains = None
        self._history: Callable[[], Iterable[Review]] | None = None
        self._replaced: dict[str, Review | None] = {}  # by the journal, where the history has it as it was
        self._ranks: dict[str, int] | None = None
        reviews = tuple(history)
        for review in reviews:
            self.record(review)
        if reviews:
            self._history = lambda: reviews

    # -- telling -------------------------------------------------------------

    def begin(self, session: str, at: datetime) -> None:
        """Begin (or go on with) the session whose reviews carry this id.

        Limits per session, and what returns after a miss, then count the
        reviews with that id. Without it the session is that of the last
        review, until a pause of `TeachingRules.session_gap_minutes`.
        """
        _days(at)
        self._begun = session

    def end(self) -> None:
        """End the session begun with `begin`."""
        self._begun = None

    def record(self, review: Review) -> None:
        """Learn from one review, in time proportional to the skills of its card.

        First attempts teach the memory. A repeat teaches nothing, except
        that a repeat of a card with skills never met is a lesson: they count
        as met from then on.
        """
        card = self._by_id.get(review.card)
        shared = review.skills or (card.skills if card else ())
        skills = (*shared, f"{CARD_KIND}:{review.card}")
        at_days = _days(review.at)
        player = self.memory.player
        pace, owed = self.pace, self._owed.get(review.card)
        offset = review.at.utcoffset()
        new = tuple(skill for skill in skills[:-1] if skill not in self.memory.traces)
        first = review.attempt == "first"
        missed = first and review.grade is Grade.LOOKED
        if first:
            blamed = self.rules.blame.get(review.slip) if review.slip else None
            replaced = self.memory.learn(skills, review.grade, at_days, blamed)
            if review.spent is not None:
                expected = card.seconds if card else CardSpec(review.card).seconds
                self.pace = pace.after(review.grade.clean, review.spent, expected)
            day = self.rules.practice_day(at_days, offset.total_seconds())
            if missed:
                self._owed[review.card] = day
            elif owed is not None and day > owed:
                del self._owed[review.card]
        else:
            replaced = self.memory.see(skills, at_days) if new else ()
        played = Played(review.id, review.card, at_days, review.session, first, missed, new)
        self._journal.append(_JournalEntry(review, played, replaced, player, pace, owed))
        self._touch(replaced)

    def undo(self, review_id: str) -> None:
        """Take one review back, as if it had never been recorded, exactly.

        The last few hundred reviews are taken back from a journal; an older
        one needs the history the planner was made from.

        Raises ReviewError when the id is in neither.
        """
        self._replace(review_id, None)

    def amend(self, review: Review) -> None:
        """Put a review in place of the recorded one with the same id (a slip named later)."""
        self._replace(review.id, review)

    def _replace(self, review_id: str, instead: Review | None) -> None:
        later: list[Review] = []
        if any(entry.review.id == review_id for entry in self._journal):
            while True:
                entry = self._journal.pop()
                self.memory.put_back(entry.traces, entry.player)
                self.pace = entry.pace
                card = entry.review.card
                if entry.owed is None:
                    self._owed.pop(card, None)
                else:
                    self._owed[card] = entry.owed
                self._touch(entry.traces)
                if entry.review.id == review_id:
                    break
                later.append(entry.review)
            again = ([instead] if instead else []) + later[::-1]
            self._replaced[review_id] = instead
        else:
            kept = (self._replaced.get(review.id, review) for review in (self._history() if self._history else ()))
            again = [review for review in kept if review is not None]
            if not any(review.id == review_id for review in again):
                raise ReviewError(
                    f"review {review_id!r}: expected one of the reviews recorded, found none; "
                    "rebuild the planner from the log"
                )
            known = {review.id for review in again}
            again += [e.review for e in self._journal if e.review.id not in known]
            again = [instead if r.id == review_id else r for r in again]
            left = tuple(review for review in again if review is not None)
            self._history = lambda: left
            self._replaced = {}
            fresh = Planner(self.cards, self.seed, (), self.rules, self.memory.constants)
            self.memory, self.pace, self._owed = fresh.memory, fresh.pace, fresh._owed
            self._journal, self._before, self._gains = fresh._journal, (), None
        for review in again:
            if review is not None:
                self.record(review)

    def _touch(self, replaced: Iterable[tuple[str, SkillMemory | None]]) -> None:
        if self._gains is not None:
            for skill, _ in replaced:
                self._gains.touch(skill)

    # -- asking --------------------------------------------------------------

    def recall(self, card_id: str, at: datetime) -> float:
        """Chance of a clean first attempt at a card, 0 to 1."""
        return self.memory.recall(self._skills(card_id), _days(at))

    def next(self, at: datetime) -> str | None:
        """The card to play now, or None when the rules leave no card.

        Pure. When rules exclude every card, the tags kept apart are relaxed
        first, then look-alikes; never rest, focus or limits.
        """
        chosen = self._choose(at)
        return chosen[0] if chosen else None

    def plan(self, at: datetime, minutes: float) -> list[str]:
        """The likely cards of a session beginning now, in order.

        Each is taken to go as is more likely. Pure.
        """
        trial = self._copy()
        trial._begin_trial(at)
        return trial._play(at, minutes, lambda _: 0.5)

    def why(self, card_id: str, at: datetime) -> Reasons:
        """The parts of the worth of playing a card now."""
        from scheduler.planning.reasons import Reasons, SkillPart

        card = self._card(card_id)
        at_days = _days(at)
        worth, recalls = self._gain_arrays(at_days)
        row = self._rows[card_id]
        gains = self._gains
        recall = float(recalls[row])
        seconds = self.pace.seconds(card.seconds, recall)
        skills = self._skills(card_id)
        values = [*worth[row][: len(skills) - 1], worth[row][-1]]
        total = math.fsum(values)
        users = gains.users()
        parts = sorted(
            (
                SkillPart(
                    skill,
                    float(value) / seconds,
                    float(value / total) if total > 0 else 0.0,
                    users[gains.index[skill]],
                    self.state(skill, at),
                )
                for skill, value in zip(skills, values, strict=True)
            ),
            key=lambda part: (-part.gain, part.skill),
        )
        chosen = self._choose(at)
        rule = chosen[1] if chosen and chosen[0] == card_id else None
        if rule is None and self.new_skills(card_id):
            rule = "new"
        weakest = min(parts, key=lambda part: (part.state.recall, part.skill)).skill
        return Reasons(card_id, rule, recall, seconds, float(total) / seconds, tuple(parts), weakest)

    def state(self, skill: str, at: datetime) -> SkillState:
        """One skill in words and numbers; pure."""
        from scheduler.memory.states import skill_state

        return skill_state(self.memory, skill, _days(at))

    def card_state(self, card_id: str, at: datetime) -> str:
        """unmet, forming, firm or fading: the word for one card; pure."""
        from scheduler.memory.states import card_word

        return card_word(self.memory, self._skills(card_id), _days(at))

    def unmet(self, card_id: str) -> bool:
        """Whether the card itself was never played or shown."""
        self._card(card_id)
        return f"{CARD_KIND}:{card_id}" not in self.memory.traces

    def first_met(self, card_id: str) -> datetime | None:
        """When the card itself was first played or shown, in UTC; None for one unmet."""
        if self.unmet(card_id):
            return None
        return datetime.fromtimestamp(self.memory.traces[f"{CARD_KIND}:{card_id}"].first_days * _DAY_SECONDS, UTC)

    def new_skills(self, card_id: str) -> tuple[str, ...]:
        """The card's shared skills never met yet: what a lesson has to show."""
        return tuple(s for s in self._card(card_id).skills if s not in self.memory.traces)

    @property
    def met_skills(self) -> frozenset[str]:
        """Every skill met so far, the cards' own among them."""
        return frozenset(self.memory.traces)

    def sitting(self, at: datetime) -> SessionSoFar:
        """What has been played in the session this moment belongs to."""
        return sitting_at(
            self._played(),
            _days(at),
            self._begun,
            self.rules.session_gap_minutes / 1440.0,
        )

    def catch_up(self, at: datetime, minutes: float = 10.0) -> CatchUp:
        """How many sessions until mean recall over met cards is what it was.

        Recall is compared cold, a day after a session: before the absence,
        and after each session of met cards simulated with the player as the
        memory believes them to be, as far apart as their sessions were. Pure.
        """
        met = [card for card in self.cards if not self.unmet(card.id)]
        played = self._played()
        if not met or not played:
            return CatchUp(0, 0.0, 0.0)
        last = played[-1].at_days

        def mean(planner: Planner, when_days: float) -> float:
            return math.fsum(planner.memory.recall(planner._skills(card.id), when_days) for card in met) / len(met)

        before, now = mean(self, min(last + 1.0, _days(at))), mean(self, _days(at))
        trial = self._copy()
        known = frozenset(card.id for card in met)
        trial.rules = replace(self.rules, focus=known if self.rules.focus is None else known & self.rules.focus)
        apart = self._days_between_sessions()
        sessions, when, reached = 0, at, now
        while reached < before - 1e-9 and sessions < 60:
            trial.begin(f"trial {sessions}", when)
            trial._play(when, minutes, lambda n, first=sessions * _LOTS_A_SESSION: self._lot(first + n))
            sessions += 1
            reached = mean(trial, _days(when) + 1.0)
            when += timedelta(days=apart)
        return CatchUp(sessions, before, now)

    def placement(self, at: datetime, minutes: float = 3.0):
        """The most informative cards to ask a player who already knows much; see `Placement`. Pure."""
        from scheduler.planning.placement import placement

        return placement(self, at, minutes)

    def snapshot(self) -> tuple:
        """Everything learned, as one comparable value (the journal's undo data apart)."""
        return (
            dict(self.memory.traces),
            self.memory.player,
            self.pace,
            dict(self._owed),
            self._played()[-_PLAYED:],
        )

    def rests_on(self) -> list:
        """What the learned state rests on besides the reviews, as a JSON value."""
        usual = CardSpec("any").seconds
        slow = sorted((card.id, card.seconds) for card in self.cards if card.seconds != usual)
        return [repr(self.memory.constants), sorted(self.rules.blame.items()), self.rules.day_starts_at_hour, slow]

    def export(self) -> dict:
        """Everything learned, as a JSON value; what takes back the last reviews is not in it."""
        return {
            "memory": self.memory.export(),
            "pace": list(self.pace),
            "owed": dict(self._owed),
            "played": [list(played) for played in self._played()[-_PLAYED:]],
        }

    def restore(self, state: dict) -> None:
        """Take over what `export` gave in place of what was learned, to the last bit."""
        self.memory.restore(state["memory"])
        self.pace = Pace(*state["pace"])
        self._owed = dict(state["owed"])
        self._before = tuple(Played(*fields, tuple(new)) for *fields, new in state["played"])
        self._journal.clear()
        self._gains = None

    def history_from(self, history: Callable[[], Iterable[Review]]) -> None:
        """Where all reviews learned so far can be had again, should one older than the journal be taken back."""
        self._history, self._replaced = history, {}

    # -- inside --------------------------------------------------------------

    def _played(self) -> list[Played]:
        return [*self._before, *(entry.played for entry in self._journal)]

    def _card(self, card_id: str) -> CardSpec:
        card = self._by_id.get(card_id)
        if card is None:
            raise CardError(f"card {card_id!r}: expected an id of this deck, got another")
        return card

    def _skills(self, card_id: str) -> tuple[str, ...]:
        return (*self._card(card_id).skills, f"{CARD_KIND}:{card_id}")

    def _days_between_sessions(self) -> float:
        """Mean days from one of the latest sessions to the next, absences apart, and no less than the rules say."""
        usual = self.rules.practice_every_days
        begun: list[float] = []
        for played in self._played():
            if not begun or played.at_days - begun[-1] > 0.5:
                begun.append(played.at_days)
        gaps = [after - before for before, after in pairwise(begun[-_SESSIONS_READ:])]
        gaps = [gap for gap in gaps if gap < max(_ABSENCE_DAYS, 2.0 * usual)]
        return usual if len(gaps) < 2 else max(usual, math.fsum(gaps) / len(gaps))

    def _rank(self, card_id: str) -> int:
        """A fixed shuffle of the ids, from the seed: settles ties alike on every machine."""
        if self._ranks is None:
            keys = {c.id: hashlib.blake2b(f"{self.seed}/{c.id}".encode(), digest_size=8).digest() for c in self.cards}
            self._ranks = {c: i for i, c in enumerate(sorted(keys, key=lambda c: (keys[c], c)))}
        return self._ranks[card_id]

    def _gain_arrays(self, at_days: float):
        if self._gains is None:
            from scheduler.planning.gain import Gains

            self._gains = Gains(self.cards, self.memory)
        return self._gains.per_card(at_days, self.pace.factors(), self.rules.practice_every_days)

    def _day(self, at: datetime) -> int:
        return self.rules.practice_day(_days(at), at.utcoffset().total_seconds())

    def _choose(self, at: datetime) -> tuple[str, str | None] | None:
        at_days = _days(at)
        rules = self.rules
        offset = at.utcoffset().total_seconds()
        day = self._day(at)
        sitting = self.sitting(at)
        traces = self.memory.traces
        new_of: dict[str, tuple[str, ...]] = {}
        for skill, users in self._users.items():
            if skill not in traces:
                for card_id in users:
                    new_of[card_id] = (*new_of.get(card_id, ()), skill)

        def met_today(skill: str) -> bool:
            trace = traces.get(skill)
            return trace is not None and rules.practice_day(trace.first_days, offset) == day

        choices = open_cards(self.cards, rules, sitting, new_of, met_today)
        if not choices and rules.look_alikes:
            choices = open_cards(self.cards, rules, sitting, new_of, met_today, look_alikes=False)
        if not choices:
            return None
        asked = sitting.asked()
        choices = apart_from(choices, asked, self._by_id, rules.apart_reach)
        rule = None
        open_ids = {card.id for card in choices}
        if rules.miss_returns_after is not None:
            ready = [c for c in sitting.returning(rules.miss_returns_after) if c in open_ids]
            if ready:
                return ready[0], "returns"
        if len(asked) % 2 == 1 or len(asked) < 1:
            first, rule = self._put_first(choices, day, at_days)
            choices = first or choices
        worth, recalls = self._gain_arrays(at_days)
        rows = np.array([self._rows[card.id] for card in choices])
        clean, other = self.pace.factors()
        recall = recalls[rows]
        seconds = self._seconds[rows] * (recall * clean + (1.0 - recall) * other)
        per_second = worth[rows].sum(1) / seconds
        near = np.flatnonzero(per_second >= per_second.max() * (1.0 - 1e-9))
        # Equal gains: new material in the order it was given, the rest shuffled by the seed.
        best = min(
            (choices[i].id for i in near),
            key=lambda c: self._rows[c] if rules.in_stage_order and c in new_of else self._rank(c),
        )
        return best, rule

    def _put_first(self, choices: Sequence[CardSpec], day: int, at_days: float) -> tuple[list[CardSpec], str | None]:
        """The cards a rule puts first now, if any: longest gap, then asked again after a miss."""
        rules, traces = self.rules, self.memory.traces
        if rules.longest_gap_kinds:
            from scheduler.memory.states import is_firm

            limit = rules.longest_gap_days * 0.8
            long_unplayed = {
                skill: at_days - trace.last_days
                for skill, trace in traces.items()
                if at_days - trace.last_days > limit
                and kind_of(skill) in rules.longest_gap_kinds
                and is_firm(self.memory, skill)
            }
            if long_unplayed:
                longest = {c.id: max((long_unplayed.get(s, 0.0) for s in c.skills), default=0.0) for c in choices}
                top = max(longest.values())
                if top > 0.0:
                    return [c for c in choices if longest[c.id] >= top - 0.5], "gap"
        if rules.ask_again_next_day:
            again = [c for c in choices if self._owed.get(c.id, day) < day]
            if again:
                return again, "again"
        return [], None

    def _copy(self) -> Planner:
        other = object.__new__(Planner)
        other.__dict__.update(self.__dict__)
        other.memory = self.memory.copy()
        other._owed = dict(self._owed)
        other._journal = self._journal.copy()
        if self._gains is not None:
            other._gains = self._gains.copy_for(other.memory)
        return other

    def _begin_trial(self, at: datetime) -> None:
        if not self.sitting(at).played:
            self._begun = f"trial {at.isoformat()}"

    def _lot(self, count: int) -> float:
        """A number from 0 to under 1, always the same for the same seed and count."""
        digest = hashlib.blake2b(f"{self.seed}/{count}".encode(), digest_size=4).digest()
        return int.from_bytes(digest, "big") / 2**32

    def _play(self, at: datetime, minutes: float, lot: Callable[[int], float]) -> list[str]:
        """Play a session in the model; only for a copy."""
        order: list[str] = []
        when, end = at, at + timedelta(minutes=minutes)
        while when < end:
            card_id = self.next(when)
            if card_id is None:
                break
            recall = self.recall(card_id, when)
            grade = self.memory.grade_of(recall, lot(len(order)))
            spent = self.pace.seconds(self._by_id[card_id].seconds, float(grade.clean))
            when += timedelta(seconds=spent)
            self.record(Review(card_id, grade, when, 5.0, session=self._begun, id=f"trial {len(order)}"))
            order.append(card_id)
        return order


def _days(at: datetime) -> float:
    """Days since 1970-01-01 UTC; raises ReviewError for a moment without an offset."""
    if at.utcoffset() is None:
        raise ReviewError(f"time: expected a moment with a UTC offset, got {at!r}")
    return at.timestamp() / _DAY_SECONDS
