"""`neckwork wake`: cards set aside, listed and brought back."""

from __future__ import annotations

import click

from drills.cli.output import echo
from drills.cli.player_files import player_of
from drills.errors import DeckError

__all__ = ["command"]


@click.command("wake")
@click.argument("cards", nargs=-1, metavar="[CARD]...")
@click.option("--all", "every", is_flag=True, help="Wake every rested card.")
@click.option("--log", metavar="FILE", help="Another log than the usual one.")
def command(cards: tuple[str, ...], every: bool, log: str | None) -> None:
    """List the rested cards, or wake those named: a chord, a whole prompt, or a card's id.

    What was left out because a hand hurt is listed too; the name "hand" brings it back.

    \b
    Examples:
      neckwork wake
      neckwork wake --all
      neckwork wake hand
    """
    from datetime import datetime

    from drills.cards.sore_hand import SORE_HAND, stretch_words, stretches_in

    player = player_of(log)
    if not player.has_log():
        echo("Nothing is rested.")
        return
    with player.open_log() if cards or every else player.read_log() as review_log:
        standing = review_log.standing()
        rested = {card: _prompt(card) for card in sorted(standing.rested)}
        stretches = stretches_in(standing.tickets)
        names = [name for name in cards if name.strip().lower() != SORE_HAND]
        wanted = list(rested) if every else [card for name in names for card in _named(name, rested)]
        for card in dict.fromkeys(wanted):
            review_log.wake(card, datetime.now().astimezone())
            echo(f"awake: {rested[card]}")
        if every or len(names) < len(cards):
            for stretch in stretches:
                review_log.ticket(stretch.subject, None, datetime.now().astimezone())
                echo(f"awake: {stretch_words(stretch)}")
        if len(names) < len(cards) and not stretches:
            echo("Nothing is left out for the hand.")
        if not cards and not every:
            listed = [*rested.values(), *(f"{SORE_HAND}: {stretch_words(stretch)}" for stretch in stretches)]
            echo("\n".join(listed) if listed else "Nothing is rested.")


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
