"""`neckwork import`: an exported log, or another log, taken in."""

from __future__ import annotations

from collections.abc import Iterable

import click

from drills.cli.files import printable
from drills.cli.player_files import player_of

__all__ = ["command", "take_in"]


@click.command("import")
@click.argument("files", nargs=-1, required=True, metavar="FILE...")
@click.option("--log", metavar="FILE", help="Another log than the usual one.")
def command(files: tuple[str, ...], log: str | None) -> None:
    """Take in exported JSON or CSV, or another log; what is there already is known by its id.

    \b
    Examples:
      neckwork import log.json
    """
    take_in(files, log)


def take_in(files: Iterable[str], log: str | None) -> None:
    """Take each file into the log and say what was new. log: its name, or None for the usual one."""
    from drills.cards.slips import SLIPS
    from scheduler.log.interchange import import_file

    player = player_of(log)
    with player.open_log() as review_log:
        for name in files:
            added = import_file(review_log, name, SLIPS)
            click.echo(f"{printable(name)}: {added.new} new, {added.known} known already")
