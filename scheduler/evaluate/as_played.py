"""``python -m scheduler.evaluate.as_played`` judges what is played: session rules on, rivals under the same limits.

The planner goes by the weights and limits of a practice session. Rivals and a clairvoyant hold the same limits on
new forms and roots; the rivals are played without limits too. Each rule's price is the recall without its weight.
"""

from __future__ import annotations

import json
import math
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import click
import numpy as np

from scheduler.evaluate.ablations import ABLATIONS, CHOOSING, without
from scheduler.evaluate.class_year import class_rules
from scheduler.evaluate.figures import Figures
from scheduler.evaluate.rivals import RIVALS
from scheduler.evaluate.sealed_players import SEALED
from scheduler.evaluate.simulate import Case, play
from scheduler.evaluate.simulated_deck import SimulatedDeck, material
from scheduler.evaluate.simulated_players import FAMILIES, SECOND_TRY
from scheduler.planning.rules import TeachingRules
from scheduler.statistics.counts import Z95

__all__ = ["PLAYED_ROWS", "SEALED_ROWS", "KeptPlays", "free", "main", "played_policies", "weights_off"]

_SHARINGS = (0.9, 0.45, 0.0)
_RIVALS = (*RIVALS, "clairvoyant")
_WEIGHTS = (
    "order_weight", "again_weight", "return_weight", "look_alike_weight", "apart_weight", "area_weight", "gap_weight",
    "begin_weight",
)  # fmt: skip

_PARTS = (*CHOOSING, *ABLATIONS)

PLAYED_ROWS = (
    *((family, sharing) for family in FAMILIES for sharing in _SHARINGS),
    *((family, 0.45) for family in SECOND_TRY),
)
"""The players by family and sharing."""

SEALED_ROWS = tuple((family, sharing) for family in SEALED for sharing in _SHARINGS)
"""Players whom no constant was chosen on."""


def weights_off(rules: TeachingRules, names: Sequence[str] = _WEIGHTS) -> TeachingRules:
    """The same rules with some weights, or all of them, at 0."""
    return replace(rules, **dict.fromkeys(names, 0.0))  # type: ignore[arg-type]  # the names are of fields that are floats


def free(rival: str) -> str:
    """The name of a rival that holds no limits on what is new."""
    return f"{rival}, no limits"


def played_policies(deck: SimulatedDeck) -> dict[str, Callable[[Case], Figures]]:
    """What plays a case, by name: the planner with its weights and without, or without a part; rivals; the clairvoyant.

    Figures hold ``recall`` of the whole deck; the planner's also ``kept`` and ``yielded``, how often each rule was kept
    and gave way, the latter by ``rule/new`` or ``rule/met`` for what it gave way to.
    """
    rules = class_rules(deck)

    def planner(own: TeachingRules | None) -> Callable[[Case], Figures]:
        def run(case: Case) -> Figures:
            out = play(case, "planner", deck, rules=own)
            yielded = {f"{rule}/{what}": count for (rule, what), count in out.yielded.items()}
            return {"recall": out.recall, "kept": dict(out.kept), "yielded": yielded}

        return run

    def ablated(name: str) -> Callable[[Case], Figures]:
        def run(case: Case) -> Figures:
            with without(name) as constants:
                out = play(case, "planner", deck, constants, rules, slips=name != "no slips")
            return {"recall": out.recall}

        return run

    def rival(name: str, limited: bool) -> Callable[[Case], Figures]:
        limits = rules.new_per_session if limited else None
        return lambda case: {"recall": play(case, name, deck, limits=limits).recall}

    found = {"planner": planner(rules), "without weights": planner(weights_off(rules))}
    found |= {f"without {name}": planner(weights_off(rules, [name])) for name in _WEIGHTS}
    found |= {name: ablated(name) for name in _PARTS}
    found |= {name: rival(name, True) for name in _RIVALS}
    return found | {free(name): rival(name, False) for name in _RIVALS} | {free("planner"): planner(None)}


