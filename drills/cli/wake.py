"""`neckwork wake`: cards set aside, listed and brought back."""

from __future__ import annotations

import click

from drills.cli.player_files import player_of
from drills.errors import DeckError

__all__ = ["command"]


@click.command("wake")
@click.argument("cards", nargs=-1, metavar="[CARD]...")
@click.option("--all", "every", is_flag=True, help="Wake every rested card.")
@click.option("--log", metavar="FILE", help="Another log than the usual one.")
def command(cards: tuple[str, ...], every: bool, log: str | None) -> None:
    """List the rested cards, or wake those named: a chord, a whole prompt, or a card's id.

    \b
    Examples:
      neckwork wake
      neckwork wake --all
    """
    from datetime import datetime

    player = player_of(log)
    if not player.has_log():
        click.echo("Nothing is rested.")
        return
    with player.open_log() if cards or every else player.read_log() as review_log:
        rested = {card: _prompt(card) for card in sorted(review_log.standing().rested)}
        wanted = list(rested) if every else [card for name in cards for card in _named(name, rested)]
        for card in dict.fromkeys(wanted):
            review_log.wake(card, datetime.now().astimezone())
            click.echo(f"awake: {rested[card]}")
        if not cards and not every:
            click.echo("\n".join(rested.values()) if rested else "Nothing is rested.")


def _prompt(card: str) -> str:
    """What a player calls a card; its id when the id is none of ours."""
    from drills.progress.card_parts import card_parts

    parts = card_parts(card)
    return parts.call if parts else card


def _named(name: str, rested: dict[str, str]) -> list[str]:
    """The rested cards a name means: all of a chord, those of one prompt, or one id."""
    wanted = name.strip().lower()
    found = [
        card for card, prompt in rested.items()
        if name == card or wanted in (prompt.lower(), prompt.lower().partition(",")[0])
    ]  # fmt: skip
    if not found:
        raise DeckError(f"card {name[:60]!r}: is not rested; neckwork wake lists those that are")
    return found
