"""What to type instead of an option that a command has not, where more can be said than that there is none."""

from __future__ import annotations

import click

from drills.errors import DrillsError

__all__ = ["instead_of"]

_PLAYS_BY_ITSELF = ("track", "hear")
"""Commands that sound when no file is asked for."""


def instead_of(error: click.NoSuchOption) -> str:
    """What was typed, what is right, and what there is to choose from; the usual words where nothing more is known."""
    command = error.ctx.command if error.ctx is not None else None
    arguments = [one.name for one in command.params if isinstance(one, click.Argument)] if command is not None else []
    if error.option_name == "--deck" and "deck" in arguments and error.ctx is not None:
        return f"--deck: a deck is named without it, such as {error.ctx.command_path} first{_decks(error.ctx)}"
    if error.option_name == "--play" and command is not None and command.name in _PLAYS_BY_ITSELF:
        return f"--play: {command.name} plays unless it writes a file; leave it out"
    return error.format_message()


def _decks(context: click.Context) -> str:
    """The decks there are, as the end of a sentence; ``""`` where the home cannot be told."""
    from drills.cards.deck import list_decks
    from drills.cli.player_files import player_of

    try:
        with context.scope(cleanup=False):  # whose decks: --player was read there
            own = player_of().home.decks
        return f"; there are {', '.join(sorted({path.stem for path in list_decks(own)}))}"
    except (DrillsError, OSError):
        return ""
