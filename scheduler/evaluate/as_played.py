"""``python -m scheduler.evaluate.as_played`` judges what is played: session rules on, rivals under the same limits.

The planner goes by the weights and limits of a practice session. Rivals and a clairvoyant hold the same limits on
new forms and roots. Each rule's price is the recall without its weight.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace

import click
import numpy as np

from scheduler.evaluate.class_year import class_rules
from scheduler.evaluate.rivals import RIVALS
from scheduler.evaluate.simulate import Case, play
from scheduler.evaluate.simulated_deck import SimulatedDeck, material
from scheduler.evaluate.simulated_players import FAMILIES, SECOND_TRY
from scheduler.planning.rules import TeachingRules
from scheduler.statistics.counts import Z95

__all__ = ["PLAYED_ROWS", "main", "played_row", "weights_off"]

_SHARINGS = (0.9, 0.45, 0.0)
_WEIGHTS = ("order_weight", "again_weight", "return_weight", "look_alike_weight", "apart_weight", "gap_weight")

PLAYED_ROWS = (
    *((family, sharing) for family in FAMILIES for sharing in _SHARINGS),
    *((family, 0.45) for family in SECOND_TRY),
)
"""The players by family and sharing."""


def weights_off(rules: TeachingRules, names: Sequence[str] = _WEIGHTS) -> TeachingRules:
    """The same rules with some weights, or all of them, at 0."""
    return replace(rules, **dict.fromkeys(names, 0.0))  # type: ignore[arg-type]  # the names are of fields that are floats


def played_row(
    case_of: Callable[[int], Case], seeds: Sequence[int], deck: SimulatedDeck
) -> tuple[dict[str, list[float]], Counter[str], Counter[tuple[str, str]]]:
    """Recall of the whole deck, by policy, one for each seed; how often each rule was kept, and gave way to what."""
    rules = class_rules(deck)
    found: dict[str, list[float]] = {}
    kept: Counter[str] = Counter()
    yielded: Counter[tuple[str, str]] = Counter()
    planners = {"planner": rules, "without weights": weights_off(rules)}
    planners |= {f"without {name}": weights_off(rules, [name]) for name in _WEIGHTS}
    for seed in seeds:
        case = case_of(seed)
        for name, own in planners.items():
            out = play(case, "planner", deck, rules=own)
            found.setdefault(name, []).append(out.recall)
            if name == "planner":
                kept.update(out.kept)
                yielded.update(out.yielded)
        for name in (*RIVALS, "clairvoyant"):
            out = play(case, name, deck, limits=rules.new_per_session)
            found.setdefault(name, []).append(out.recall)
    return found, kept, yielded


def _interval(differences: Sequence[float]) -> str:
    mean = float(np.mean(differences))
    if len(differences) < 2:
        return f"{mean:+.3f}"
    reach = Z95 * float(np.std(differences, ddof=1)) / math.sqrt(len(differences))
    return f"{mean:+.3f} ± {reach:.3f}"


@click.command("python -m scheduler.evaluate.as_played", context_settings={"help_option_names": ["-h", "--help"]})
@click.option("--seeds", default="300,301,302,303", show_default=True, help="Seeds of the players, with commas.")
@click.option("--days", type=click.IntRange(2, 365), default=40, show_default=True)
@click.option("--row", default="", help="Only families whose name begins so.")
def main(seeds: str, days: int, row: str) -> None:
    """Recall of the whole deck of 144 cards, the price of each rule, and how often each rule gave way."""
    deck = material()
    numbers = [int(seed) for seed in seeds.split(",")]
    click.echo(
        "| family | sharing | planner | best rival | ratio | clairvoyant | without: " + ", ".join(_WEIGHTS) + ", all |"
    )
    click.echo("|---|---|---|---|---|---|---|")
    kept: Counter[str] = Counter()
    yielded: Counter[tuple[str, str]] = Counter()
    for family, sharing in PLAYED_ROWS:
        if not family.startswith(row):
            continue

        def case_of(seed: int, family: str = family, sharing: float = sharing) -> Case:
            return Case(family, sharing, seed, days=days)

        found, its_kept, its_yielded = played_row(case_of, numbers, deck)
        kept.update(its_kept)
        yielded.update(its_yielded)
        means = {name: float(np.mean(values)) for name, values in found.items()}
        best = max(RIVALS, key=lambda name: means[name])
        prices = [
            _interval([other - ours for other, ours in zip(found[name], found["planner"], strict=True)])
            for name in (*(f"without {weight}" for weight in _WEIGHTS), "without weights")
        ]
        click.echo(
            f"| {family} | {sharing:g} | {means['planner']:.3f} | {means[best]:.3f} ({best}) "
            f"| {means['planner'] / means[best]:.3f} | {means['clairvoyant']:.3f} | {', '.join(prices)} |"
        )
    click.echo("\n| rule | kept | gave way to new material | gave way to what was met |\n|---|---|---|---|")
    for rule in sorted({*kept, *(name for name, _ in yielded)}):
        click.echo(f"| {rule} | {kept[rule]} | {yielded[rule, 'new']} | {yielded[rule, 'met']} |")


if __name__ == "__main__":
    main()
