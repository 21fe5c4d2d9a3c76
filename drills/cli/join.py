"""`neckwork join`: the logs of other machines, united with this one."""

from __future__ import annotations

import click

from drills.cli.taking_in import YES, take_in

__all__ = ["command"]


@click.command("join")
@click.argument("others", nargs=-1, required=True, metavar="OTHER...")
@click.option("--log", metavar="FILE", help="Another log than the usual one.")
@YES
def command(others: tuple[str, ...], log: str | None, yes: bool) -> None:
    """Unite the logs of several machines: nothing is lost, what either side took back stays taken back.

    In which order, and how often, makes no difference. The other logs are not changed.

    Says first what would change, keeps a copy of the log, and asks; neckwork log back takes it back again.

    \b
    Examples:
      neckwork join log.json --yes
    """
    take_in(others, log, yes)
