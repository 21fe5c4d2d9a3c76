"""A small share of the simulation in flat_players.md: players who are the same everywhere meet no false claim."""

from __future__ import annotations

import pytest

from tests.progress.flat_players import false_claims, flat_player, named, two_kinds, two_places


@pytest.mark.parametrize("chance", [0.45, 0.6, 0.9])
def test_who_is_the_same_everywhere_meets_no_false_claim(chance):
    """Twenty-eight days of looking every day, at the first deck and at two places alone."""
    met = [false_claims(chance, flat_player(chance, seed)) for seed in (11, 12)]
    met += [false_claims(chance, flat_player(chance, seed, cards=two_places(seed))) for seed in (13, 14, 15)]
    assert met == [set()] * 5


@pytest.mark.parametrize(("places", "tries"), [(2, 40), (12, 80)])
def test_a_true_difference_is_named(places, tries):
    """Of twenty players with .75 at all places but one, where it is .45, that place is named of fourteen or more."""
    assert sum(named(*two_kinds(seed, places, tries)) for seed in range(20)) >= 14
