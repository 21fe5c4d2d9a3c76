"""Many days of practice by one simulated player under one policy, and what became of the deck."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import numpy as np

from scheduler.card import CARD_KIND
from scheduler.evaluate.new_material import NewMaterial
from scheduler.evaluate.rivals import RIVALS, Clairvoyant, Rival
from scheduler.evaluate.sealed_players import SEALED
from scheduler.evaluate.simulated_deck import SimulatedDeck
from scheduler.evaluate.simulated_players import FAMILIES, OUTSIDE, SECOND_TRY, SimulatedPlayer
from scheduler.grade import Grade
from scheduler.memory.constants import Constants
from scheduler.planning.planner import Planner
from scheduler.planning.rules import TeachingRules
from scheduler.review import Review

__all__ = ["BLAME", "Case", "PlayOutcome", "play"]

_START = datetime(2024, 1, 1, 18, 0, tzinfo=UTC)
_SLIP_OF_COLUMN = ("shape", "root", "time", "time")
BLAME = {"shape": "form", "root": "root", "time": CARD_KIND}


@dataclass(frozen=True)
class Case:
    """One simulated player and the circumstances.

    sharing: 0 to 1. known: share of skills known at the start. skip: chance
    of missing a day. away: first and last day of an absence, or None.
    noise: chance of a grade one step off. flatter: chance that a grade is
    one step too kind.
    """

    family: str
    sharing: float
    seed: int
    qualities: int = 4
    sets: int = 3
    days: int = 40
    minutes: float = 10.0
    known: float = 0.0
    skip: float = 0.0
    away: tuple[int, int] | None = None
    noise: float = 0.0
    flatter: float = 0.0


@dataclass
class PlayOutcome:
    """What became of the deck.

    recall: whole-deck recall averaged over the days, each taken cold before
    that day's session. solid: share of cards at .8 or better on the last day.
    later: recall 14 days after stopping. clean: share of first tries clean
    from the second week. predicted, happened: one a review, in order.
    probed: of the planner, prediction and outcome of each cold probe.
    kept, yielded: of the planner, how often each weighed rule preferred some
    cards and the one played was among them or gave way to gain; yielded is
    counted by (rule, ``new`` or ``met``), by whether the card played had new skills.
    """

    recall: float
    solid: float
    later: float
    clean: float
    curve: list[float] = field(default_factory=list)
    predicted: list[float] = field(default_factory=list)
    happened: list[bool] = field(default_factory=list)
    reviews: list[Review] = field(default_factory=list)
    probed: list[tuple[float, bool]] = field(default_factory=list)
    kept: Counter[str] = field(default_factory=Counter)
    yielded: Counter[tuple[str, str]] = field(default_factory=Counter)


class _Ours:
    """The planner as a policy."""

    def __init__(
        self, deck: SimulatedDeck, seed: int, constants: Constants | None, rules: TeachingRules | None
    ) -> None:
        self.cards = deck.cards
        self.index = {card.id: i for i, card in enumerate(deck.cards)}
        rules = rules or TeachingRules(blame=BLAME, in_stage_order=False)
        self.planner = Planner(deck.cards, seed, (), rules, constants)

    def next(self, at: datetime, out: PlayOutcome) -> int | None:
        choice = self.planner.choice(at)
        if choice is None:
            return None
        out.kept.update(choice.kept)
        what = "new" if self.planner.new_skills(choice.card) else "met"
        out.yielded.update((rule, what) for rule in choice.yielded)
        return self.index[choice.card]

    def probe(self, rng: np.random.Generator) -> int | None:
        """Any card that brings nothing new, drawn by chance; None while there is none."""
        known = [row for row, card in enumerate(self.cards) if not self.planner.new_skills(card.id)]
        return int(rng.choice(known)) if known else None


def _grade(rng: np.random.Generator, chance: float, clean: bool, case: Case) -> Grade:
    """A grade of four steps, drawn from a logistic latent. It is clean exactly with `chance` before grading errors."""
    z = math.log(max(chance, 1e-6) / max(1.0 - chance, 1e-6))
    if clean:
        share = 1.0 / (1.0 + math.exp(min(40.0, 1.5 - z))) / max(chance, 1e-6)
        grade = Grade.IN_TIME if rng.random() < share else Grade.CLEAN
    else:
        share = 1.0 / (1.0 + math.exp(max(-40.0, min(40.0, z + 1.5)))) / max(1.0 - chance, 1e-6)
        grade = Grade.LOOKED if rng.random() < share else Grade.FOUND
    if case.noise and rng.random() < case.noise:
        grade = Grade(min(4, max(1, grade + (1 if rng.random() < 0.5 else -1))))
    if case.flatter and rng.random() < case.flatter:
        grade = Grade(min(4, grade + 1))
    return grade


def _player(case: Case, deck: SimulatedDeck) -> SimulatedPlayer:
    # Not hash(): it differs between runs.
    code = [case.seed, int(case.sharing * 100), *case.family.encode()]
    family = {**FAMILIES, **SECOND_TRY, **OUTSIDE, **SEALED}[case.family]
    return family(deck, np.random.default_rng(code), case.sharing, case.known)


def play(
    case: Case,
    policy: str,
    deck: SimulatedDeck,
    constants: Constants | None = None,
    rules: TeachingRules | None = None,
    slips: bool = True,
    keep_reviews: bool = False,
    limits: Mapping[str, int] | None = None,
    probe_share: float = 0.0,
) -> PlayOutcome:
    """Play a case under ``planner``, ``clairvoyant`` or a rival's name.

    rules: the planner's. limits: the most new skills a session by kind that a rival must hold; None for no limits.
    probe_share: the part of the planner's cards that are cold probes, drawn by chance among those that bring nothing
    new, 0 to 1; what the planner never asks is judged too, and the minutes count.
    """
    player = _player(case, deck)
    rng, lots = np.random.default_rng([case.seed, 77]), np.random.default_rng([case.seed, 78])
    ours: _Ours | None = None
    rival: Rival
    if policy == "planner":
        ours = _Ours(deck, case.seed, constants, rules)
    elif policy == "clairvoyant":
        rival = Clairvoyant(deck, case.seed, player)
    else:
        rival = RIVALS[policy](deck, case.seed)
    new_material = NewMaterial(deck, limits or {})
    curve, tries, hits = [], 0, 0
    out = PlayOutcome(0.0, 0.0, 0.0, 0.0)
    number = 0
    for day in range(case.days):
        at = day + rng.normal(0.0, 0.04)
        absent = case.away is not None and case.away[0] <= day <= case.away[1]
        curve.append(float(player.recalls(at).mean()))
        if absent or rng.random() < case.skip:
            continue
        new_material.begin()
        if ours:
            ours.planner.begin(f"day {day}", _START + timedelta(days=at))
        end = at + case.minutes / 1440.0
        while at < end:
            when = _START + timedelta(days=at)
            probe = ours.probe(lots) if ours and probe_share and lots.random() < probe_share else None
            if probe is not None:
                card: int | None = probe
            elif ours:
                card = ours.next(when, out)
            else:
                rival.closed = new_material.closed() if limits else frozenset()
                card = rival.next(at)
            if card is None:
                break
            chance = float(player.recalls(at)[card])
            clean = bool(rng.random() < chance)
            grade = _grade(rng, chance, clean, case)
            seconds = player.clean_seconds if clean else player.miss_seconds
            seconds *= math.exp(rng.normal(0.0, 0.25))
            if ours:
                spec = deck.cards[card]
                predicted = ours.planner.recall(spec.id, when)
                slip = None
                if slips and not grade.clean and rng.random() < 0.6:
                    values = player.values(at)[player.skill_of[card]]
                    slip = _SLIP_OF_COLUMN[int(np.argmin(values))]
                review = Review(
                    spec.id,
                    grade,
                    when,
                    5.0,
                    skills=spec.skills,
                    spent=seconds,
                    session=f"day {day}",
                    id=f"{number}",
                    slip=slip,
                    predicted=predicted,
                )
                ours.planner.record(review)
                out.predicted.append(predicted)
                out.happened.append(grade.clean)
                if probe is not None:
                    out.probed.append((predicted, grade.clean))
                if keep_reviews:
                    out.reviews.append(review)
            else:
                rival.record(card, grade.clean, at)
                new_material.record(card)
            player.practise(card, clean, at)
            number += 1
            if day >= 7:
                tries += 1
                hits += grade.clean
            at += seconds / 86400.0
    last = case.days
    final = player.recalls(float(last))
    out.curve = [*curve[1:], float(final.mean())]
    out.recall = float(np.mean(out.curve))
    out.solid = float((final >= 0.8).mean())
    out.later = float(player.recalls(last - 1.0 + 14.0).mean())
    out.clean = hits / max(tries, 1)
    return out
