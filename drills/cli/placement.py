"""`neckwork placement`: three minutes that find out what is already known."""

from __future__ import annotations

from typing import Any

import click

from drills.cli.player_files import focus_options, neck_options, player_of
from drills.cli.sitting_down import sit, sit_options

__all__ = ["command"]


@click.command("placement")
@click.argument("deck", required=False)
@click.option("--minutes", type=click.FloatRange(1, 20), default=3.0, show_default=True, help="Longest it may take.")
@focus_options
@neck_options
@sit_options
def command(
    deck: str | None, minutes: float, plain: bool, quiet: bool, log: str | None, seed: int, **options: Any
) -> int:
    """Find out what you already play from DECK, without meeting every card as a beginner.

    Sampled cards, most telling first; it stops when more would change little, and says how sure it is.

    \b
    Examples:
      neckwork placement
      neckwork placement everything --strings 543
    """
    from drills.session.session_state import PLACEMENT

    return sit(player_of(log), deck, options, kind=PLACEMENT, minutes=minutes, plain=plain, quiet=quiet, seed=seed)
