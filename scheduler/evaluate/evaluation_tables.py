"""Makes the rows of the report from the results: means with their spread, the best rival, goals met or missed."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from scheduler.evaluate.figures import Figures
from scheduler.evaluate.jobs import SIZES, factor_of
from scheduler.evaluate.prediction import BINS, bins_error
from scheduler.evaluate.rivals import RIVALS
from scheduler.evaluate.simulate import Case
from scheduler.evaluate.simulated_players import FAMILIES

__all__ = ["Goal", "Plays", "TableRow", "goals", "markdown", "spread"]

MEASURES = ("recall", "solid", "later", "clean")

_RIVAL_GOAL, _MEAN_GOAL, _CLAIRVOYANT_GOAL = 0.98, 1.05, 0.95
_CLEAN_GOAL, _ERROR_GOAL, _MEMBER_GOAL = 0.65, 0.04, 0.01
_REAL_LOSS_GOAL, _REAL_AUC_GOAL = 0.53, 0.81
_SHARED_ENOUGH = 0.45


@dataclass(frozen=True, order=True)
class TableRow:
    """Players of one kind.

    cards: how many the deck has. factor: what is varied, ``""`` for nothing. family: of the simulated player.
    sharing: how much of a card lies in its shared skills, 0 to 1.
    """

    cards: int
    factor: str
    family: str
    sharing: float

    @property
    def label(self) -> str:
        """The row in words."""
        return f"{self.family}, {self.factor or f'sharing {self.sharing:g}'}"


@dataclass(frozen=True)
class Goal:
    """One goal: what was asked, what came of it, and whether it was met. met is None when nothing was run for it."""

    name: str
    asked: str
    came: str
    met: bool | None


def spread(values: Sequence[float]) -> tuple[float, float]:
    """The mean and the standard deviation of some values. The deviation of one value is 0."""
    mean = math.fsum(values) / len(values)
    if len(values) < 2:
        return mean, 0.0
    return mean, math.sqrt(math.fsum((one - mean) ** 2 for one in values) / (len(values) - 1))


def markdown(head: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """A table in Markdown."""
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    return "\n".join(lines + ["| " + " | ".join(map(str, row)) + " |" for row in rows]) + "\n"


class Plays:
    """All simulated plays, found by row, policy and variant.

    Of a run cut short a row holds only the seeds the planner has played, so that all policies meet the same players.
    """

    def __init__(self, results: Mapping[str, Figures]) -> None:
        self._found: dict[tuple[TableRow, str, str], dict[int, Figures]] = defaultdict(dict)
        sizes = {shape: cards for cards, shape in SIZES.items()}
        for one in results.values():
            if one["kind"] == "play":
                told: Figures = {k: tuple(v) if isinstance(v, list) else v for k, v in one["case"].items()}
                case = Case(**told)
                cards = sizes[case.qualities, case.sets]
                row = TableRow(cards, factor_of(case), case.family, case.sharing)
                self._found[row, one["policy"], one["variant"]][case.seed] = one["result"]
        for (row, policy, variant), seeds in self._found.items():
            if ours := self._found.get((row, "planner", "")):
                self._found[row, policy, variant] = {seed: one for seed, one in seeds.items() if seed in ours}

    def rows(self, cards: int = 144, factor: str = "", policy: str = "planner", variant: str = "") -> list[TableRow]:
        """The rows of a size and a factor, ordered by family, then by sharing with the largest first."""
        found = {
            row
            for row, which, what in self._found
            if (row.cards, row.factor, which, what) == (cards, factor, policy, variant)
        }
        return sorted(found, key=lambda row: (row.family not in FAMILIES, row.family, -row.sharing))

    def seeds(self, row: TableRow, policy: str = "planner", variant: str = "") -> dict[int, Figures]:
        """The results of a row by seed, empty when it was not run."""
        return self._found.get((row, policy, variant), {})

    def measure(
        self, row: TableRow, policy: str, name: str = "recall", variant: str = ""
    ) -> tuple[float, float] | None:
        """The mean and deviation of a measure over seeds, or None when the row was not run."""
        found = self.seeds(row, policy, variant)
        return spread([one[name] for one in found.values()]) if found else None

    def best_rival(self, row: TableRow) -> str | None:
        """The rival with the most recall on a row, or None when none was run. The clairvoyant is no rival."""
        run = {name: found[0] for name in RIVALS if (found := self.measure(row, name))}
        return max(run, key=run.__getitem__) if run else None

    def ratio(
        self, row: TableRow, other: str | None, variant: str = "", name: str = "recall"
    ) -> tuple[float, float] | None:
        """The planner's mean over that of another policy, and the standard error of the ratio.

        Only seeds that both have played count. None when there are none, or when the other's mean is 0.
        """
        ours, theirs = self.seeds(row, "planner", variant), self.seeds(row, other or "")
        both = sorted(set(ours) & set(theirs))
        if not both:
            return None
        a, b = [ours[s][name] for s in both], [theirs[s][name] for s in both]
        mean_a, mean_b = spread(a)[0], spread(b)[0]
        if mean_b <= 0.0:
            return None
        ratio = mean_a / mean_b
        # Seeds are paired, so the error of a ratio of means is that of the residuals.
        rest = spread([x - ratio * y for x, y in zip(a, b, strict=True)])[1]
        return ratio, rest / mean_b / math.sqrt(len(both))

    def bins(self, rows: Iterable[TableRow]) -> list[list[float]]:
        """The planner's calibration bins, added up over rows and seeds; see `prediction.bin_sums`."""
        total = np.zeros((BINS, 3))
        for row in rows:
            for one in self.seeds(row).values():
                if "prediction" in one:
                    total += one["prediction"]["bins"]
        return total.tolist()

    def losses(self, row: TableRow) -> tuple[float, str, float] | None:
        """The log-loss of the committee, the name of its best single member, and the log-loss of that one.

        Both are means over seeds, in nats. None where single members were not compared.
        """
        found = [one["prediction"] for one in self.seeds(row).values() if "members" in one.get("prediction", ())]
        if not found:
            return None
        ours = spread([one["log_loss"] for one in found])[0]
        members = {name: spread([one["members"][name] for one in found])[0] for name in found[0]["members"]}
        best = min(members, key=members.__getitem__)
        return ours, best, members[best]

    def predicted(self, row: TableRow) -> bool:
        """Says whether the planner's predictions on a row were judged."""
        return any("prediction" in one for one in self.seeds(row).values())


