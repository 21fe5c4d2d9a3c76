"""``python -m scheduler.evaluate.believed`` tells how soon and how truly the memory foresees a player, as played.

The right member of the committee is the one that foresaw all of a player's tries best. Calibration is told of what the
planner asked and of cold probes, which are drawn by chance, so that what it never asks is judged too.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import click
import numpy as np

from scheduler.card import CARD_KIND
from scheduler.evaluate.as_played import PLAYED_ROWS
from scheduler.evaluate.class_year import class_rules
from scheduler.evaluate.prediction import WARM_UP, bin_sums, bins_error, log_loss
from scheduler.evaluate.simulate import BLAME, Case, play
from scheduler.evaluate.simulated_deck import SimulatedDeck, material
from scheduler.memory.learner import Learner, days_of
from scheduler.review import Review

__all__ = ["PlayerForetold", "foreseen", "leads_from", "main"]

PROBE_SHARE = 1.0 / 25.0
"""One card in twenty-five is a cold probe."""

_FEWEST_PROBES = 20
"""A calibration error of fewer probes would say more of chance than of the memory."""


class PlayerForetold(NamedTuple):
    """How one simulated player was foreseen.

    leads: tries until the right member is the heaviest and stays so, or None. speed_leads: tries until the
    heaviest member has the first half-life of the right one for good.
    asked, probed: calibration bins, see `bin_sums`. loss: log-loss in nats, after the warm-up. clean: share of first
    tries from the second week on that came clean.
    """

    leads: int | None
    speed_leads: int | None
    asked: list[list[float]]
    probed: list[list[float]]
    loss: float
    clean: float


def leads_from(leaders: Sequence[object], right: object) -> int | None:
    """How many tries passed until the leader was the right one and stayed so; None where it was not so at the end."""
    if not leaders or leaders[-1] != right:
        return None
    wrong = [number for number, leader in enumerate(leaders, start=1) if leader != right]
    return wrong[-1] if wrong else 0


def _leaders(reviews: Sequence[Review]) -> tuple[list[int], int, Learner]:
    """The heaviest member after each try, and the one whose predictions lost least."""
    learner = Learner(blame=BLAME)
    losses = np.zeros(len(learner.memory.experts))
    leaders = []
    for review in reviews:
        skills = (*review.skills, f"{CARD_KIND}:{review.card}")
        chances = np.clip(learner.memory.believed(skills, days_of(review.at))[1], 1e-6, 1.0 - 1e-6)
        losses -= np.log(chances if review.grade.clean else 1.0 - chances)
        learner.record(review)
        leaders.append(int(np.argmax(learner.memory.weights())))
    return leaders, int(np.argmin(losses)), learner


def foreseen(case: Case, deck: SimulatedDeck) -> PlayerForetold:
    """Plays a case by the rules of a session with cold probes, and tells how it was foreseen."""
    out = play(case, "planner", deck, rules=class_rules(deck), keep_reviews=True, probe_share=PROBE_SHARE)
    leaders, right, learner = _leaders(out.reviews)
    speeds = [expert.first_half_life_days for expert in learner.memory.experts]
    return PlayerForetold(
        leads_from(leaders, right),
        leads_from([speeds[leader] for leader in leaders], speeds[right]),
        bin_sums(out.predicted[WARM_UP:], out.happened[WARM_UP:]),
        bin_sums([one for one, _ in out.probed], [clean for _, clean in out.probed]),
        log_loss(out.predicted[WARM_UP:], out.happened[WARM_UP:]),
        out.clean,
    )


def _middle(counts: Sequence[int | None]) -> str:
    """The median of those there are, and how many there are not."""
    there = [count for count in counts if count is not None]
    never = len(counts) - len(there)
    return (f"{np.median(there):.0f}" if there else "-") + (f" ({never} of {len(counts)} never)" if never else "")


@click.command("python -m scheduler.evaluate.believed", context_settings={"help_option_names": ["-h", "--help"]})
@click.option("--seeds", default="300,301,302,303", show_default=True, help="Seeds of the players, with commas.")
@click.option("--days", type=click.IntRange(10, 365), default=40, show_default=True)
@click.option("--row", default="", help="Only families whose name begins so.")
def main(seeds: str, days: int, row: str) -> None:
    """How soon the right member leads, and how true predictions are, for each family of simulated players."""
    deck = material()
    click.echo(
        "| family | sharing | tries until the right member leads | until its first half-life does "
        "| calibration error, asked | probed | probes | log-loss | clean from the second week |\n" + "|" + "---|" * 9
    )
    for family, sharing in PLAYED_ROWS:
        if not family.startswith(row):
            continue
        told = [foreseen(Case(family, sharing, int(seed), days=days), deck) for seed in seeds.split(",")]
        asked = np.sum([one.asked for one in told], axis=0)
        probed = np.sum([one.probed for one in told], axis=0)
        probes = int(probed[:, 2].sum())
        click.echo(
            f"| {family} | {sharing:g} | {_middle([one.leads for one in told])} "
            f"| {_middle([one.speed_leads for one in told])} | {bins_error(asked.tolist()):.3f} "
            f"| {f'{bins_error(probed.tolist()):.3f}' if probes >= _FEWEST_PROBES else '-'} | {probes} "
            f"| {np.mean([one.loss for one in told]):.3f} | {np.mean([one.clean for one in told]):.2f} |"
        )


if __name__ == "__main__":
    main()
