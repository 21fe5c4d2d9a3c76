"""`neckwork wake`: cards set aside, listed and brought back."""

from __future__ import annotations

import click

from drills.cli.player import player_of
from drills.errors import DeckError

__all__ = ["command"]


@click.command("wake")
@click.argument("cards", nargs=-1, metavar="[CARD]...")
@click.option("--all", "every", is_flag=True, help="Wake every rested card.")
@click.option("--log", metavar="FILE", help="Another log than the usual one.")
def command(cards: tuple[str, ...], every: bool, log: str | None) -> None:
    """List the rested cards, or wake those named by id.

    Example: neckwork wake E2A2D3G3B3E4/arpeggio/Bb/m7b5/543/name
    """
    from datetime import datetime

    player = player_of(log)
    if not player.log_path.exists():
        click.echo("Nothing is rested.")
        return
    with player.open_log() as review_log:
        rested = sorted(review_log.standing().rested)
        unknown = [card for card in cards if card not in rested]
        if unknown:
            raise DeckError(f"card {unknown[0][:60]!r}: is not rested; neckwork wake lists those that are")
        for card in rested if every else cards:
            review_log.wake(card, datetime.now().astimezone())
            click.echo(f"awake: {card}")
        if not cards and not every:
            click.echo("\n".join(rested) if rested else "Nothing is rested.")
