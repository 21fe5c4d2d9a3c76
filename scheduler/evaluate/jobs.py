"""The jobs of the evaluation. Each is small, has a name and a seed, and runs by itself on any core."""

from __future__ import annotations

import hashlib
from dataclasses import asdict, dataclass, fields, replace
from functools import cache
from pathlib import Path
from typing import Any

from scheduler.evaluate.figures import Figures
from scheduler.evaluate.rivals import RIVALS
from scheduler.evaluate.simulate import Case
from scheduler.evaluate.simulated_players import FAMILIES, OUTSIDE

__all__ = ["BASE_SHARINGS", "FACTORS", "Job", "Plan", "all_jobs", "code_of", "factor_of"]

BASE_SHARINGS = (0.9, 0.45, 0.0)
_USUAL_SHARING = 0.45

FACTORS: dict[str, dict[str, Any]] = {
    "": {},
    "some known": {"known": 0.3},
    "a missed day in five": {"skip": 0.2},
    "a fortnight away": {"away": (14, 27)},
    "noisy grades": {"noise": 0.2},
    "flattering grades": {"flatter": 0.3},
}
"""What is varied one at a time, at a sharing of .45."""

SIZES = {144: (4, 3), 504: (14, 3), 1008: (14, 6)}
"""Cards in a deck -> (qualities, sets), see `material`."""

_QUICK_DAYS = 14

_SEEDS_OF_MEMBERS = 2
"""Single members are compared on so few seeds and on decks of 144: each learns every review again."""

_STUDENTS = 20
"""In the class whose year is played."""


@dataclass(frozen=True)
class Job:
    """One piece of work.

    kind: play, real, class, speed or laws. key: its name, by which a finished
    job is known when a run is taken up again. case, policy, variant: for a
    play. number: for the others, which one. path: of the real data. members: whether each member of the committee is
    judged by itself on what the planner played, which takes as long as many plays.
    """

    kind: str
    key: str
    case: Case | None = None
    policy: str = ""
    variant: str = ""
    number: int = 0
    path: str = ""
    quick: bool = False
    members: bool = False

    @property
    def about(self) -> Figures:
        """The job in plain values, for the file of results."""
        found: Figures = {"kind": self.kind, "policy": self.policy, "variant": self.variant, "number": self.number}
        return found | ({"case": asdict(self.case)} if self.case else {})


@dataclass(frozen=True)
class Plan:
    """How much is run.

    quick: fourteen days and one seed only. seeds: how many, for decks of 144. data: the path of the real data,
    ``""`` for none. first_seed: of the seeds, which count up from it.
    """

    quick: bool = False
    seeds: int = 10
    data: str = ""
    first_seed: int = 0

    def first(self, count: int) -> range:
        """The first so many of the seeds, or all where there are fewer."""
        return range(self.first_seed, self.first_seed + min(count, self.seeds))


def factor_of(case: Case) -> str:
    """The name of what a case varies, ``""`` when it varies nothing. Raises ValueError for an unknown variation."""
    plain = Case(case.family, case.sharing, case.seed)
    for name, changes in FACTORS.items():
        wanted = replace(plain, **changes)
        if all(getattr(case, f) == getattr(wanted, f) for f in ("known", "skip", "away", "noise", "flatter")):
            return name
    raise ValueError(f"case {case!r}: expected one of the factors {', '.join(FACTORS)}, got another")


def _play(case: Case, policy: str, variant: str = "", members: bool = False) -> Job:
    values = "/".join(str(getattr(case, f.name)) for f in fields(case))
    return Job("play", f"play/{policy}/{variant}/{values}", case, policy, variant, members=members)


