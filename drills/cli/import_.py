"""`neckwork import`: an exported log, or another log, taken in."""

from __future__ import annotations

import click

from drills.cli.taking_in import YES, take_in

__all__ = ["command"]


@click.command("import")
@click.argument("files", nargs=-1, required=True, metavar="FILE...")
@click.option("--log", metavar="FILE", help="Another log than the usual one.")
@YES
def command(files: tuple[str, ...], log: str | None, yes: bool) -> None:
    """Take in exported JSON or CSV, or another log; what is there already is known by its id.

    Says first what would change, keeps a copy of the log, and asks; neckwork log back takes it back again.

    \b
    Examples:
      neckwork import log.json --yes
    """
    take_in(files, log, yes)
