"""Back after days away, in a real terminal: ten minutes, what was known first, an estimate, no reproach."""

from __future__ import annotations

import re
import sys
from datetime import datetime, timedelta
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parent.parent / "session"))
from sittings import Clock, Sitting
from test_real_terminal import opened, to_prompt

from scheduler.log.review_log import ReviewLog

REPROACHES = ("missed", "overdue", "owed", "late", "streak", "behind", "lost", "forgot", "should have", "failed")
"""Words of blame or threat (drills/RULES.md, A4 and E: a missed day is a missed day)."""


def practised(home: Path, days_away: int, days: int = 6) -> set[str]:
    """A log of some days of ten minutes that ended so long ago; the cards met in it."""
    home.mkdir(parents=True, exist_ok=True)
    clock = Clock(datetime.now().astimezone() - timedelta(days=days_away + days - 1, minutes=20))
    for _ in range(days):
        one = Sitting(home / "log.sqlite3", clock=clock)
        began = clock()
        one.start()
        while one.play() is not None:
            pass
        one.log.close()
        clock.at = began + timedelta(days=1)
    with ReviewLog(home / "log.sqlite3") as log:
        log.ticket("seen:caution", "yes", clock())
        return {review.card for review in log.reviews()}


@pytest.mark.parametrize("away", [14, 60])
def test_back_after_days_away(terminal, away):
    """Rule G24: the plan is ten minutes, says what comes first and about how long; nothing new is asked."""
    known = practised(terminal.home, away)
    one = terminal("session", "--quiet")
    plan = one.wait_for("Enter starts")
    assert "10 minutes, about" in plan
    assert "new shape" not in plan
    assert "new root" not in plan
    said = " ".join(plan.split())
    assert re.search(
        r"What you have known longest comes first today"
        r"(; about \d+ to \d+ sessions until all you had met is where it was|; all .* there)?\.",
        said,
    )
    one.press("q")
    one.finish()
    shown = [plan]
    two = opened(terminal, "--quiet")
    for _ in range(5):
        shown.append(to_prompt(two))
        two.press("\r")
        shown.append(two.screen())
        two.press("l")
        two.press("\r")
    two.press("q")
    shown.append(two.screen())
    two.press("\r")
    two.finish()
    said = " ".join(shown).lower().replace("later today", "")  # the next practice day, said between midnight and four
    assert not [word for word in REPROACHES if word in said]
    with ReviewLog(terminal.home / "log.sqlite3") as log:
        firsts = [review for review in log.reviews() if review.attempt == "first"][-5:]
    assert {review.card for review in firsts} <= known
    assert all(datetime.now().astimezone() - review.at < timedelta(minutes=5) for review in firsts)