class KeptPlays:
    """Plays cases once each, and keeps the figures in a file, so that a run that was ended goes on where it stopped.

    path: a file of JSON lines, or None to keep nothing beyond this run. Plays of another planner need another file.
    """

    def __init__(self, deck: SimulatedDeck, path: Path | None = None) -> None:
        self._policies = played_policies(deck)
        self._path = path
        self._done: dict[str, Figures] = {}
        if path is not None and path.exists():
            for line in path.read_text(encoding="utf-8").splitlines():
                entry = json.loads(line)
                self._done[entry["key"]] = entry["figures"]

    def figures(self, case: Case, name: str, play_now: bool = True) -> Figures | None:
        """The figures of a policy of `played_policies`; None where it was not played and shall not be now."""
        key = f"{case.family}/{case.sharing:g}/{case.seed}/{case.days}/{name}"
        if key not in self._done and play_now:
            self._done[key] = self._policies[name](case)
            if self._path is not None:
                with self._path.open("a", encoding="utf-8") as file:
                    file.write(json.dumps({"key": key, "figures": self._done[key]}) + "\n")
        return self._done.get(key)


def _interval(differences: Sequence[float]) -> str:
    mean = float(np.mean(differences))
    if len(differences) < 2:
        return f"{mean:+.3f}"
    reach = Z95 * float(np.std(differences, ddof=1)) / math.sqrt(len(differences))
    return f"{mean:+.3f} ± {reach:.3f}"


class _Row:
    """The recalls of one family and sharing, by policy and seed; only seeds at which all policies asked for played."""

    def __init__(self, plays: KeptPlays, cases: Sequence[Case], names: Sequence[str], play_now: bool) -> None:
        self.name = f"{cases[0].family} | {cases[0].sharing:g}"
        found = [{name: plays.figures(case, name, play_now) for name in names} for case in cases]
        self.figures: list[dict[str, Figures]] = []
        for one in found:
            whole = {name: figures for name, figures in one.items() if figures is not None}
            if len(whole) == len(names):
                self.figures.append(whole)

    def recalls(self, name: str) -> list[float]:
        return [one[name]["recall"] for one in self.figures]

    def mean(self, name: str) -> float:
        return float(np.mean(self.recalls(name)))

    def best(self, names: Sequence[str]) -> str:
        return max(names, key=self.mean)

    def less(self, name: str, other: str) -> str:
        """How much the recall of one exceeds the other's, with its interval over the seeds."""
        return _interval([a - b for a, b in zip(self.recalls(name), self.recalls(other), strict=True)])


def _standing(rows: Sequence[_Row], named: Callable[[str], str] = str) -> list[str]:
    """The planner beside the best rival and the clairvoyant; `named` makes the names of the policies compared."""
    lines = ["| family | sharing | seeds | planner | best rival | ratio | difference | clairvoyant |", "|" + "---|" * 8]
    ratios, ours = [], named("planner")
    for row in rows:
        best = row.best([named(name) for name in RIVALS])
        ratios.append(row.mean(ours) / row.mean(best))
        lines.append(
            f"| {row.name} | {len(row.figures)} | {row.mean(ours):.3f} | {row.mean(best):.3f} "
            f"({best.partition(',')[0]}) "
            f"| {ratios[-1]:.3f} | {row.less(ours, best)} | {row.mean(named('clairvoyant')):.3f} |"
        )
    if ratios:
        mean = math.exp(float(np.mean(np.log(ratios))))
        lines.append(f"\nGeometric mean of the ratios {mean:.3f}, lowest {min(ratios):.3f}.\n")
    return lines


def _prices(rows: Sequence[_Row], names: Sequence[str]) -> list[str]:
    lines = ["", f"| family | sharing | {' | '.join(names)} |", "|" + "---|" * (len(names) + 2)]
    return [*lines, *(f"| {row.name} | {' | '.join(row.less(name, 'planner') for name in names)} |" for row in rows)]