def all_jobs(plan: Plan) -> list[Job]:
    """Every job of a plan. The most important come first, so that a run cut short still says most."""
    policies = ["planner", "clairvoyant", *RIVALS]
    jobs: list[Job] = []
    if plan.quick:
        for family in FAMILIES:
            case = Case(family, _USUAL_SHARING, plan.first_seed, days=_QUICK_DAYS)
            jobs += [_play(case, policy) for policy in policies]
        jobs.append(Job("laws", "laws"))
        jobs.append(Job("class", "class/2/quick", number=2, quick=True))
        jobs.append(Job("speed", "speed/144/quick", number=144, quick=True))
        if plan.data:
            jobs.append(Job("real", f"real/quick/{plan.data}", path=plan.data, quick=True))
        return jobs
    base = [(family, sharing) for family in FAMILIES for sharing in BASE_SHARINGS]
    outside = [(family, sharing) for family in OUTSIDE for sharing in BASE_SHARINGS]
    jobs += [Job("speed", f"speed/{size}", number=size) for size in (144, 1008, 10080)]  # while the machine is quiet
    jobs.append(Job("laws", "laws"))
    if plan.data:
        jobs.append(Job("real", f"real/{plan.data}", path=plan.data))
    for seed in plan.first(plan.seeds):
        for family, sharing in base + outside:
            alone = seed in plan.first(_SEEDS_OF_MEMBERS)
            jobs += [_play(Case(family, sharing, seed), policy, members=alone) for policy in policies]
    jobs += _ablations(base, plan)
    for seed in plan.first(plan.seeds):
        for name, changes in FACTORS.items():
            if name:
                for family in FAMILIES:
                    case = replace(Case(family, _USUAL_SHARING, seed), **changes)
                    alone = seed in plan.first(_SEEDS_OF_MEMBERS)
                    jobs += [_play(case, policy, members=alone) for policy in policies if policy != "clairvoyant"]
    jobs += [Job("class", f"class/{number}", number=number) for number in range(_STUDENTS)]
    for size in (504, 1008):
        qualities, sets = SIZES[size]
        for seed in plan.first(3):
            for family in FAMILIES:
                case = Case(family, _USUAL_SHARING, seed, qualities=qualities, sets=sets)
                jobs += [_play(case, policy) for policy in policies]
    return jobs


def _ablations(base: list[tuple[str, float]], plan: Plan) -> list[Job]:
    from scheduler.evaluate.ablations import ABLATIONS, single_experts

    jobs = [
        _play(Case(family, sharing, seed), "planner", name)
        for seed in plan.first(3)
        for name in ABLATIONS
        for family, sharing in base
    ]
    return jobs + [
        _play(Case(family, _USUAL_SHARING, seed), "planner", name)
        for seed in plan.first(_SEEDS_OF_MEMBERS)
        for name in single_experts()
        for family in FAMILIES
    ]


_WORLD = (
    "evaluate/simulated_deck.py",
    "evaluate/simulated_players.py",
    "evaluate/rivals.py",
    "evaluate/simulate.py",
)
_MIND = ("memory/*.py", "planning/*.py", "card.py", "grade.py", "review.py")
_OWN = {
    "play": ("evaluate/ablations.py", "evaluate/prediction.py"),
    "real": ("evaluate/real_data.py", "evaluate/counters.py", "evaluate/prediction.py"),
    "class": ("evaluate/class_year.py",),
    "speed": ("evaluate/speed.py",),
    "laws": ("evaluate/laws.py",),
}


def code_of(job: Job) -> str:
    """A digest of the source a job's result rests on: a finished job is run again when it has changed.

    Rivals and the clairvoyant never see the planner, so theirs outlive a change of it.
    """
    if job.kind == "play" and job.policy != "planner":
        return _digest(_WORLD)
    return _digest((*_WORLD, *_MIND, *_OWN[job.kind]))


@cache
def _digest(patterns: tuple[str, ...]) -> str:
    here = Path(__file__).parent.parent
    found = hashlib.blake2b(digest_size=8)
    for pattern in patterns:
        for path in sorted(here.glob(pattern)):
            if path.name not in _NOT_LEARNING:
                found.update(path.read_bytes())
    return found.hexdigest()


_NOT_LEARNING = {
    "baseline.py",
    "refit.py",
    "outlook.py",
    "reasons.py",
    "placement.py",
    "__init__.py",
}
"""Modules no simulated review passes through."""