def goals(plays: Plays, results: Mapping[str, Figures]) -> list[Goal]:
    """Every goal of the evaluation with what came of it."""
    rows = [row for row in plays.rows() if row.family in FAMILIES]
    found = [_worst_row("recall over the best rival, every family and sharing", plays, rows, _RIVAL_GOAL)]
    found.append(_mean_over_families(plays, rows))
    shared = [row for row in rows if row.sharing >= _SHARED_ENOUGH]
    found.append(_worst_row("recall over the clairvoyant's, sharing .45 or more", plays, shared, _CLAIRVOYANT_GOAL,
                            "clairvoyant"))  # fmt: skip
    found.append(_clean(plays, rows))
    found += _prediction(plays, rows)
    found += _real(results)
    return found


def _worst_row(name: str, plays: Plays, rows: list[TableRow], least: float, other: str | None = None) -> Goal:
    ratios = {row: ratio for row in rows if (ratio := plays.ratio(row, other or plays.best_rival(row)))}
    if not ratios:
        return Goal(name, f">= {least:g}", "not run", None)
    worst = min(ratios, key=lambda row: ratios[row][0])
    short = [row.label for row in ratios if ratios[row][0] < least]
    came = f"{ratios[worst][0]:.3f} ± {ratios[worst][1]:.3f} ({worst.label})"
    if short:
        came += f"; missed in {len(short)} of {len(ratios)}: {'; '.join(short)}"
    return Goal(name, f">= {least:g}", came, not short)


