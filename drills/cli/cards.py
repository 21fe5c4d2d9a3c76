"""`neckwork cards`: what a deck asks, and what it leaves out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from drills.cli.output import echo, echo_json
from drills.cli.player_files import (
    CHANGES_FIELDS,
    NECK_FIELDS,
    changes_options,
    focus_options,
    minor_remarks,
    neck_options,
    player_of,
)

if TYPE_CHECKING:
    from drills.cards.card import Card

__all__ = ["command"]


@click.command("cards")
@click.argument("deck", required=False)
@changes_options
@focus_options
@neck_options
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
def command(deck: str | None, as_json: bool, **options: Any) -> None:
    """List the cards of DECK (your usual one when left out) or of a tune, and what is left out with the reason.

    Beside a tune's card stands how often it comes in one chorus, averaged over the paths, and where.

    \b
    Examples:
      neckwork cards first --strings 654 --key Eb
      neckwork cards first --strings 543 --quality m7,m7b5 --top-fret 12
      neckwork cards --quality +dim7
      neckwork cards --changes blues-in-f
    """
    from drills.cards.focus import parse_focus
    from drills.cards.material import gather

    player = player_of()
    neck = player.neck(**{field: options.pop(field) for field in NECK_FIELDS})
    asked = player.deck(deck, **{field: options.pop(field) for field in CHANGES_FIELDS})
    focus = parse_focus(player.table, **options)
    for remark in minor_remarks(focus.keys):
        echo(remark, err=True)
    material = gather(asked, neck, focus=focus, table=player.table, tune_reader=player.tune_reader)
    if as_json:
        cards = [
            {
                "id": card.id,
                "prompt": card.prompt,
                "strings": list(card.strings.numbers) if card.strings else [],
                "quality": card.quality,
                "root": card.id.split("/")[2] if card.chord is None else card.chord.root.name,
                "form": card.form.id if card.form else "-",
                "kind": card.kind,
                "skills": list(card.skills),
                "weight": round(card.weight, 3),
                **({"to": card.to.id} if card.to else {}),
                **({"where": card.context} if card.context else {}),
            }
            for card in material.cards.values()
        ]
        left_out = [{"prompt": left.prompt, "reason": left.reason} for left in material.left_out]
        echo_json({"deck": material.deck.name, "cards": cards, "left_out": left_out})
        return
    for card in material.cards.values():
        echo(card.prompt + (f"  ({card.note})" if card.note else "") + _in_tune(card))
    count, missing = len(material.cards), len(material.left_out)
    echo(f"\n{count} card{'s' * (count != 1)} in {material.deck.title}", err=True)
    if missing:
        echo(f"{missing} left out:", err=True)
        for left in material.left_out:
            echo(f"  {left.reason}", err=True)


def _in_tune(card: Card) -> str:
    """How often a card comes in a tune, and where; ``""`` for a card of no tune."""
    return f"  {round(card.weight, 2):g} a chorus, {card.context}" if card.context else ""
