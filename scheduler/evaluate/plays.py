"""Runs one simulated player under one policy and returns plain figures."""

from __future__ import annotations

from functools import cache

from scheduler.evaluate.ablations import constants_for, single_experts
from scheduler.evaluate.figures import Figures
from scheduler.evaluate.jobs import Job
from scheduler.evaluate.prediction import WARM_UP, area_under_curve, bin_sums, log_loss, member_losses
from scheduler.evaluate.simulate import BLAME, play
from scheduler.evaluate.simulated_deck import SimulatedDeck, material
from scheduler.planning.rules import TeachingRules

__all__ = ["play_job"]


@cache
def _deck(qualities: int, sets: int) -> SimulatedDeck:
    return material(qualities, sets)


def play_job(job: Job) -> Figures:
    """The figures of a play; of the planner's, if long enough, how good its predictions were as well.

    Raises ValueError for a job that plays no case.
    """
    case = job.case
    if case is None:
        raise ValueError(f"job {job.key!r}, case: expected a simulated player, got none")
    deck = _deck(case.qualities, case.sets)
    ours = job.policy == "planner"
    constants = constants_for(job.variant) if ours else None
    out = play(case, job.policy, deck, constants, slips=job.variant != "no slips", keep_reviews=ours)
    found: Figures = {
        "recall": out.recall, "solid": out.solid, "later": out.later, "clean": out.clean,
        "curve": [round(one, 4) for one in out.curve],
    }  # fmt: skip
    if ours and len(out.predicted) > WARM_UP:
        predicted, happened = out.predicted[WARM_UP:], out.happened[WARM_UP:]
        found["prediction"] = {
            "log_loss": log_loss(predicted, happened),
            "auc": area_under_curve(predicted, happened),
            "bins": bin_sums(predicted, happened),
        }
        if job.members:
            members = {name: constants_for(name) for name in single_experts()}
            found["prediction"]["members"] = member_losses(out.reviews, members, TeachingRules(blame=BLAME))
    return found
