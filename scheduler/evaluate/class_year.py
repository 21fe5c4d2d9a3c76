"""A teacher's class through a year: players of mixed families under the teaching rules, and what the rules came to.

The rules are those of a practice session of the program beside it: at most two new forms and four
new roots a session, look-alikes never first met on one day, a lesson before the first question, a miss asked again
after three others and the next day, no firm form or root left for more than 45 days.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np

from scheduler.card import kind_of
from scheduler.days.practice_day import AWAY_DAYS
from scheduler.evaluate.figures import Figures
from scheduler.evaluate.simulate import BLAME
from scheduler.evaluate.simulated_deck import SimulatedDeck, material
from scheduler.evaluate.simulated_players import FAMILIES, SimulatedPlayer
from scheduler.grade import Grade
from scheduler.memory.learner import days_of
from scheduler.memory.states import lasts_a_week
from scheduler.planning.planner import Planner
from scheduler.planning.rules import PREFERENCES, TeachingRules
from scheduler.review import Review

__all__ = ["YEAR_DAYS", "class_rules", "student_year"]

YEAR_DAYS = 365
MINUTES = 10.0
LESSON_SECONDS = 40.0
"""A lesson shows the answer, and it is done twice (common practice)."""

HOLIDAY_DAYS = 14
"""The students are away once a year, for a fortnight. An absence narrows the first session back to what was met."""

NEARLY = 0.01
"""Mean recall this close to what it was is what it was, all but one card in a hundred."""

_FLATTERING = {5, 12}
_SHARINGS = (0.9, 0.45, 0.0)
_START = datetime(2024, 1, 1, 18, 0, tzinfo=UTC)


def class_rules(deck: SimulatedDeck) -> TeachingRules:
    """The teaching rules for a deck.

    Qualities 0 and 2 look alike, and so do 1 and 3: they stand for maj7 and 7, and for m7 and m7b5.
    """
    forms = sorted({skill for card in deck.cards for skill in card.skills if kind_of(skill) == "form"})

    def alike(form: str) -> frozenset[str]:
        quality = int(form.removeprefix("form:q").split("-")[0])
        other = {0: 2, 2: 0, 1: 3, 3: 1}.get(quality)
        return frozenset(one for one in forms if one.startswith(f"form:q{other}-"))

    return replace(
        PREFERENCES,
        new_per_session={"form": 2, "root": 4},
        look_alikes={form: alike(form) for form in forms},
        blame=BLAME,
        longest_gap_kinds=("form", "root"),
    )


class _Year:
    """Plays one student's year, day by day."""

    def __init__(self, number: int, days: int, away_from: int | None) -> None:
        self.number = number
        self.deck = material()
        self.rng = np.random.default_rng([4, number])
        families = list(FAMILIES)
        self.family = families[number % len(families)]
        self.sharing = _SHARINGS[number // len(families) % len(_SHARINGS)]
        self.player: SimulatedPlayer = FAMILIES[self.family](
            self.deck, np.random.default_rng([5, number]), self.sharing
        )
        self.flatter = 0.3 if number in _FLATTERING else 0.0
        self.skip = float(self.rng.uniform(0.05, 0.35))
        self.days = days
        first = int(self.rng.integers(60, 300)) if away_from is None else away_from
        self.away = range(first, first + HOLIDAY_DAYS)
        self.rules = class_rules(self.deck)
        self.planner = Planner(self.deck.cards, number, (), self.rules)
        self.index = {card.id: row for row, card in enumerate(self.deck.cards)}
        self.found: Figures = {
            "number": number, "family": self.family, "sharing": self.sharing, "flatter": self.flatter,
            "skip": round(self.skip, 2), "away": [self.away[0], self.away[-1]],
            "new_forms": 0, "new_roots": 0, "longest_minutes": 0.0, "over_seconds": 0.0, "longest_gap_days": 0.0,
            "sessions": 0, "cards": 0, "look_alikes_one_day": 0,
        }  # fmt: skip
        self.true_curve: list[float] = []
        self.believed_curve: list[float] = []
        self.met_curve: list[int] = []
        self._back: Figures | None = None

    def when(self, at: float) -> datetime:
        """The moment that lies so many days after the start."""
        return _START + timedelta(days=at)

    def play(self) -> Figures:
        """Plays the whole year and returns its figures."""
        last_at = None
        for day in range(self.days):
            at = day + float(self.rng.normal(0.0, 0.04))
            self._note(at)
            self._look_back(at)
            if day in self.away or self.rng.random() < self.skip:
                continue
            self._session(day, at, last_at)
            last_at = at
        if self._back is not None:
            self.found["back"] = {key: value for key, value in self._back.items() if key != "cards"}
        self.found["curves"] = {
            "true": [round(one, 3) for one in self.true_curve],
            "believed": [round(one, 3) for one in self.believed_curve],
            "met": self.met_curve,
        }
        return self.found

    def _note(self, at: float) -> None:
        true = self.player.recalls(at)
        when = self.when(at)
        believed = [self.planner.recall(card.id, when) for card in self.deck.cards]
        self.true_curve.append(float(true.mean()))
        self.believed_curve.append(math.fsum(believed) / len(believed))
        self.met_curve.append(sum(not self.planner.unmet(card.id) for card in self.deck.cards))

    def _means(self, at: float, cards: list[str]) -> tuple[float, float]:
        """(true, believed) mean recall of some cards."""
        true = self.player.recalls(at)[[self.index[card] for card in cards]]
        when = self.when(at)
        return float(true.mean()), math.fsum(self.planner.recall(card, when) for card in cards) / len(cards)

    def _look_back(self, at: float) -> None:
        """Records, after a fortnight away, the first session before which recall is what it was.

        It is asked cold, of the player's true recall and of the recall that the memory believes.
        """
        back = self._back
        if back is None or not back["sessions"] or None not in (back["true"], back["believed"]):
            return
        true, believed = self._means(at, back["cards"])
        before = back["before"]
        reached = {
            "true": true >= before["true"],
            "nearly": true >= before["true"] - NEARLY,
            "believed": believed >= before["believed"],
        }
        for name, there in reached.items():
            if there and back[name] is None:
                back[name] = back["sessions"]

    def _session(self, day: int, at: float, last_at: float | None) -> None:
        planner, rules = self.planner, self.rules
        begun = at
        planner.begin(f"day {day}", self.when(at))
        if last_at is not None and at - last_at >= AWAY_DAYS:
            self._return(at, last_at)
        self._gaps(at)
        known = planner.met_skills
        end = at + MINUTES / 1440.0
        count, longest_card = 0, 0.0
        while at < end:
            card_id = planner.next(self.when(at))
            if card_id is None:
                break
            spent = self._card(card_id, at, day)
            longest_card = max(longest_card, spent)
            at += spent / 86400.0
            count += 1
        new = planner.met_skills - known
        planner.set_rules(rules)
        found = self.found
        for kind in ("form", "root"):
            many = sum(kind_of(skill) == kind for skill in new)
            found[f"new_{kind}s"] = max(found[f"new_{kind}s"], many)
        fresh = {skill for skill in new if kind_of(skill) == "form"}
        found["look_alikes_one_day"] += sum(len(fresh & rules.look_alikes[skill]) for skill in fresh) // 2
        found["longest_minutes"] = max(found["longest_minutes"], (at - begun) * 1440.0)
        found["over_seconds"] = max(found["over_seconds"], (at - begun) * 86400.0 - MINUTES * 60.0 - longest_card)
        found["sessions"] += 1
        found["cards"] += count
        if self._back is not None:
            self._back["sessions"] += 1

    def _return(self, at: float, last_at: float) -> None:
        """Takes the estimate after days away, and narrows the session to the cards that were met."""
        planner = self.planner
        met = [card.id for card in self.deck.cards if not planner.unmet(card.id)]
        if self._back is None and self.away[0] <= at:
            # What it was: cold, a day after the last session; nothing has been played since.
            true, believed = self._means(last_at + 1.0, met)
            told = planner.catch_up(self.when(at), MINUTES)
            self._back = {
                "cards": met, "before": {"true": true, "believed": believed}, "sessions": 0, "nearly": None,
                "estimate": told.sessions, "within": told.within, "true": None, "believed": None,
            }  # fmt: skip
        planner.set_rules(replace(self.rules, focus=frozenset(met)))

    def _card(self, card_id: str, at: float, day: int) -> float:
        """Plays one card as a lesson or a question. Returns the seconds from prompt to prompt."""
        planner, player, rng = self.planner, self.player, self.rng
        row = self.index[card_id]
        spec = self.deck.cards[row]
        when = self.when(at)
        if any(kind_of(skill) in ("form", "root") for skill in planner.new_skills(card_id)):
            planner.record(Review(
                card_id, Grade.CLEAN, when, 5.0, "repeat", spec.skills, session=f"day {day}", id=f"{at}"
            ))  # fmt: skip
            player.practise(row, True, at)
            return LESSON_SECONDS
        chance = float(player.recalls(at)[row])
        clean = bool(rng.random() < chance)
        grade = Grade.CLEAN if clean else (Grade.LOOKED if rng.random() < 0.7 else Grade.FOUND)
        if self.flatter and rng.random() < self.flatter:
            grade = Grade(min(4, grade + 1))
        seconds: float = (player.clean_seconds if clean else player.miss_seconds) * math.exp(rng.normal(0.0, 0.25))
        planner.record(Review(
            card_id, grade, when, 5.0, skills=spec.skills, spent=seconds, session=f"day {day}", id=f"{at}"
        ))  # fmt: skip
        player.practise(row, clean, at)
        return seconds

    def _gaps(self, at: float) -> None:
        """Records the longest time that any firm form or root went without practice. Days away are not counted."""
        memory, now = self.planner.memory, days_of(self.when(at))
        for skill, kept in memory.skills.items():
            if kind_of(skill) not in ("form", "root"):
                continue
            last = at - (now - kept.last_days)
            away = sum(last < day < at for day in self.away)
            gap = at - last - away
            if gap > self.found["longest_gap_days"] and lasts_a_week(memory, skill):
                self.found["longest_gap_days"] = gap


def student_year(number: int, quick: bool = False, days: int | None = None, away_from: int | None = None) -> Figures:
    """The year of student `number` (0 to 19), in figures and day by day.

    quick: eight weeks, a fortnight of them away. days, away_from: another length, and first day away.
    """
    if quick:
        days, away_from = days or 56, away_from or 21
    return _Year(number, days or YEAR_DAYS, away_from).play()
