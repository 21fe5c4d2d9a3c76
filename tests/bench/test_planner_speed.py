"""How long the planner takes to choose and to learn, and how each grows with the deck and with the log.

Run with ``-s`` to read the figures, beside the budgets: next under 10 ms at 1,000 cards and 50 ms at 10,000, record
under 1 ms, 10,000 reviews learned a second. Only ratios of one run are asserted.
"""

from __future__ import annotations

from scheduler.evaluate.speed import measure


def told(found: dict) -> None:
    for row in found["rows"]:
        print(
            f"\n  {found['cards']} cards, {row['reviews']} reviews: next {row['next_ms']:.1f} ms, record "
            f"{row['record_ms']:.2f} ms, recall {row['recall_ms']:.3f} ms, {row['a_second']} reviews learned a second, "
            f"saved {row['saved_bytes'] / 1e6:.2f} MB, restored in {row['restore_ms']:.0f} ms"
        )


def test_choosing_grows_with_the_deck_and_learning_does_not(capsys):
    """Choosing among ten times the cards costs some ten times as much, 25 at most; learning a review no more."""
    small, large = measure(1008, quick=True), measure(10080, quick=True)
    with capsys.disabled():
        told(small)
        told(large)
    assert large["rows"][0]["next_ms"] < 25 * small["rows"][0]["next_ms"]
    assert large["rows"][0]["record_ms"] < 5 * small["rows"][0]["record_ms"] + 0.5


def test_neither_grows_with_the_log(capsys):
    """After ten times the reviews choosing and learning cost what they did."""
    found = measure(504)
    with capsys.disabled():
        told(found)
    short, long = found["rows"]
    assert long["reviews"] == 10 * short["reviews"]
    assert long["next_ms"] < 3 * short["next_ms"] + 2.0
    assert long["record_ms"] < 3 * short["record_ms"] + 0.5
