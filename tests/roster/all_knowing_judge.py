"""How many planted causes could be named at most: a judge who knows every chance, and each student's habit of naming.

    python -m tests.roster.all_knowing_judge SEED WITHOUT WITH

simulates so many students WITHOUT and WITH a cause and prints a table. The judge adds up how much likelier the tries
are under each cause of a kind that is planted (J. Neyman and E. S. Pearson 1933, Philosophical Transactions A 231, 289)
and names the likeliest when the sum is higher than it is for one student of 400 without a cause. He knows what nobody
knows: the share of clean tries with and without the cause, how often a slip is named and how often rightly, and the
student's habit. No rule that errs as seldom names more.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Sequence
from random import Random

from drills.progress.player_causes import CauseGroup, cause_groups
from scheduler.review import Review
from scheduler.statistics.causes import CLASS_ERROR, CLASS_SIZE
from tests.roster.planted_causes import DECKS, FITTING, HIGH, LOW, SLIPS, met_cards, practised

RIGHT = 0.8


def _habit(seed: int, kind: str, deck: str) -> dict[str, float]:
    """The student's habit of naming slips: the same draws in the same order as in `practised`."""
    rng = Random(seed)
    cards = {card.id: card for card in met_cards(rng, deck)}
    if kind:
        rng.choice(sorted({g for card in cards.values() for g in cause_groups(card.skills) if g[0] == kind}))
    for _ in cards:
        rng.gauss(0, 0)
    drawn = [rng.random() + 0.3 for _ in SLIPS]
    return {slip: one / sum(drawn) for slip, one in zip(SLIPS, drawn, strict=True)}


def _likelier(one: Review, fitting: Sequence[str], habit: dict[str, float]) -> float:
    """How much likelier a try is where it needs what is missing, a natural logarithm."""
    if one.grade.clean:
        return math.log(LOW / HIGH)
    if one.slip is None:
        return math.log((1 - LOW) / (1 - HIGH))
    caused = (HIGH - LOW) / (1 - LOW) * RIGHT
    there = caused * (one.slip in fitting) / len(fitting) + (1 - caused) * habit[one.slip]
    return math.log((1 - LOW) * there / ((1 - HIGH) * habit[one.slip]))


def judged(seed: int, kind: str, tries: int, deck: str) -> tuple[float, CauseGroup, CauseGroup | None]:
    """The strength of the sign, the likeliest cause, and what was planted."""
    reviews, planted = practised(seed, kind, tries, deck)
    habit = _habit(seed, kind, deck)
    scores: dict[CauseGroup, float] = {}
    for one in reviews:
        for group in cause_groups(one.skills):
            if group[0] in FITTING:
                scores[group] = scores.get(group, 0.0) + _likelier(one, FITTING[group[0]], habit)
    most = max(scores.values())
    return (
        most + math.log(sum(math.exp(s - most) for s in scores.values())),
        max(scores, key=scores.__getitem__),
        planted,
    )


def main(seed: int, without: int, planted: int) -> None:
    """Prints the table."""
    print("| met | planted | first tries | named right at most |\n|---|---|---|---|")
    for deck in DECKS:
        signs = sorted((judged(seed + n, "", 200, deck)[0] for n in range(without)), reverse=True)
        cut = signs[int(without * CLASS_ERROR / CLASS_SIZE)]
        for kind in FITTING:
            found = [judged(seed + without + n, kind, 200, deck) for n in range(planted)]
            right = sum(sign > cut and likeliest == there for sign, likeliest, there in found)
            print(f"| {deck} | {kind} | 200 | {100 * right / planted:.1f} |", flush=True)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
