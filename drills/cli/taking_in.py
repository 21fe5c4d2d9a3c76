"""The steps that `import` and `join` share: say what a file would change, ask, keep a copy, take it in."""

from __future__ import annotations

import sys
from datetime import datetime
from typing import TYPE_CHECKING

import click

from drills.cli.output import echo
from drills.cli.player_files import player_of

if TYPE_CHECKING:
    from scheduler.log.review_log import Foreseen, ReviewLog

__all__ = ["YES", "take_in"]

YES = click.option("--yes", is_flag=True, help="Take it in without being asked.")


def take_in(files: tuple[str, ...], log: str | None, yes: bool) -> None:
    """Take files into the player's log, each after its own question.

    Raises UsageError, and changes nothing, where there is nobody to ask and `yes` was not said.
    """
    from drills.cards.slips import SLIPS
    from scheduler.log.copies import keep_copy
    from scheduler.log.interchange import foresee_file, import_file

    player = player_of(log)
    asks = not yes
    if asks and not sys.stdin.isatty():
        if not _would_change(files, str(player.log_path) if player.has_log() else ":memory:"):
            return
        raise click.UsageError("nothing was changed: without a terminal to ask on, say --yes to take it in")
    with player.open_log() as review_log:
        for name in files:
            foreseen = foresee_file(review_log, name, SLIPS)
            for line in _told(name, foreseen, review_log):
                echo(line)
            if not foreseen.new:
                continue
            if asks and not click.confirm("Take it in?"):
                echo("left as it was")
                continue
            if review_log.fingerprint().last_seq:
                keep_copy(review_log, datetime.now().astimezone())
            import_file(review_log, name, SLIPS)


def _would_change(files: tuple[str, ...], path: str) -> bool:
    """Say what the files would change, of the log at `path` or an empty one: no log is made for a question."""
    from drills.cards.slips import SLIPS
    from scheduler.log.interchange import foresee_file
    from scheduler.log.review_log import ReviewLog

    changes = False
    with ReviewLog(path) as review_log:
        for name in files:
            foreseen = foresee_file(review_log, name, SLIPS)
            changes = changes or foreseen.new > 0
            for line in _told(name, foreseen, review_log):
                echo(line)
    return changes


def _told(name: str, foreseen: Foreseen, review_log: ReviewLog) -> list[str]:
    """What a file would change, in lines."""
    lines = [f"{name}: {foreseen.new} new, {foreseen.known} known already"]
    if foreseen.first is not None and foreseen.last is not None:
        first, last = foreseen.first.astimezone().date(), foreseen.last.astimezone().date()
        days = f"of {first}" if first == last else f"from {first} to {last}"
        machines = len(foreseen.logs)
        here = " and this one" if review_log.id in foreseen.logs and machines > 1 else ""
        own = foreseen.logs == (review_log.id,)
        others = machines - (review_log.id in foreseen.logs)
        where = "this machine" if own else f"{others} other machine{'s' * (others > 1)}{here}"
        lines.append(f"  {days}, first written on {where}")
    if foreseen.taken_back:
        lines.append(f"  takes back {foreseen.taken_back} of what is in your log")
    if foreseen.differing:
        lines.append(f"  says something else under {foreseen.differing} ids that are known; the earlier stamp counts")
    if foreseen.unknown_kinds:
        lines.append(f"  {foreseen.unknown_kinds} events say what only a newer version knows: kept, and handed on")
    if foreseen.new and not foreseen.known and review_log.latest() is not None:
        lines.append("  nothing in it is known here: is it yours, and not another player's?")
    return lines
