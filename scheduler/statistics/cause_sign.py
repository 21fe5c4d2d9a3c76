"""How strongly a learner's misses point to each group of skills, and how rarely chance alone points as strongly.

Each card's tries are one record: how many were clean, missed without a slip, and missed with each slip. Where a group
is the trouble, the chance of a clean try falls wherever the group is needed, and some of the misses there come of it
and are named accordingly. A group's score is the natural logarithm of how much likelier all records are then than with
no cause at all. The sign is the sum of these likelihoods over the groups, each as likely as another beforehand: were
the chances known, no other function of the records would find more causes at the same rate of false ones (J. Neyman
and E. S. Pearson 1933, Philosophical Transactions A 231, 289).

How rare a sign is, permutations tell: with no cause every card's record might as well be another card's (R. A. Fisher
1935, "The Design of Experiments", section 21). Records stay whole, so that neither cards that differ by themselves nor
missed cards that are asked again make anything look rarer than it is, and the number of groups is allowed for.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scheduler.statistics.difference import NAMED_SHARES

__all__ = ["CLEAN", "FIRST_SLIP", "UNNAMED", "Sign", "sign_of"]

CLEAN, UNNAMED, FIRST_SLIP = 0, 1, 2
"""Columns of a record: clean tries, misses without a slip, then one for each slip."""

_NAMED_RIGHT = 0.8
"""So often a slip that comes of the cause is named as such (common practice: four times of five)."""

_LEAST_HABIT = 0.04
"""No slip is thought rarer than this among those that come of no cause."""

_FIRST_LOOK, _PERMUTATIONS = 200, 4000
"""A sign that chance matches often is given up after the first; the others are told to a part in 4,000."""

_SEED = 20
"""The permutations are the same every day, so that the same tries have the same cause."""

_Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Sign:
    """What records say. scores: of each group, natural logarithms. chance: at most how likely so strong a sign is
    without any cause."""

    scores: tuple[float, ...]
    chance: float


def sign_of(
    records: Sequence[Sequence[int]], needed: Sequence[Sequence[bool]], fitting: Sequence[Sequence[int]], error: float
) -> Sign:
    """Weighs every group.

    records: a row for each card, in the columns above. needed: for each group, which cards need it. fitting: for each
    group, the columns of the slips that fit it. error: the chance that will be allowed; it decides when to stop.
    """
    counts = np.asarray(records, dtype=float)
    inside = np.asarray(needed, dtype=float)
    whole = counts.sum(axis=0)
    always, gained = [], []
    for cards, slips in zip(inside, fitting, strict=True):
        there, elsewhere, usual = _chances(whole, float(cards.mean()), slips)
        always.append(float(whole @ np.log(elsewhere / usual)))
        gained.append(counts @ np.log(there / elsewhere))
    base, gains = np.array(always), np.stack(gained)
    scores = base + (inside * gains).sum(axis=1)
    least = float(_together(scores[:, None])[0]) - 1e-9
    draws = np.random.default_rng(_SEED)
    over, done = 0, 0
    for number in (_FIRST_LOOK, _PERMUTATIONS - _FIRST_LOOK):
        order = draws.permuted(np.tile(np.arange(len(counts)), (number, 1)), axis=1)
        shuffled = np.stack([gain[order] @ cards for gain, cards in zip(gains, inside, strict=True)]) + base[:, None]
        over += int((_together(shuffled) >= least).sum())
        done += number
        if over > 10 + 3 * error * done:
            break
    return Sign(tuple(float(score) for score in scores), (over + 1) / (done + 1))


def _together(scores: _Floats) -> _Floats:
    """The logarithm of the sum of likelihoods over the groups, column by column."""
    most = scores.max(axis=0)
    return np.asarray(most + np.log(np.exp(scores - most).sum(axis=0)), dtype=float)


def _chances(whole: _Floats, part: float, fitting: Sequence[int]) -> tuple[_Floats, _Floats, _Floats]:
    """How likely each column is inside a group that is the trouble, outside it, and with no cause.

    part: the share of the cards that need the group. The learner's own share of clean tries stays what it is; inside
    it falls as from .75 to .45, in logits.
    """
    size, clean = float(whole.sum()), float(whole[CLEAN])
    slips = whole[FIRST_SLIP:]
    named = float(slips.sum())
    share = (clean + 1) / (size + 2)
    naming = (named + 1) / (size - clean + 2)
    low, high = NAMED_SHARES
    fall = _logit(high) - _logit(low)
    out, here = _expit(_logit(share) + fall * part), _expit(_logit(share) - fall * (1 - part))
    shares = (slips + 0.5) / (named + 0.5 * len(slips)) if len(slips) else slips
    fits = np.zeros(len(slips))
    for column in fitting:
        fits[column - FIRST_SLIP] = 1 / len(fitting)
    right = _NAMED_RIGHT if fitting else 0.0
    caused = (out - here) / (1 - here)
    # What is named anyway is what is left once the slips that come of the cause are taken away.
    taken = right * part * (out - here) / (part * (1 - here) + (1 - part) * (1 - out))
    habit = np.clip((shares - taken * fits) / (1 - taken), _LEAST_HABIT, None)
    habit = habit / habit.sum() if len(habit) else habit
    there = (1 - caused * right) * habit + caused * right * fits
    return _columns(here, naming, there), _columns(out, naming, habit), _columns(share, naming, shares)


def _columns(clean: float, naming: float, slips: _Floats) -> _Floats:
    missed = 1 - clean
    return np.concatenate([[clean, missed * (1 - naming)], missed * naming * slips])


def _logit(share: float) -> float:
    return math.log(share / (1 - share))


def _expit(number: float) -> float:
    return 1 / (1 + math.exp(-number))
