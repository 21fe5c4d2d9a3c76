"""Fitting the constants to one player's log: found where they lie, judged on what came later, kept only if better."""

from __future__ import annotations

import json
import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from scipy import optimize

from drills.cli import main
from drills.progress.ahead import read_memory
from scheduler.errors import ReviewError, RulesError
from scheduler.grade import Grade
from scheduler.log.review_log import ReviewLog
from scheduler.memory.constants import Constants
from scheduler.memory.refit import FEWEST_REVIEWS, SPREADS, Refit, read_refit, refit, scaled, search, write_refit
from scheduler.planning.planner import Planner
from scheduler.review import Review

START = datetime(2026, 1, 5, 18, 0, tzinfo=UTC)
BLAME: dict[str, str] = {}


def forgetful(count: int, half_life_days: float, seed: int = 1) -> list[Review]:
    """A player of twelve cards whose half-life never changes: nothing the usual constants expect."""
    rng = np.random.default_rng(seed)
    last: dict[int, float] = {}
    found = []
    for number in range(count):
        at = number / 20 + (number % 20) / 2000
        card = int(rng.integers(12))
        chance = 2.0 ** (-(at - last[card]) / half_life_days) if card in last else 0.05
        grade = Grade.CLEAN if rng.random() < chance else Grade.LOOKED
        last[card] = at
        found.append(Review(
            f"c{card}", grade, START + timedelta(days=at), 5.0, skills=(f"form:{card % 3}",), id=f"{number:05d}"
        ))  # fmt: skip
    return found


@pytest.mark.parametrize("seed", range(3))
def test_the_search_finds_what_scipy_finds(seed):
    """On a smooth loss the coordinate search comes within a step of scipy's minimum of loss plus prior."""
    rng = np.random.default_rng(seed)
    names = list(SPREADS)
    middle = rng.normal(0, 0.5, len(names)) * [SPREADS[name] for name in names]
    weight = rng.uniform(5, 50, len(names))

    def loss(factors):
        return float(sum(w * (math.log(factors[n]) - m) ** 2 for n, m, w in zip(names, middle, weight, strict=True)))

    def whole(logs):
        prior = sum((x / SPREADS[name]) ** 2 / 2 for x, name in zip(logs, names, strict=True))
        return loss({name: math.exp(x) for x, name in zip(logs, names, strict=True)}) + prior

    best = optimize.minimize(whole, np.zeros(len(names))).x
    found = search(loss, names)
    for name, x in zip(names, best, strict=True):
        assert math.log(found[name]) == pytest.approx(x, abs=0.2 * SPREADS[name])


def test_without_evidence_nothing_moves():
    """When the log says nothing the constants stay where the prior has them."""
    assert search(lambda factors: 0.0, list(SPREADS)) == dict.fromkeys(SPREADS, 1.0)


def test_the_spacing_constant_is_held_nearest_to_its_prior():
    """The same pull moves the spacing constant least: spacing in a log is mixed up with its schedule."""
    found = search(lambda factors: -3.0 * sum(math.log(factor) for factor in factors.values()), list(SPREADS))
    moved = {name: abs(math.log(factor)) for name, factor in found.items()}
    assert min(moved, key=moved.__getitem__) == "growth_exponent"
    assert max(moved.values()) <= 3.0 * max(SPREADS.values())


def test_a_forgetful_player_is_foreseen_better_and_only_later_reviews_judge():
    """A player unlike the usual one is fitted on the earlier part, and both figures are those of the later part."""
    reviews = forgetful(700, half_life_days=0.4)
    found = refit(reviews, BLAME)
    assert found.better
    assert (found.fitted_on, found.judged_on) == (490, 210)
    planner, total = Planner(()), 0.0
    for number, review in enumerate(reviews):
        if number >= 490:
            p = planner.memory.recall((*review.skills, f"card:{review.card}"), review.at.timestamp() / 86400.0)
            total -= math.log(p if review.grade.clean else 1.0 - p)
        planner.record(review)
    assert found.before == pytest.approx(total / 210)
    later = [Review(r.card, Grade.CLEAN, r.at, 5.0, skills=r.skills, id=r.id) for r in reviews[490:]]
    assert refit([*reviews[:490], *later], BLAME).factors == found.factors


def test_too_few_reviews_are_not_fitted():
    """Below a few hundred first attempts chance would be fitted; the message says how many there are."""
    with pytest.raises(ReviewError, match=f"at least {FEWEST_REVIEWS} first attempts in the log, got 20"):
        refit(forgetful(20, 1.0), BLAME)


def test_a_stored_fit_comes_back_or_is_passed_over(tmp_path, monkeypatch):
    """A fit is read back to the last bit; of another version, other usual constants, or damaged, it is not used."""
    path = tmp_path / "constants.json"
    assert read_refit(path) is None
    found = Refit({"growth": 1.1, "unmet_recall": 0.7}, 10, 5, 0.5, 0.4)
    write_refit(path, found)
    assert read_refit(path) == found
    assert found.constants == scaled(Constants(), found.factors)
    assert found.constants.growth == Constants().growth * 1.1
    document = json.loads(path.read_text())
    for change in ({"version": 99}, {"usual": "others"}, {"factors": {"growth": -1.0}}, {"factors": {"none": 1.0}},
                   {"factors": None}):  # fmt: skip
        path.write_text(json.dumps(document | change))
        assert read_refit(path) is None
    for text in ("{", "[]", "null", "[" * 100_000):
        path.write_text(text)
        assert read_refit(path) is None
    with pytest.raises(RulesError, match="constants, 'nothing': expected one of"):
        scaled(Constants(), {"nothing": 1.0})


