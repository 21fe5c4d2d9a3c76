"""`neckwork decks`: the decks there are, with counts that fit this player's neck."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from drills.cli.deck_commands import check, move, new, show
from drills.cli.output import echo, echo_json
from drills.cli.player_files import PlayerFiles, player_of

if TYPE_CHECKING:
    from pathlib import Path

    from drills.shapes.finder import ShapeFinder

__all__ = ["command"]


@click.group("decks", invoke_without_command=True)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
@click.pass_context
def command(ctx: click.Context, as_json: bool) -> None:
    """List the decks in the order in which they are taught, with how many cards fit your neck.

    Your own decks are a dozen lines of TOML: decks/README.md has every key. new, check, show and move help with
    them.

    \b
    Examples:
      neckwork decks
      neckwork decks --json
    """
    if ctx.invoked_subcommand is not None:
        return
    from shutil import get_terminal_size
    from textwrap import fill

    from drills.cards.deck import list_decks
    from drills.errors import DrillsError
    from drills.shapes.finder import ShapeFinder

    player = player_of()
    finder = ShapeFinder(player.neck())
    paths = list_decks(player.home.decks)
    width = max(len(path.stem) for path in paths)
    columns = get_terminal_size((200, 24)).columns  # whole lines where nobody looks
    rows = []
    for path in paths:
        try:
            rows.append(_row(player, path, finder))
        except DrillsError as error:  # one deck that cannot be read hides no other
            echo(f"{path.stem}: {error}", err=True)
            continue
        if not as_json:
            row = rows[-1]
            missing = f" ({row['left_out']} do not fit)" if row["left_out"] else ""
            line = f"{row['name']:{width}}  {row['cards']:5} cards{missing}  {row['title']}"
            echo(fill(line, columns, subsequent_indent=" " * (width + 2), break_on_hyphens=False))
    if as_json:
        echo_json(rows)


def _row(player: PlayerFiles, path: Path, finder: ShapeFinder) -> dict[str, Any]:
    """A deck with how many of its cards fit the player's neck."""
    from drills.cards.deck import read_deck
    from drills.cards.material import gather

    deck = read_deck(path, player.table, player.home.decks)
    material = gather(deck, finder.neck, table=player.table, tune_reader=player.tune_reader, finder=finder)
    return {"name": deck.name, "title": deck.title, "about": deck.about,
            "cards": len(material.cards), "left_out": len(material.left_out)}  # fmt: skip


for _one in (new, check, show, move):
    command.add_command(_one)
