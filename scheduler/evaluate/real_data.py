"""Prediction on real learners: a file given by path, constants fitted on some learners and judged on the others.

The file is a CSV, gzipped or not, with the columns learner, t_epoch_s, item, skill and outcome (correct, incorrect
or study), one row a trial. Two more are read where they are there: answer_word, the word that is asked, which is a
second skill of an item, and latency_start_ms, from the prompt to the first key. Nothing of the file is kept.
"""

from __future__ import annotations

import csv
import gzip
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from random import Random
from statistics import median
from typing import NamedTuple

import numpy as np

from scheduler.card import CARD_KIND
from scheduler.errors import ReviewError, RulesError
from scheduler.evaluate.counters import CountedTry, Counters, fit_logistic
from scheduler.evaluate.figures import Figures, Floats
from scheduler.evaluate.prediction import area_under_curve, bin_sums, bins_error, log_loss
from scheduler.grade import Grade
from scheduler.memory import Constants
from scheduler.memory.committee import Memory
from scheduler.memory.learner import days_of
from scheduler.memory.refit import EARLIER, fitted_names, scaled, search
from scheduler.statistics.counts import Z95

__all__ = ["RecordedTrial", "judge", "read_trials"]

_COLUMNS = ("learner", "t_epoch_s", "item", "skill", "outcome")
_HELD_OUT = 3
"""Every third learner, by number in order of appearance, is held out."""

_SEARCHED = 42
"""Training learners the search for constants looks at; the final numbers are of the held-out ones."""

_WIDE = (
    "first_half_lives_days", "unmet_recall", "growth", "player_variance", "difficulty_variance", "shrink",
    "slope_variance",
)  # fmt: skip
"""The constants fitted to a data set of many learners.

A prior that holds them near the usual would be wrong here: the usual ones are for a player who comes back each day,
and in the data most of what is forgotten is forgotten within an hour.
"""

_FACTORS = (4.0, 2.0)
_MOVES = 3
"""A constant is moved by each of these factors in turn while that helps, at most so often."""

_SURE = 1e-6
_STEADY = 3
"""Answers after which a learner's median time is believed."""


class RecordedTrial(NamedTuple):
    """One trial.

    right: None where the answer was only studied. skills: of the item, ``kind:name``, one of each kind.
    seconds: prompt to the first key, or None.
    """

    at: datetime
    item: str
    skills: tuple[str, ...]
    right: bool | None
    seconds: float | None = None


Trials = list[RecordedTrial]
SkillsOf = Callable[[RecordedTrial], tuple[str, ...]]


def read_trials(path: Path) -> dict[str, Trials]:
    """Trials by learner, in the order of the clock.

    Raises ReviewError for a missing column or a row that cannot be read.
    """
    found: dict[str, Trials] = defaultdict(list)
    opened = gzip.open if path.suffix == ".gz" else open
    with opened(path, "rt", encoding="utf-8", newline="") as file:
        rows = csv.DictReader(file)
        missing = set(_COLUMNS) - set(rows.fieldnames or ())
        if missing:
            raise ReviewError(f"{path}: expected the columns {', '.join(_COLUMNS)}, found no {sorted(missing)[0]!r}")
        for row in rows:
            outcome = row["outcome"]
            if outcome not in ("correct", "incorrect", "study"):
                raise ReviewError(
                    f"{path}, line {rows.line_num}, outcome: expected correct, incorrect or study, got {outcome!r}"
                )
            right = None if outcome == "study" else outcome == "correct"
            try:
                at = datetime.fromtimestamp(float(row["t_epoch_s"]), UTC)
            except (ValueError, TypeError, OverflowError, OSError):
                raise ReviewError(
                    f"{path}, line {rows.line_num}, t_epoch_s: expected seconds since 1970, got {row['t_epoch_s']!r}"
                ) from None
            skills = [f"sentence:{row['skill']}"]
            if row.get("answer_word"):
                skills.append(f"answer:{row['answer_word'].lower()}")
            found[row["learner"]].append(
                RecordedTrial(at, row["item"], tuple(skills), right, _seconds(row.get("latency_start_ms")))
            )
    return {learner: sorted(trials, key=lambda one: one.at) for learner, trials in found.items()}


def _seconds(text: str | None) -> float | None:
    """A time in milliseconds in seconds; None for one that is missing, not positive or unreadable."""
    try:
        seconds = float(text or 0.0) / 1000.0
    except ValueError:
        return None
    return seconds if 0.0 < seconds < 600.0 else None


def _all_skills(one: RecordedTrial) -> tuple[str, ...]:
    return one.skills


def _no_skills(one: RecordedTrial) -> tuple[str, ...]:
    return ()


def _shuffled(learners: Sequence[Trials]) -> SkillsOf:
    """The skills of another item, the same for everybody: as many skills, as often used, that say nothing."""
    of = {one.item: one.skills for trials in learners for one in trials}
    others = [of[item] for item in sorted(of)]
    Random(1).shuffle(others)
    instead = dict(zip(sorted(of), others, strict=True))
    return lambda one: instead[one.item]