NAMED_BEFORE = """{
 "version": 1,
 "usual": "Constants(first_half_lives_days=(0.35, 1.2, 9.0), curves=(False, True), sharings=(0.0, 0.45, 0.9), \
growth=1.6, growth_exponent=0.8, shrink=0.3, shrink_floor=0.3, found_blame=0.6, in_time_growth=1.4, \
slip_elsewhere=0.3, weight_memory=0.995, learning_weights=True, unmet_recall=0.1, unmet_count=5.0, cut=0.9, \
cut_variance=0.5, player_variance=0.1, slope_variance=0.02, ease_variance=0.02, player_drift=0.0002, \
slope_drift=0.0002, horizons_days=(0.5, 1.5, 4.0, 12.0), utility_floors=(0.3, 0.02), begin_days=10.0)",
 "factors": {
  "first_half_lives_days": 1.25,
  "unmet_recall": 0.5,
  "growth": 1.1,
  "growth_exponent": 0.9
 },
 "fitted_on": 420,
 "judged_on": 180,
 "before": 0.5,
 "after": 0.4
}
"""
"""A fit to the byte as it was written when two constants bore other names: ease_variance and begin_days."""


def test_a_fit_written_under_the_old_names_is_still_read(tmp_path):
    """Renaming a constant does not lose a player's fit; another value of one under its old name still does."""
    path = tmp_path / "constants.json"
    path.write_text(NAMED_BEFORE)
    found = read_refit(path)
    factors = {"first_half_lives_days": 1.25, "unmet_recall": 0.5, "growth": 1.1, "growth_exponent": 0.9}
    assert found == Refit(factors, 420, 180, 0.5, 0.4)
    assert found.constants == scaled(Constants(), factors)
    write_refit(path, found)
    assert read_refit(path) == found
    for name in ("ease_variance=0.02", "begin_days=10.0"):
        path.write_text(NAMED_BEFORE.replace(name, name[:-1] + "9"))
        assert read_refit(path) is None


@pytest.fixture
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("NECKWORK_HOME", str(tmp_path))
    return tmp_path


def logged(home, reviews):
    with ReviewLog(home / "log.sqlite3") as log:
        for review in reviews:
            log.record(review)


def test_the_command_keeps_a_better_fit_and_goes_back(home, capsys):
    """`neckwork refit` says before and after, keeps what is better, changes no event; --forget goes back."""
    reviews = forgetful(600, half_life_days=0.4)
    logged(home, reviews)
    with ReviewLog(home / "log.sqlite3") as log:
        before = log.fingerprint()
    assert main(["refit"]) == 0
    said = capsys.readouterr().out
    assert "Fitted on 420 first tries, judged on the 180 after them." in said and "Kept." in said
    kept = read_refit(home / "constants.json")
    assert f"{kept.before:.4f} before, {kept.after:.4f} after" in said
    with ReviewLog(home / "log.sqlite3") as log:
        assert log.fingerprint() == before
    assert main(["progress", "--ahead", "7", "--json"]) == 0
    ahead = json.loads(capsys.readouterr().out)["ahead"]
    assert main(["refit", "--forget"]) == 0
    assert not (home / "constants.json").exists()
    assert main(["progress", "--ahead", "7", "--json"]) == 0
    usual = json.loads(capsys.readouterr().out.split("\n", 1)[1])["ahead"]
    assert ahead != usual
    assert read_memory(reviews, constants=kept.constants).memory.export() != read_memory(reviews).memory.export()
    assert main(["refit", "--forget"]) == 0
    assert "usual constants are in use" in capsys.readouterr().out


def test_the_command_changes_nothing_when_nothing_is_gained(home, capsys, monkeypatch):
    """A fit that foresees later tries no better is not kept; too short a log is said."""
    assert main(["refit"]) == 1
    assert "needs 300 first tries, and your log holds 0" in capsys.readouterr().err
    logged(home, forgetful(350, half_life_days=1.0))
    monkeypatch.setattr("scheduler.memory.refit.search", lambda loss, names: dict.fromkeys(names, 1.0))
    assert main(["refit"]) == 0
    assert "foresees you no better, so nothing is changed" in capsys.readouterr().out
    assert not (home / "constants.json").exists()


def test_of_a_very_long_log_only_the_latest_part_is_looked_at(home, capsys, monkeypatch):
    """It is said how much of the log was looked at, and the earliest reviews take no part."""
    logged(home, forgetful(400, half_life_days=1.0))
    monkeypatch.setattr("drills.cli.refit.MOST_REVIEWS", 320)
    monkeypatch.setattr("scheduler.memory.refit.search", lambda loss, names: dict.fromkeys(names, 1.0))
    assert main(["refit"]) == 0
    said = capsys.readouterr().out
    assert "Your log holds 400 reviews; the latest 320 are looked at." in said
    assert "Fitted on 224 first tries, judged on the 96 after them." in said
