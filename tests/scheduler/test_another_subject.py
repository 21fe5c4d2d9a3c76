"""The scheduler serves a subject of another kind: juggling patterns, with slips of their own."""

from __future__ import annotations

import io
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from scheduler import CardSpec, Grade, Planner, Review, ReviewLog, TeachingRules
from scheduler.errors import ReviewError
from scheduler.log.interchange import read_events
from scheduler.statistics.log_digest import digest_of_log
from tests.log_exports import export_csv, export_json

AT = datetime(2024, 3, 4, 18, 0, tzinfo=UTC)
SLIPS = ("drop", "collision", "=too high, too late", "'late")
RULES = TeachingRules(blame={"drop": "throw", "collision": "path", "=too high, too late": "throw", "'late": "card"})
PATTERNS = [
    CardSpec(f"juggle/{name}", skills=(f"throw:{throw}", f"path:{path}"))
    for name, throw, path in (
        ("cascade", "3", "crossing"), ("fountain", "4", "columns"), ("shower", "5", "circle"),
        ("box", "3", "columns"), ("half-shower", "4", "crossing"),
    )
]  # fmt: skip


@pytest.fixture
def played():
    """A log of twenty tries, planned as they come, with a slip at each miss, one named later and one cleared."""
    log, planner = ReviewLog(":memory:"), Planner(PATTERNS, seed=3, rules=RULES)
    for n in range(20):
        at = AT + timedelta(days=n // 5, minutes=n)
        card = planner.next(at)
        slip = SLIPS[n % len(SLIPS)] if n % 3 == 0 else None
        review = Review(
            card, Grade.LOOKED if slip else Grade.CLEAN, at, 4.0, slip=slip, id=f"r{n}",
            skills=next(one.skills for one in PATTERNS if one.id == card), predicted=planner.recall(card, at),
        )  # fmt: skip
        log.record(review)
        planner.record(review)
    log.slip("r3", "drop", AT + timedelta(days=9))
    log.slip("r0", None, AT + timedelta(days=9))
    return log


def test_the_log_plans_counts_and_remembers(played):
    """Every pattern is asked, and the digest counts each slip under its own name."""
    assert {one.card for one in played.reviews()} == {one.id for one in PATTERNS}
    named = [one.slip for one in played.reviews() if one.slip]
    counted = [
        slip for tally in digest_of_log(played).cards.values() for slip, n in tally.slips.items() for _ in range(n)
    ]
    assert sorted(counted) == sorted(named)
    assert set(named) == set(SLIPS)


@pytest.mark.parametrize("write", [export_json, export_csv])
def test_an_export_comes_back_the_same(played, write):
    """JSON and CSV bring back every review with its slip, even where a spreadsheet would run the word."""
    out = io.StringIO(newline="")
    write(played, out)
    other = ReviewLog(":memory:")
    other.add(read_events(out.getvalue().encode(), "juggling", other.id))
    assert list(other.reviews()) == list(played.reviews())
    assert "\n=too high" not in out.getvalue() and ",=too high" not in out.getvalue()


@pytest.mark.parametrize("write", [export_json, export_csv])
def test_a_program_may_allow_only_its_own_slips(played, write):
    """A reader that names its slips refuses any other, saying which were expected."""
    out = io.StringIO(newline="")
    write(played, out)
    with pytest.raises(ReviewError, match="slip: expected one of drop, fumble, got"):
        list(read_events(out.getvalue().encode(), "juggling", "log", ("drop", "fumble")))


def test_a_slip_blames_the_skill_the_rules_say():
    """After a drop the throw is less sure than the path; after a collision it is the other way round."""
    left = {}
    for slip in ("drop", "collision"):
        planner = Planner(PATTERNS[:1], seed=3, rules=RULES)
        card = PATTERNS[0].id
        for n in range(4):
            planner.record(Review(card, Grade.CLEAN, AT + timedelta(days=n), 4.0))
        planner.record(Review(card, Grade.LOOKED, AT + timedelta(days=5), 4.0, slip=slip))
        after = AT + timedelta(days=6)
        left[slip] = [planner.state(skill, after).recall for skill in PATTERNS[0].skills]
    assert left["drop"][0] < left["drop"][1]
    assert left["collision"][0] > left["collision"][1]


def test_the_scheduler_speaks_of_no_music():
    """No word of a musician stands in the scheduler's source; `tempo_bpm` is the name of a stored column."""
    words = re.compile(
        r"guitar|chord|fretboard|\bfrets?\b|arpeggio|fingering|melod|music|\btunes?\b|\bnotes\b|\bgig\b", re.I
    )
    root = Path(__file__).resolve().parents[2] / "scheduler"
    found = {
        f"{path.relative_to(root)}: {match[0]}"
        for path in root.rglob("*.py")
        for match in words.finditer(path.read_text(encoding="utf-8"))
    }
    assert found == set()