def _mean_over_families(plays: Plays, rows: list[TableRow]) -> Goal:
    ratios = [ratio[0] for row in rows if (ratio := plays.ratio(row, plays.best_rival(row)))]
    name = "the same on average"
    if not ratios:
        return Goal(name, f">= {_MEAN_GOAL:g}", "not run", None)
    mean = spread(ratios)[0]
    # One row with a poor rival must not carry the others: the goal is held to the geometric mean, which is less.
    geometric = math.exp(spread([math.log(max(one, 1e-9)) for one in ratios])[0])
    came = f"{geometric:.3f} (geometric mean; arithmetic {mean:.3f})"
    return Goal(name, f">= {_MEAN_GOAL:g}", came, geometric >= _MEAN_GOAL)


def _clean(plays: Plays, rows: list[TableRow]) -> Goal:
    name = "first-try clean from the second week, where the clairvoyant reaches it"
    rates = {
        row: ours[0]
        for row in rows
        if (best := plays.measure(row, "clairvoyant", "clean"))
        and best[0] >= _CLEAN_GOAL
        and (ours := plays.measure(row, "planner", "clean"))
    }
    if not rates:
        return Goal(name, f">= {_CLEAN_GOAL:g}", "no row where it reaches it", None)
    worst = min(rates, key=rates.__getitem__)
    short = sum(rate < _CLEAN_GOAL for rate in rates.values())
    return Goal(name, f">= {_CLEAN_GOAL:g}", f"{rates[worst]:.3f} ({worst.label}); {len(rates) - short} of {len(rates)}"
                " rows reach it", not short)  # fmt: skip


def _prediction(plays: Plays, rows: list[TableRow]) -> list[Goal]:
    errors = {
        family: bins_error(plays.bins(row for row in rows if row.family == family))
        for family in FAMILIES
        if any(row.family == family and plays.predicted(row) for row in rows)
    }
    error_name = "calibration error after 200 reviews, every family"
    loss_name = "log-loss within .01 of the best single expert"
    if not errors:
        return [Goal(error_name, f"<= {_ERROR_GOAL:g}", "not run", None), Goal(loss_name, "<= .01", "not run", None)]
    worst = max(errors, key=errors.__getitem__)
    losses = {row: found for row in rows if (found := plays.losses(row))}
    error = Goal(error_name, f"<= {_ERROR_GOAL:g}", f"{errors[worst]:.3f} ({worst})", errors[worst] <= _ERROR_GOAL)
    if not losses:
        return [error, Goal(loss_name, f"<= {_MEMBER_GOAL:g}", "not run", None)]
    far = max(losses, key=lambda row: losses[row][0] - losses[row][2])
    over = losses[far][0] - losses[far][2]
    return [error, Goal(loss_name, f"<= {_MEMBER_GOAL:g}", f"{over:+.4f} ({far.label})", over <= _MEMBER_GOAL)]


def _real(results: Mapping[str, Figures]) -> list[Goal]:
    one = next((one["result"] for one in results.values() if one["kind"] == "real"), None)
    loss_name, auc_name = "real learners held out: log-loss", "real learners held out: AUC"
    if one is None:
        came = "no data path was given (--data), or its job is not done"
        return [Goal(loss_name, f"<= {_REAL_LOSS_GOAL:g}", came, None), Goal(auc_name, ">= .81", came, None)]
    # What an item asks of everybody is a constant like the others, and the published models it is held to have it too.
    ours, alone = one["ways"]["ours, constants and item difficulty fitted"], one["ways"]["ours, constants fitted"]
    return [
        Goal(loss_name, f"<= {_REAL_LOSS_GOAL:g}", f"{ours['log_loss']:.3f} with the items' difficulties, "
             f"{alone['log_loss']:.3f} without", ours["log_loss"] <= _REAL_LOSS_GOAL),
        Goal(auc_name, f">= {_REAL_AUC_GOAL:g}", f"{ours['auc']:.3f} with the items' difficulties, "
             f"{alone['auc']:.3f} without", ours["auc"] >= _REAL_AUC_GOAL),
    ]  # fmt: skip