def _gave_way(rows: Sequence[_Row]) -> list[str]:
    kept: Counter[str] = Counter()
    yielded: Counter[str] = Counter()
    for row in rows:
        for one in row.figures:
            kept.update(one["planner"]["kept"])
            yielded.update(one["planner"]["yielded"])
    lines = ["", "| rule | kept | gave way to new material | gave way to what was met |", "|---|---|---|---|"]
    for rule in sorted({*kept, *(name.partition("/")[0] for name in yielded)}):
        lines.append(f"| {rule} | {kept[rule]} | {yielded[f'{rule}/new']} | {yielded[f'{rule}/met']} |")
    return lines


@click.command("python -m scheduler.evaluate.as_played", context_settings={"help_option_names": ["-h", "--help"]})
@click.option("--seeds", default="300,301,302,303", show_default=True, help="Seeds of the players, with commas.")
@click.option("--days", type=click.IntRange(2, 365), default=40, show_default=True)
@click.option("--sealed", is_flag=True, help="The families whom no constant was chosen on, in place of the others.")
@click.option("--row", default="", help="Only families whose name begins so.")
@click.option(
    "--keep", type=click.Path(path_type=Path, dir_okay=False), help="File of plays; those in it are not played again."
)
@click.option(
    "--part",
    type=click.Choice(["all", "standing", "free", "rivals", "parts", "report"]),
    default="all",
    show_default=True,
    help="standing: no prices; free: the planner without rules beside rivals without limits; rivals: play only those; "
    "parts: the planner without one part at a time, beside the whole; "
    "report: play nothing, tell what is kept.",
)
def main(seeds: str, days: int, sealed: bool, row: str, keep: Path | None, part: str) -> None:
    """Recall of the whole deck of 144 cards, the price of each rule, and how often each rule gave way."""
    plays = KeptPlays(material(), keep)
    numbers = [int(seed) for seed in seeds.split(",")]
    limited, unlimited = ["planner", *_RIVALS], [free(name) for name in ("planner", *_RIVALS)]
    priced = [*(f"without {weight}" for weight in _WEIGHTS), "without weights"]
    rows = SEALED_ROWS if sealed else PLAYED_ROWS
    wanted = [(family, sharing) for family, sharing in rows if family.startswith(row)]
    cases = [[Case(family, sharing, seed, days=days) for seed in numbers] for family, sharing in wanted]
    if part == "rivals":
        # Seed by seed, so that a run ended early has whole seeds for every row.
        for seed in range(len(numbers)):
            for of_row in cases:
                for name in (*limited[1:], *unlimited[1:]):
                    plays.figures(of_row[seed], name)
        return
    if part == "parts":
        found = [one for of_row in cases if (one := _Row(plays, of_row, ["planner", *_PARTS], play_now=True)).figures]
        click.echo("\n".join(_prices(found, _PARTS)))
        return
    now = part != "report"
    standing = [one for of_row in cases if (one := _Row(plays, of_row, limited, now and part != "free")).figures]
    if part != "free":
        click.echo("\n".join(_standing(standing)))
    alone = [one for of_row in cases if (one := _Row(plays, of_row, unlimited, part in ("all", "free"))).figures]
    if alone and part != "standing":
        click.echo("\n".join(["Without rules or limits:", "", *_standing(alone, free)]))
    if part == "free":
        return
    if not now:
        played = [case for of_row in cases for case in of_row if plays.figures(case, "planner", play_now=False)]
        priced = [name for name in priced if all(plays.figures(case, name, play_now=False) for case in played)]
    if part != "standing" and priced:
        paid = [one for of_row in cases if (one := _Row(plays, of_row, ["planner", *priced], now)).figures]
        click.echo("\n".join(_prices(paid, priced)))
    click.echo("\n".join(_gave_way(standing)))


if __name__ == "__main__":
    main()
