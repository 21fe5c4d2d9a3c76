"""`neckwork session`: today's ten minutes."""

from __future__ import annotations

import click

from drills.cli.player_files import changes_options, focus_options, neck_options, player_of
from drills.cli.sitting_down import sit, sit_options

__all__ = ["command"]


@click.command("session")
@click.argument("deck", required=False)
@click.option("--minutes", type=click.FloatRange(1, 60), help="Length; the card in hand is always finished.")
@changes_options
@click.option("--by", metavar="DATE", help="The day a tune is for, e.g. 2027-05-01: says what will come clean.")
@focus_options
@neck_options
@sit_options
def command(
    deck: str | None, minutes: float | None, plain: bool, quiet: bool, log: str | None, seed: int, by: str | None,
    **options,
) -> int:  # fmt: skip
    """Play today's session from DECK (your usual one when left out), or over the changes of a tune.

    Example: neckwork session --minutes 5 --strings 543 --quality m7,m7b5
    """
    from drills.session.session_state import DAILY

    return sit(player_of(log), deck, options, kind=DAILY, minutes=minutes, plain=plain, quiet=quiet, seed=seed, by=by)
