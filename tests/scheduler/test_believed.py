"""How soon the right belief leads, and cold probes, on short plays and by hand."""

from __future__ import annotations

from click.testing import CliRunner

from scheduler.card import kind_of
from scheduler.evaluate.believed import PROBE_SHARE, foreseen, leads_from, main
from scheduler.evaluate.class_year import class_rules
from scheduler.evaluate.simulate import Case, play
from scheduler.evaluate.simulated_deck import material

DECK = material()
CASE = Case("windows", 0.45, 100, days=12)


def test_who_leads_for_good_is_counted_from_the_last_time_another_did():
    """A lead that was lost does not count, and a right one from the start needs no try."""
    assert leads_from("aabab", "b") == 4
    assert leads_from("bbb", "b") == 0
    assert leads_from("bba", "b") is None
    assert leads_from("", "b") is None


def test_cold_probes_bring_nothing_new_and_are_about_one_card_in_twenty_five():
    """Drawn by a lot of their own; without a share there are none, and the play is what it was."""
    rules = class_rules(DECK)
    plain = play(CASE, "planner", DECK, rules=rules)
    out = play(CASE, "planner", DECK, rules=rules, keep_reviews=True, probe_share=0.2)
    assert not plain.probed and plain.recall == play(CASE, "planner", DECK, rules=rules).recall
    assert 0.1 < len(out.probed) / len(out.reviews) < 0.3
    met: set[str] = set()
    forms_by_day: dict[str, set[str]] = {}
    for review in out.reviews:
        fresh = {skill for skill in review.skills if skill not in met and kind_of(skill) == "form"}
        forms_by_day.setdefault(review.session, set()).update(fresh)
        met.update(review.skills)
    assert max(map(len, forms_by_day.values())) <= 2


def test_a_play_is_foreseen_and_told_in_a_row():
    """Bins hold every probe; the page has one row a family and sharing."""
    one = foreseen(CASE, DECK)
    assert one.leads is None or one.leads >= (one.speed_leads or 0)
    assert 0 <= one.clean <= 1 and 0 < one.loss < 2 and sum(tries for *_, tries in one.probed) >= 1
    told = CliRunner().invoke(main, ["--seeds", "100", "--days", "10", "--row", "cured"]).output.splitlines()
    assert len(told) == 3 and told[2].startswith("| cured by a second try | 0.45 | ")
    assert 0 < PROBE_SHARE < 0.1