def _foreseen(
    trials: Sequence[RecordedTrial], constants: Constants, skills_of: SkillsOf, quick_in_time: bool = False
) -> list[float]:
    """Recall as the memory foresaw every answered trial, each before it learned from it.

    quick_in_time: a right answer quicker than the learner's median so far counts as in time.
    """
    memory, predicted, usual = Memory(constants), [], list[float]()
    for one in trials:
        names, at_days = (*skills_of(one), f"{CARD_KIND}:{one.item}"), days_of(one.at)
        if one.right is None:
            memory.see(names, at_days)
            continue
        predicted.append(memory.recall(names, at_days))
        grade = Grade.CLEAN if one.right else Grade.LOOKED
        if one.right and one.seconds:
            if quick_in_time and len(usual) > _STEADY and one.seconds < median(usual):
                grade = Grade.IN_TIME
            usual.append(one.seconds)
        memory.learn(names, grade, at_days)
    return predicted


def _right(which: Sequence[Trials]) -> list[bool]:
    return [one.right for trials in which for one in trials if one.right is not None]


class _ItemDifficulty:
    """A slope on the memory's log odds and a difficulty for each item, learned from training learners."""

    def __init__(self, items: Mapping[str, int], train: Sequence[Trials], before: Sequence[float]) -> None:
        self.items = items
        self.weights = fit_logistic(self._rows(train, before), np.array(_right(train), dtype=float))

    def _rows(self, which: Sequence[Trials], p: Sequence[float]) -> Floats:
        x = np.zeros((len(p), 2 + len(self.items)))
        clipped = np.clip(np.asarray(p), 1e-4, 1.0 - 1e-4)
        x[:, 0], x[:, 1] = 1.0, np.log(clipped / (1.0 - clipped))
        places = [2 + self.items[o.item] for trials in which for o in trials if o.right is not None]
        x[np.arange(len(p)), places] = 1.0
        return x

    def corrected(self, which: Sequence[Trials], predicted: Sequence[float]) -> list[float]:
        """The predictions moved by what each item asks of everybody."""
        moved: list[float] = (1.0 / (1.0 + np.exp(-(self._rows(which, predicted) @ self.weights)))).tolist()
        return moved


