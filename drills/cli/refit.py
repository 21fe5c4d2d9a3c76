"""`neckwork refit`: the memory's few constants fitted to one player's log, kept only if they foresee better."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import TypeVar

import click

from drills.cli.output import echo
from drills.cli.player_files import PlayerFiles, player_of

__all__ = ["command"]

_Result = TypeVar("_Result")

MOST_REVIEWS = 20_000
"""Of a longer log only so many, the latest, are looked at, so that it stays a matter of a few minutes."""


@click.command("refit")
@click.option("--forget", is_flag=True, help="Go back to the usual constants.")
@click.option("--log", metavar="FILE", help="Another log than the usual one.")
def command(forget: bool, log: str | None) -> int:
    """Fit how fast you forget and how much a try teaches you to your own log.

    The earlier part of your log is fitted and the later part judges: what is fitted is kept only when it foresaw
    your later first tries better. Nothing in the log changes. Worth trying after some months; takes a minute or two.

    \b
    Examples:
      neckwork refit
      neckwork refit --forget
    """
    player = player_of(log)
    if forget:
        return _forget(player)
    from drills.cards.slips import BLAME
    from scheduler.memory.refit import FEWEST_REVIEWS, refit, write_refit

    reviews = []
    if player.has_log():
        with player.read_log() as review_log:
            reviews = list(review_log.reviews())
    if len(reviews) > MOST_REVIEWS:
        echo(f"Your log holds {len(reviews)} reviews; the latest {MOST_REVIEWS} are looked at.")
        reviews = reviews[-MOST_REVIEWS:]
    firsts = sum(review.attempt == "first" for review in reviews)
    if firsts < FEWEST_REVIEWS:
        echo(f"Too early: a fit needs {FEWEST_REVIEWS} first tries, and your log holds {firsts}.", err=True)
        return 1
    found = _with_bar(lambda told: refit(reviews, BLAME, told))
    changed = ", ".join(f"{_WORDS[name]} x {factor:.2f}" for name, factor in found.factors.items())
    echo(f"Fitted on {found.fitted_on} first tries, judged on the {found.judged_on} after them.")
    echo(f"Found: {changed}.")
    echo(
        f"Surprise a try on the later ones (log-loss, less is better): {found.before:.4f} before, "
        f"{found.after:.4f} after."
    )
    if not found.better:
        echo("That foresees you no better, so nothing is changed.")
        return 0
    player.home.make()
    write_refit(player.home.constants, found)
    echo("Kept. Your next start reads the log once more; `neckwork refit --forget` goes back.")
    return 0


_WORDS = {
    "first_half_lives_days": "what a first meeting leaves",
    "unmet_recall": "chance of what was never met",
    "growth": "what a clean try teaches",
    "growth_exponent": "what spacing adds",
}
"""The fitted constants in a player's words."""


def _forget(player: PlayerFiles) -> int:
    if not player.home.constants.exists():
        echo("Nothing was kept; the usual constants are in use.")
        return 0
    player.home.constants.unlink()
    echo("The usual constants are in use again.")
    return 0


def _with_bar(work: Callable[[Callable[[], None]], _Result]) -> _Result:
    """What `work` answers; it is given a function to call after each try. A bar on a terminal, none in a pipe."""
    if not sys.stderr.isatty():
        return work(lambda: None)
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("fitting, try {task.completed}"), BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task("", total=None)
        return work(lambda: progress.advance(task))
