"""A choice is the card to play now, with the rules of a teacher that had a say in it."""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["SHOWN", "Choice"]

SHOWN = "shown"
"""The rule that a card shown in a lesson is asked in the same session; it leaves nothing to choose."""


class Choice(NamedTuple):
    """A card to play now.

    rule: the rule without which another card would have gained more and been
    played, or None when gain alone decided. It is ``shown``, or a name of
    `scheduler.planning.preferences`. kept, yielded: the weighed rules that
    preferred some of the cards open; those this card is among, and those that
    gave way to what it gains.
    """

    card: str
    rule: str | None = None
    kept: tuple[str, ...] = ()
    yielded: tuple[str, ...] = ()
