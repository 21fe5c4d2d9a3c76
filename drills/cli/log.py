"""`neckwork log`: the state of the log itself, its copies, and what can be done for it."""

from __future__ import annotations

from datetime import datetime

import click

from drills.cli.files import printable
from drills.cli.player_files import PlayerFiles, player_of
from drills.errors import SettingsError

__all__ = ["command"]

_LOG = click.option("--log", metavar="FILE", help="Another log than the usual one.")


@click.group("log")
def command() -> None:
    """Look after the log: mend its stamps.

    \b
    Examples:
      neckwork log mend
    """


@command.command("mend")
@_LOG
def mend(log: str | None) -> None:
    """Bring back stamps that lie more than 48 hours ahead, so that other machines take the log again.

    A copy of the log is kept first. Every grade stays, in the order it has.

    \b
    Examples:
      neckwork log mend
    """
    from scheduler.log.copies import keep_copy
    from scheduler.log.events import AHEAD_LIMIT

    player = _kept(log)
    now = datetime.now().astimezone()
    with player.open_log() as review_log:
        ahead = review_log.stamped_after(now + AHEAD_LIMIT)
        if not ahead:
            click.echo(f"{printable(str(player.log_path))}: every stamp is in order; nothing to mend")
            return
        copy = keep_copy(review_log, now)
        moved = review_log.mend_stamps(now)
    click.echo(f"{moved} stamps brought back; the log as it was is kept as {printable(str(copy))}")


def _kept(log: str | None) -> PlayerFiles:
    """The player, whose log is there; raises SettingsError when it is not."""
    player = player_of(log)
    if not player.has_log():
        raise SettingsError(f"{player.log_path}: there is no log yet; play a session first")
    return player
