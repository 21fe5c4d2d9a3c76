"""What it costs to open the memory of a long log: by the state saved beside it, and by reading the log again.

Run with ``-s`` to read the figures, beside the budget of 0.3 s; only a ratio of one run is asserted.
"""

from __future__ import annotations

import time

from drills.cards.deck import find_deck, read_deck
from drills.cards.material import gather
from drills.neck.neck import Neck
from scheduler.log.review_log import ReviewLog
from scheduler.planning.planner import Planner
from scheduler.saved.learned_states import bring_forward
from tests.bench.test_key_press import filled

REVIEWS = 20_000


def opened(log, path, material) -> tuple[float, Planner]:
    """Seconds until a planner stands where the log does."""
    begin = time.perf_counter()
    planner = Planner(material.specs(), 0, (), material.rules())
    bring_forward(log, path, {"planner": planner})
    return time.perf_counter() - begin, planner


def test_saved_state_opens_in_a_part_of_a_rebuild(tmp_path, capsys):
    """With the file a long log opens at least ten times as fast as without, and its cost does not grow with the log."""
    material = gather(read_deck(find_deck("fourteen", None)), Neck())
    taken = {}
    for count in (REVIEWS // 4, REVIEWS):
        filled(tmp_path / f"{count}.sqlite3", count)
        path = tmp_path / f"{count}.memory"
        with ReviewLog(tmp_path / f"{count}.sqlite3") as log:
            rebuilt, whole = opened(log, path, material)
            fast, planner = min((opened(log, path, material) for _ in range(5)), key=lambda pair: pair[0])
        assert planner.snapshot() == whole.snapshot()
        taken[count] = fast
        with capsys.disabled():
            print(
                f"\n  {count} reviews, 504 cards: saved state opened in {fast * 1000:.0f} ms "
                f"({path.stat().st_size / 1e6:.2f} MB); learned from the log in {rebuilt:.2f} s, "
                f"{count / rebuilt:.0f} a second"
            )
    assert taken[REVIEWS] < rebuilt / 10
    assert taken[REVIEWS] < 3 * taken[REVIEWS // 4] + 0.01
