"""`neckwork round`: one form, or one key's seven chords, through all keys in order."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from drills.cli.player_files import focus_options, neck_options, player_of
from drills.cli.sitting_down import sit, sit_options

if TYPE_CHECKING:
    from drills.cards.material import Material
    from drills.session.choosing import Chooser
    from scheduler.planning.planner import Planner

__all__ = ["command"]

LONGEST_MINUTES = 10.0
"""A round of twelve keys ends by itself well before; hands off after ten minutes (drills/RULES.md, E)."""


@click.command("round")
@click.argument("deck", required=False)
@click.option("--order", type=click.Choice(("fourths", "chromatic", "random")), default="fourths", show_default=True)
@click.option("--stay", is_flag=True, help="Stay on one string set instead of hopping to the nearest root.")
@focus_options
@neck_options
@sit_options
def command(
    deck: str | None, order: str, stay: bool, plain: bool, quiet: bool, log: str | None, seed: int, **options: Any
) -> int:
    """Take one form through all keys in order, or the seven chords of one key.

    Key k gives a count-in and a click. Each card is graded once, as in a session.

    A round is the lesson, the session the test.

    \b
    Examples:
      neckwork round
      neckwork round --quality maj7 --order fourths
    """
    from drills.session.choosing import in_order
    from drills.session.rounds import round_cards
    from drills.session.session_state import ROUND

    if options.get("prompt") is None and options.get("key") is None:
        options["prompt"] = "name"
    if options.get("key") is not None and options.get("prompt") is None:
        options["prompt"] = "degree"
    if options.get("quality") is None and options.get("key") is None:
        options["quality"] = "maj7"

    if order == "random" and seed == 0:
        import random

        seed = random.randrange(1, 1_000_000)

    def chooser(material: Material, planner: Planner) -> Chooser:
        cards = round_cards(material, order, hop=not stay, seed=seed, allowed=planner.rules.allows)
        return in_order([card.id for card in cards], planner)

    return sit(
        player_of(log), deck, options, kind=ROUND, minutes=LONGEST_MINUTES, plain=plain, quiet=quiet, seed=seed,
        chooser=chooser,
    )  # fmt: skip