class _Judged:
    """The learners of a data set in two parts, and what each way of predicting came to on those held out."""

    def __init__(self, learners: Sequence[Trials], quick: bool) -> None:
        self.held = list(learners[::_HELD_OUT])
        self.train = [trials for number, trials in enumerate(learners) if number % _HELD_OUT]
        if quick:
            self.held, self.train = self.held[:15], self.train[:30]
        self.happened = _right(self.held)
        self.items = {
            item: number for number, item in enumerate(sorted({one.item for each in learners for one in each}))
        }
        self.ways: dict[str, Figures] = {}
        self.losses: dict[str, list[float]] = {}
        tried: list[bool] = []
        for trials in self.held:
            met: set[str] = set()
            for one in trials:
                if one.right is not None:
                    tried.append(one.item in met)
                met.add(one.item)
        self.new = ~np.array(tried, dtype=bool)

    def foreseen(
        self, which: Sequence[Trials], constants: Constants, skills_of: SkillsOf, quick: bool = False
    ) -> list[float]:
        return [p for trials in which for p in _foreseen(trials, constants, skills_of, quick)]

    def add(self, name: str, predicted: Sequence[float]) -> None:
        """Keeps the figures of one way of predicting the held-out learners."""
        p, y = np.clip(np.asarray(predicted), _SURE, 1.0 - _SURE), np.array(self.happened)
        losses = -np.where(y, np.log(p), np.log1p(-p))
        self.ways[name] = {
            "log_loss": log_loss(predicted, self.happened),
            "auc": area_under_curve(predicted, self.happened),
            "error": bins_error(bin_sums(predicted, self.happened)),
            "new": float(losses[self.new].mean()),
            "tries": len(self.happened),
        }
        edges = np.cumsum([len(_right([trials])) for trials in self.held])[:-1]
        self.losses[name] = [float(part.mean()) for part in np.split(losses, edges) if len(part)]

    def gain(self, name: str, beside: str) -> Figures:
        """How much less log-loss one way has than another, with its 95 % range over learners."""
        differences = np.subtract(self.losses[beside], self.losses[name])
        return _ranged(f"{name}, beside {beside}", differences)

    def fitted(self, skills_of: SkillsOf) -> dict[str, float]:
        """The factors by which the constants foresee some training learners best, item difficulties fitted beside."""
        some = self.train[:: max(1, len(self.train) // _SEARCHED)]
        right = _right(some)

        def loss(factors: Mapping[str, float]) -> float:
            try:
                constants = scaled(Constants(), factors)
            except RulesError:
                return float("inf")
            before = self.foreseen(some, constants, skills_of)
            return log_loss(_ItemDifficulty(self.items, some, before).corrected(some, before), right)

        factors = dict.fromkeys(_WIDE, 1.0)
        best = loss(factors)
        for step in _FACTORS:
            for name in _WIDE:
                for way in (step, 1.0 / step):
                    moved = False
                    for _ in range(_MOVES):
                        trial = {**factors, name: factors[name] * way}
                        if (found := loss(trial)) >= best:
                            break
                        factors, best, moved = trial, found, True
                    if moved:
                        break
        return factors

    def with_difficulty(
        self, name: str, constants: Constants, skills_of: SkillsOf, quick: bool = False
    ) -> _ItemDifficulty:
        """Adds a way of predicting with item difficulties learned from the training learners."""
        difficulty = _ItemDifficulty(self.items, self.train, self.foreseen(self.train, constants, skills_of, quick))
        self.add(name, difficulty.corrected(self.held, self.foreseen(self.held, constants, skills_of, quick)))
        return difficulty

    def counted(self, name: str, gaps: bool, times: bool) -> None:
        """Adds the counting rival."""
        kinds = min((len(one.skills) for trials in self.held for one in trials), default=0)
        counters = Counters(len(self.items), kinds, gaps, times)

        def rows(which: Sequence[Trials]) -> tuple[Floats, Floats]:
            pairs = [
                counters.rows(
                    [
                        CountedTry(o.at.timestamp() / 60.0, self.items[o.item], o.skills, o.right, o.seconds)
                        for o in trials
                    ]
                )
                for trials in which
                if _right([trials])
            ]
            return np.concatenate([x for x, _ in pairs]), np.concatenate([y for _, y in pairs])

        weights = fit_logistic(*rows(self.train))
        self.add(name, (1.0 / (1.0 + np.exp(-(rows(self.held)[0] @ weights)))).tolist())

    def own_constants(self, constants: Constants, difficulty: _ItemDifficulty) -> Figures:
        """What a learner's own constants buy on later tries, fitted as a refit does on the earlier ones."""
        gains = []
        for trials in self.held:
            right = _right([trials])
            border = round(len(right) * EARLIER)
            if not 0 < border < len(right):
                continue

            # What comes later is foreseen in the same pass, and the search is not shown it.
            def losses(factors: Mapping[str, float], trials: Trials = trials, right: list[bool] = right) -> Floats:
                p = np.array(difficulty.corrected([trials], _foreseen(trials, scaled(constants, factors), _all_skills)))
                found: Floats = -np.log(np.where(right, p, 1.0 - p))
                return found

            def earlier(factors: Mapping[str, float], border: int = border) -> float:
                return float(losses(factors)[:border].sum())

            own = search(earlier, fitted_names())
            gains.append(float(losses({})[border:].mean() - losses(own)[border:].mean()))
        return _ranged("own constants, later tries, beside those of all", np.array(gains))


def _ranged(name: str, differences: Floats) -> Figures:
    reach = Z95 * float(np.std(differences)) / max(1, len(differences)) ** 0.5
    return {"name": name, "gain": float(np.mean(differences)), "reach": reach, "learners": len(differences)}


_USUAL, _FITTED, _WITH = "ours, usual constants", "ours, constants fitted", "ours, constants and item difficulty fitted"
_ALONE, _SHUFFLED = "item only, constants and item difficulty fitted", "the same with skills shuffled among the items"
_QUICK, _COUNTERS = "the same with quick answers counted as in time", "counters per item and skill, no time"
_GAPS, _TIMES = "counters and gaps", "counters, gaps and time to the first key"


def judge(path: Path, quick: bool = False) -> Figures:
    """Figures of each way to predict, on learners held out; quick: on a few of them, with the usual constants."""
    learners = list(read_trials(path).values())
    judged = _Judged(learners, quick)
    usual = Constants()
    judged.add(_USUAL, judged.foreseen(judged.held, usual, _all_skills))
    judged.counted(_COUNTERS, gaps=False, times=False)
    judged.counted(_GAPS, gaps=True, times=False)
    judged.counted(_TIMES, gaps=True, times=True)
    factors = {} if quick else judged.fitted(_all_skills)
    alone = {} if quick else judged.fitted(_no_skills)
    constants = scaled(usual, factors)
    judged.add(_FITTED, judged.foreseen(judged.held, constants, _all_skills))
    difficulty = judged.with_difficulty(_WITH, constants, _all_skills)
    judged.with_difficulty(_ALONE, scaled(usual, alone), _no_skills)
    judged.with_difficulty(_SHUFFLED, constants, _shuffled(learners))
    judged.with_difficulty(_QUICK, constants, _all_skills, quick=True)
    gains = [
        judged.gain(_WITH, _ALONE),
        judged.gain(_SHUFFLED, _ALONE),
        judged.gain(_QUICK, _WITH),
        judged.gain(_TIMES, _GAPS),
    ]
    if not quick:
        gains.append(judged.own_constants(constants, difficulty))
    return {
        "learners": len(learners), "held": len(judged.held), "factors": factors, "ways": judged.ways, "gains": gains,
    }  # fmt: skip
