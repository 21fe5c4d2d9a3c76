"""The planner says which card to play now, what is coming, and why."""

from __future__ import annotations

import copy
import hashlib
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import numpy as np

from scheduler.card import CARD_KIND, CardSpec
from scheduler.days.practice_day import practice_day_of_days
from scheduler.errors import CardError, RulesError
from scheduler.memory.constants import Constants
from scheduler.memory.learner import Learner, days_of, offset_of
from scheduler.planning.choice import SHOWN, Choice
from scheduler.planning.eligibility import apart_from, open_cards, returns_after
from scheduler.planning.first_meetings import easy_enough, lesson_kinds, paced
from scheduler.planning.preferences import Asking, DeckIndex, weigh
from scheduler.planning.rules import NO_RULES, TeachingRules
from scheduler.planning.session_so_far import SessionSoFar, session_at
from scheduler.planning.unmet_skills import UnmetSkills
from scheduler.review import Review

if TYPE_CHECKING:
    from scheduler.memory.committee import Memory
    from scheduler.memory.pace import Pace
    from scheduler.memory.states import SkillState
    from scheduler.planning.catch_up import CatchUp
    from scheduler.planning.gain import Floats, Gains
    from scheduler.planning.placement import PlacementEstimate
    from scheduler.planning.reasons import Reasons

__all__ = ["Planner"]

_DAY_SECONDS = 86400.0

_CAREFUL_DAYS = 2
"""New skills are begun as carefully as the most careful member would, until so many practice days are over.

By then the members that foresee badly have lost their weight. Chosen among 1, 2 and 4 by the recall of simulated
players; 1 and 4 did as well to within 2 %.
"""

_LOTS = 2**32
"""How many lots there are to draw."""

_ALIKE = 1e-9
"""Gains per second that differ by less than this part are alike."""


