"""What is played, judged: rivals hold the limits of a session, and every rule is tried without its weight."""

from __future__ import annotations

import json
from collections import Counter

import pytest
from click.testing import CliRunner

from scheduler.card import kind_of
from scheduler.evaluate.as_played import KeptPlays, free, main, played_policies, weights_off
from scheduler.evaluate.class_year import class_rules
from scheduler.evaluate.new_material import NewMaterial
from scheduler.evaluate.rivals import RIVALS
from scheduler.evaluate.simulate import Case
from scheduler.evaluate.simulated_deck import material

DECK = material(2, 1, 12)
LIMITS = {"form": 2, "root": 4}


@pytest.mark.parametrize("name", list(RIVALS))
def test_a_rival_meets_no_more_that_is_new_than_the_limits_allow(name):
    """Over three sessions of fifteen cards no rival meets more than two new forms and four new roots in one."""
    rival, new, met = RIVALS[name](DECK, 1), NewMaterial(DECK, LIMITS), set()
    for day in range(3):
        new.begin()
        begun = Counter()
        for number in range(15):
            at = day + number / 5000.0
            rival.closed = new.closed()
            card = rival.next(at)
            rival.record(card, number % 3 > 0, at)
            new.record(card)
            fresh = set(DECK.cards[card].skills) - met
            begun.update(kind_of(skill) for skill in fresh)
            met |= fresh
        assert begun["root"] == 4 if day == 0 else begun["root"] <= 4
        assert begun["form"] <= 2


def test_every_policy_is_played_once_and_kept(tmp_path, monkeypatch):
    """Planner, each weight left out, all of them, rivals with and without limits, the clairvoyant; recalls 0 to 1."""
    case, path = Case("windows", 0.45, 300, days=2), tmp_path / "plays.jsonl"
    policies = played_policies(DECK)
    wanted = {"planner", "without weights", "without order_weight", "clairvoyant", *RIVALS, *map(free, RIVALS)}
    assert wanted <= set(policies)
    plays = KeptPlays(DECK, path)
    found = {name: plays.figures(case, name) for name in ("planner", "boxes", free("boxes"), "without apart_weight")}
    assert all(0.0 < figures["recall"] < 1.0 for figures in found.values())
    assert found["boxes"] != found[free("boxes")]
    assert found["planner"]["kept"]["apart"] > found["planner"]["yielded"].get("apart/met", 0)
    again = KeptPlays(DECK, path)
    monkeypatch.setattr("scheduler.evaluate.as_played.play", None)  # nothing is played a second time
    assert {name: again.figures(case, name) for name in found} == found
    assert again.figures(case, "random", play_now=False) is None


def test_the_tables_hold_what_was_played_and_nothing_else(tmp_path):
    """Without a play there is no row; with all of a row there is one, with ratio, interval and prices."""
    path = tmp_path / "plays.jsonl"
    run = ["--seeds", "300,301", "--days", "40", "--row", "windows", "--keep", str(path), "--part", "report"]
    empty = CliRunner().invoke(main, run)
    assert empty.exit_code == 0, empty.output
    assert "| windows" not in empty.output
    names = list(played_policies(material()))
    with path.open("w") as file:
        for seed in (300, 301):
            for number, name in enumerate(names):
                figures = {"recall": 0.5 + 0.01 * number + 0.01 * (seed - 300), "kept": {"apart": 3}, "yielded": {}}
                file.write(json.dumps({"key": f"windows/0.45/{seed}/40/{name}", "figures": figures}) + "\n")
    told = CliRunner().invoke(main, run).output
    best = max(RIVALS, key=names.index)
    assert f"| windows | 0.45 | 2 | 0.505 | {0.505 + 0.01 * names.index(best):.3f} ({best})" in told
    assert "+0.010 ± 0.000" in told
    limited, _, alone = told.partition("Without rules or limits:")
    ours, rival = 0.505 + 0.01 * names.index(free("planner")), 0.505 + 0.01 * names.index(free(best))
    assert f"| windows | 0.45 | 2 | {ours:.3f} | {rival:.3f} ({best})" in alone
    assert (limited.count("| windows"), alone.count("| windows")) == (1, 2)  # the prices come last
    assert "| apart | 6 | 0 | 0 |" in told


def test_weights_off_leaves_what_is_absolute():
    """Without weights the limits and the tags stay as they were."""
    rules = class_rules(DECK)
    off = weights_off(rules)
    assert (off.order_weight, off.again_weight, off.gap_weight) == (0.0, 0.0, 0.0)
    assert (off.new_per_session, off.apart_reach, off.look_alikes) == (LIMITS, 1, rules.look_alikes)
