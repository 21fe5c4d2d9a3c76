"""`neckwork log`: the state of the log itself, its copies, and what can be done for it."""

from __future__ import annotations

from datetime import datetime

import click

from drills.cli.output import echo
from drills.cli.player_files import PlayerFiles, player_of
from drills.configuration.home import expanded
from drills.errors import SettingsError

__all__ = ["command"]

_LOG = click.option("--log", metavar="FILE", help="Another log than the usual one.")


@click.group("log", invoke_without_command=True)
@_LOG
@click.pass_context
def command(ctx: click.Context, log: str | None) -> None:
    """Check the log: whether the file is whole, what is in it, its size, its copies. Exit code 1 where it is damaged.

    back takes an import back, mend brings back stamps that lie ahead, salvage saves what is whole of a damaged log.

    \b
    Examples:
      neckwork log
      neckwork log salvage
      neckwork log back --list
      neckwork log mend
    """
    if ctx.invoked_subcommand is not None:
        return
    from scheduler.log.copies import copies_of

    player = _kept(log)
    path = player.log_path
    with player.read_log(checked=False) as review_log:
        events, faults = review_log.fingerprint().last_seq, review_log.faults()
        reviews = 0 if faults else sum(1 for _ in review_log.review_rows())
        later = 0 if faults else review_log.later_kinds()
        standing = None if faults else review_log.standing()
    echo(f"{path}: {path.stat().st_size:,} bytes, {events:,} events")
    for fault in faults:
        echo(f"  damaged: {fault}")
    if not faults:
        echo(f"  whole; {reviews:,} reviews count")
    if standing is not None:
        echo(
            f"  beside them stand {len(standing.meets):,} lessons, {len(standing.rested):,} cards at rest, "
            f"{len(standing.locks):,} kept fingerings, {len(standing.flags):,} questions"
        )
    if later:
        echo(f"  {later:,} events say what only a newer version knows: kept, and handed on")
    copies = copies_of(path)
    for copy in copies:
        echo(f"  copy: {copy}, {copy.stat().st_size:,} bytes")
    if not copies:
        echo("  no copy yet; one is kept before each import")
    if faults:
        echo("neckwork log salvage saves every whole event into a new log")
        ctx.exit(1)


@command.command("salvage")
@click.argument("new", metavar="[NEW]", required=False)
@_LOG
def salvage_command(new: str | None, log: str | None) -> None:
    """Save every whole event of a damaged log into a new log, NEW or one beside it. The damaged one stays as it is.

    \b
    Examples:
      neckwork log salvage
    """
    from scheduler.log.copies import copies_of
    from scheduler.log.salvage import salvage

    player = _kept(log)
    path = player.log_path
    made = expanded(new) if new else path.with_name(f"{path.stem}-salvaged{path.suffix}")
    found = salvage(path, made)
    echo(f"{made}: {found.saved:,} events saved, {found.lost:,} lost")
    if found.lost and (copies := copies_of(path)):
        echo(f"  what is lost may be in the newest copy: neckwork join --log {made} {copies[-1]}")
    echo(f"  to go on with it, move {path.name} away and give {made.name} that name")


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
            echo(f"{player.log_path}: every stamp is in order; nothing to mend")
            return
        copy = keep_copy(review_log, now)
        moved = review_log.mend_stamps(now)
    echo(f"{moved} stamps brought back; the log as it was is kept as {copy}")


@command.command("back")
@click.argument("number", type=click.IntRange(min=1), required=False)
@click.option("--list", "listed", is_flag=True, help="Only list what was taken in.")
@click.option("--again", is_flag=True, help="Let it count again.")
@_LOG
def back(number: int | None, listed: bool, again: bool, log: str | None) -> None:
    """Take back an import or a join: the last one, or the one of that number in --list.

    One event is appended that leaves the others out of account. What you graded later stays, and other machines
    learn of it when the logs are joined.

    \b
    Examples:
      neckwork log back --list
    """
    player = _kept(log)
    with player.read_log() if listed else player.open_log() as review_log:
        imports = review_log.imports()
        if listed:
            for count, one in enumerate(imports, 1):
                events = one.last_seq - one.first_seq + 1
                state = ", taken back" if one.set_aside else ""
                echo(f"{count}. {one.at:%Y-%m-%d %H:%M} {one.source}: {events} events{state}")
            if not imports:
                echo("nothing was taken in")
            return
        fitting = [count for count, one in enumerate(imports, 1) if one.set_aside == again]
        if number is None and fitting:
            number = fitting[-1]
        if number not in fitting:
            what = "taken back" if again else "taken in and not taken back"
            raise SettingsError(
                f"{player.log_path}: no import {f'{number} ' if number else ''}was {what}; see neckwork log back --list"
            )
        one = imports[number - 1]
        now = datetime.now().astimezone()
        (review_log.bring_back if again else review_log.go_back)(one, now)
    events = one.last_seq - one.first_seq + 1
    echo(f"{one.source}: {events} events {'count again' if again else 'no longer count'}")


def _kept(log: str | None) -> PlayerFiles:
    """The player, whose log is there; raises SettingsError when it is not."""
    player = player_of(log)
    if not player.has_log():
        raise SettingsError(f"{player.log_path}: there is no log yet; play a session first")
    return player