class Planner:
    """Chooses cards for one player, by what a `Learner` has learned from every first attempt.

    cards: the deck; ids must differ; new material is met in their order where
    it gains alike. seed: settles other ties. history: reviews
    in the order they are to be learned from. rules: what a teacher asks.
    constants: the memory's global constants, when refitted.

    Asking (`next`, `recall`, `plan`, `why`, `state`, `catch_up`) never changes
    anything. `record` costs the same whatever the length of the log.

    learner: what was learned. Raises CardError for two cards with one id, and
    for ids not in the deck.
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
        self._rules = rules or NO_RULES
        self._by_id: dict[str, CardSpec] = {}
        for card in self.cards:
            if card.id in self._by_id:
                raise CardError(f"deck: expected every card id once, got {card.id!r} twice")
            self._by_id[card.id] = card
        self.learner = Learner(self._by_id, self._rules.blame, self._rules.day_starts_at_hour, constants)
        self._deck = DeckIndex(self.cards)
        self._seconds = np.array([card.seconds for card in self.cards])
        self._session: str | None = None
        self._gains: Gains | None = None
        self._weighed_every, self._since_weighed = 1, 0
        self._worths: tuple[Floats, Floats] | None = None
        self._unmet: UnmetSkills | None = None
        self._ranks: dict[str, int] | None = None
        reviews = tuple(history)
        for review in reviews:
            self.record(review)
        if reviews:
            self.history_from(lambda: reviews)

    # -- telling -------------------------------------------------------------

    @property
    def rules(self) -> TeachingRules:
        """What a teacher asks of the choice; see `set_rules`."""
        return self._rules

    def set_rules(self, rules: TeachingRules) -> None:
        """Choose by other rules from now on; what was learned stays.

        Raises RulesError when they would have taught something else: blame and
        the hour at which a day begins are fixed when the planner is made.
        """
        for name in ("blame", "day_starts_at_hour"):
            if getattr(rules, name) != getattr(self._rules, name):
                raise RulesError(
                    f"rules, {name}: expected {getattr(self._rules, name)!r} as the planner was made with, "
                    f"got {getattr(rules, name)!r}; make a new planner"
                )
        self._rules, self._worths = rules, None

    def begin(self, session: str, at: datetime) -> None:
        """Begin (or go on with) the session whose reviews carry this id.

        Limits per session, and what returns after a miss, then count the
        reviews with that id. Without it the session is that of the last
        review, until a pause of `TeachingRules.session_gap_minutes`.
        """
        offset_of(at)
        self._session, self._worths = session, None

    def end(self) -> None:
        """End the session begun with `begin`."""
        self._session = None

    @property
    def session(self) -> str | None:
        """The id of the session begun with `begin`, or None."""
        return self._session

    def record(self, review: Review) -> None:
        """Learn from one review; see `Learner.record`."""
        self._touch(self.learner.record(review))
        self._since_weighed += 1
        if self._weighed_every > 1 and self._worths is not None and self.has(review.card):
            self._worths[0][self.row(review.card)] = 0.0

    def undo(self, review_id: str) -> None:
        """Take one review back, as if it had never been recorded, exactly; see `Learner.undo`.

        Raises ReviewError when it is not known.
        """
        self._touch(self.learner.undo(review_id))
        self._worths = None

    def amend(self, review: Review) -> None:
        """Put a review in place of the recorded one with the same id (a slip named later)."""
        self._touch(self.learner.amend(review))
        self._worths = None

    def _touch(self, changed: Collection[str]) -> None:
        for kept in (self._gains, self._unmet):
            if kept is not None:
                for skill in changed:
                    kept.touch(skill)

    # -- what was learned ----------------------------------------------------

    @property
    def memory(self) -> Memory:
        """What is believed of every skill."""
        return self.learner.memory

    @property
    def pace(self) -> Pace:
        """How long the player takes over a card."""
        return self.learner.pace

    def recall(self, card_id: str, at: datetime) -> float:
        """Chance of a clean first attempt at a card, 0 to 1."""
        return self.memory.recall(self.skills_of(card_id), days_of(at))

    def state(self, skill: str, at: datetime) -> SkillState:
        """One skill in words and numbers."""
        from scheduler.memory.states import skill_state

        return skill_state(self.memory, skill, days_of(at))

    def card_state(self, card_id: str, at: datetime) -> str:
        """unmet, forming, firm or fading: the word for one card."""
        from scheduler.memory.states import card_word

        return card_word(self.memory, self.skills_of(card_id), days_of(at))

    def unmet(self, card_id: str) -> bool:
        """Whether the card itself was never played or shown."""
        return self.skills_of(card_id)[-1] not in self.memory.skills

    def first_met(self, card_id: str) -> datetime | None:
        """When the card itself was first played or shown, in UTC; None for one unmet."""
        own = self.memory.skills.get(self.skills_of(card_id)[-1])
        return None if own is None else datetime.fromtimestamp(own.first_days * _DAY_SECONDS, UTC)

    def new_skills(self, card_id: str) -> tuple[str, ...]:
        """The card's shared skills never met yet: what a lesson has to show."""
        return tuple(skill for skill in self.card(card_id).skills if skill not in self.memory.skills)

    def lesson_kinds(self, card_id: str, at: datetime) -> tuple[str, ...]:
        """The kinds of new skill that a lesson has to show before a card is asked; see `TeachingRules.shown_kinds`."""
        return lesson_kinds(self.card(card_id), self.new_skills(card_id), self.rules, self.first_day(at))

    def first_day(self, at: datetime) -> bool:
        """Whether nothing was played before the practice day of this moment."""
        return self._practice_days_before(at) == 0

    @property
    def met_skills(self) -> frozenset[str]:
        """Every skill met so far, the cards' own among them."""
        return frozenset(self.memory.skills)

    def session_so_far(self, at: datetime) -> SessionSoFar:
        """What has been played in the session this moment belongs to."""
        gap_days = self.rules.session_gap_minutes / 1440.0
        return session_at(self.learner.played(), days_of(at), self._session, gap_days)

    def snapshot(self) -> tuple[object, ...]:
        """Everything learned, as one comparable value; see `Learner.snapshot`."""
        return self.learner.snapshot()

    def rests_on(self) -> list[Any]:
        """What the learned state rests on besides the reviews, as a JSON value."""
        return self.learner.rests_on()

    def export(self) -> dict[str, Any]:
        """Everything learned, as a JSON value; see `Learner.export`."""
        return self.learner.export()

    def restore(self, state: Mapping[str, Any]) -> None:
        """Take over what `export` gave in place of what was learned, to the last bit."""
        self.learner.restore(state)
        self._worths = None

    def history_from(self, history: Callable[[], Iterable[Review]]) -> None:
        """Where all reviews learned so far can be had again, should an old one be taken back."""
        self.learner.history_from(history)

    # -- the deck ------------------------------------------------------------

    def card(self, card_id: str) -> CardSpec:
        """The card with this id; raises CardError for an id not in the deck."""
        card = self._by_id.get(card_id)
        if card is None:
            raise CardError(f"card {card_id!r}: expected an id of this deck, got another")
        return card

    def has(self, card_id: str) -> bool:
        """Whether the deck has a card with this id."""
        return card_id in self._by_id

    def skills_of(self, card_id: str) -> tuple[str, ...]:
        """The skills of a card, its own last."""
        return (*self.card(card_id).skills, f"{CARD_KIND}:{card_id}")

    def users_of(self, skill: str) -> int:
        """How many cards of the deck need a skill."""
        kind, _, name = skill.partition(":")
        return int(self.has(name)) if kind == CARD_KIND else len(self._deck.users.get(skill, ()))

    def row(self, card_id: str) -> int:
        """The card's place in the deck, from 0."""
        return self._deck.rows[card_id]

    def rank(self, card_id: str) -> int:
        """The card's place in a fixed shuffle of the deck by the seed. It settles ties alike on every machine."""
        if self._ranks is None:
            keys = {c.id: hashlib.blake2b(f"{self.seed}/{c.id}".encode(), digest_size=8).digest() for c in self.cards}
            self._ranks = {c: i for i, c in enumerate(sorted(keys, key=lambda c: (keys[c], c)))}
        return self._ranks[card_id]

    # -- choosing ------------------------------------------------------------

    def next(self, at: datetime, without: Collection[str] = ()) -> str | None:
        """The card to play now, or None when the rules leave no card.

        without: ids left out this once, as if they rested. Pure. When rules
        exclude every card, tags kept apart are relaxed; never rest, focus or
        limits.
        """
        choice = self.choice(at, without)
        return choice.card if choice else None

    def choice(self, at: datetime, without: Collection[str] = ()) -> Choice | None:
        """The card `next` names, with the rules that weighed in; None when the rules leave no card. Pure."""
        at_days, offset = days_of(at), offset_of(at)
        rules = self.rules
        if without:
            rules = replace(rules, rested=rules.rested.union(without))
        unmet = self._unmet_in_step()
        new_of = unmet.of_card
        so_far = self.session_so_far(at)
        asked = so_far.asked()
        choices = open_cards(self.cards, rules, so_far, unmet.kinds_of)
        first_day = self.first_day(at)
        today = SessionSoFar(tuple(self.learner.played())) if first_day else so_far
        if rules.easy_first:
            choices = easy_enough(choices, rules, self.memory.skills, at_days)
        ready, held = [], set()
        for card_id, others in so_far.waiting().items():
            if others >= returns_after(self._others_before_return(card_id, asked), len(choices) - 1):
                ready.append(card_id)
            else:
                held.add(card_id)
        choices = paced(choices, rules, today, new_of, self._by_id, first_day)
        choices = apart_from(choices, asked, self._by_id, rules.apart_reach, frozenset(held))
        if not choices:
            return None
        open_ids = {card.id for card in choices} if ready else set()
        ready = [card_id for card_id in ready if card_id in open_ids]
        shown = so_far.shown() if ready else frozenset()
        for card_id in ready:
            if card_id in shown:
                return Choice(card_id, SHOWN)
        worth, recalls = self.worths(at)
        place = self._deck.rows
        rows = np.array([place[card.id] for card in choices])
        clean, other = self.pace.factors()
        recall = recalls[rows]
        seconds = self._seconds[rows] * (recall * clean + (1.0 - recall) * other)
        gains = worth[rows].sum(1) / seconds
        now = Asking(at_days, offset, so_far, self.memory, self.learner.missed_on, new_of, recalls, ready)
        factors = weigh(self._deck, rows, rules, now)
        weighed = gains.copy()
        for factor in factors.values():
            weighed *= factor
        near = np.flatnonzero(weighed >= weighed.max() * (1.0 - _ALIKE))
        # Equal gains: new material in the order it was given, the rest shuffled by the seed.
        in_order = rules.in_stage_order or rules.order_weight > 0.0
        best = min(
            near,
            key=lambda i: self.row(choices[i].id) if in_order and choices[i].id in new_of else self.rank(choices[i].id),
        )
        rule = None
        if gains[best] < gains.max() * (1.0 - _ALIKE):
            instead = int(gains.argmax())
            rule = max(factors, key=lambda name: float(factors[name][best] / factors[name][instead]))
        yielded = tuple(name for name, factor in factors.items() if factor[best] < factor.max())
        kept = tuple(name for name in factors if name not in yielded)
        return Choice(choices[best].id, rule, kept, yielded)

    def _others_before_return(self, card_id: str, asked: Sequence[str]) -> int:
        """How many others come before a card looked up or shown returns, even over the range the rules give."""
        fewest, most = self.rules.return_after
        lot = self.lot(card_id, len(asked) - asked[::-1].index(card_id))
        return fewest + int(_LOTS * lot) % (most - fewest + 1)

    def lot(self, *names: object) -> float:
        """A number from 0 to under 1, always the same for the same seed and names."""
        text = "/".join(map(str, (self.seed, *names)))
        return int.from_bytes(hashlib.blake2b(text.encode(), digest_size=4).digest(), "big") / _LOTS

    def worths(self, at: datetime) -> tuple[Floats, Floats]:
        """(worth of each card's skills [cards, skills], recall of each card) now; see `Gains.per_card`."""
        if self._weighed_every == 1 or self._worths is None or self._since_weighed >= self._weighed_every:
            from scheduler.planning.gain import WorthsAsked

            settled = self._practice_days_before(at) >= _CAREFUL_DAYS
            now = WorthsAsked(days_of(at), self.pace.factors(), self.rules.practice_every_days, settled)
            self._worths, self._since_weighed = self._in_step().per_card(now), 0
        return self._worths

    def weigh_after(self, cards: int) -> None:
        """Work out the worths anew after every so many cards played, 1 or more; 1 is always, as a session does.

        Until then a card played is worth nothing, and the others what they were at the moment they were weighed.
        """
        self._weighed_every, self._worths = cards, None

    def _practice_days_before(self, at: datetime) -> int:
        """On how many practice days before this one something was played, counted no farther than is asked for."""
        hour, offset = self.rules.day_starts_at_hour, offset_of(at)
        days = {practice_day_of_days(days_of(at), offset, hour)}
        for kept in self.memory.skills.values():
            days.add(practice_day_of_days(kept.first_days, offset, hour))
            days.add(practice_day_of_days(kept.last_days, offset, hour))
            if len(days) > _CAREFUL_DAYS:
                break
        return len(days) - 1

    def _in_step(self) -> Gains:
        # The learner begins a new memory when it learns its history again or takes over a saved state.
        if self._gains is None or self._gains.memory is not self.memory:
            from scheduler.planning.gain import Gains

            self._gains = Gains(self.cards, self.memory)
        return self._gains

    def _unmet_in_step(self) -> UnmetSkills:
        if self._unmet is None or self._unmet.memory is not self.memory:
            self._unmet = UnmetSkills(self._deck, self.memory)
        return self._unmet

    def plan(self, at: datetime, minutes: float) -> list[str]:
        """The likely cards of a session beginning now, in order.

        Each is taken to go as is more likely. Pure.
        """
        from scheduler.planning.trial import Trial

        trial = Trial(self)
        trial.go_on(at)
        own = trial.planner
        return trial.play(at, minutes, lambda card, when, _: own.memory.grade_of(own.recall(card, when), 0.5))

    def why(self, card_id: str, at: datetime) -> Reasons:
        """The parts of the worth of playing a card now. Pure."""
        from scheduler.planning.reasons import reasons

        return reasons(self, card_id, at)

    def catch_up(self, at: datetime, minutes: float) -> CatchUp:
        """How many sessions until recall is what it was before an absence; see `scheduler.planning.catch_up`. Pure."""
        from scheduler.planning.catch_up import catch_up

        return catch_up(self, at, minutes)

    def placement(self, at: datetime, minutes: float = 3.0) -> PlacementEstimate:
        """The most informative cards to ask a player who already knows much; see `PlacementEstimate`. Pure."""
        from scheduler.planning.placement import placement

        return placement(self, at, minutes)

    def copy(self, rules: TeachingRules | None = None) -> Planner:
        """A planner that learns on its own from here, by other rules if given, and leaves this one as it is."""
        other = copy.copy(self)
        other.set_rules(rules or self.rules)
        return other

    def __getstate__(self) -> dict[str, Any]:
        """What a copy takes over."""
        learner = self.learner.copy()
        return vars(self) | {"learner": learner, "_gains": self._in_step().copy_for(learner.memory)}
