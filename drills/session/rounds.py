"""A round: one form, or one key's seven chords, through all keys in order."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable

from drills.cards.card import Card
from drills.cards.kinds import kind_of
from drills.cards.material import Material
from drills.errors import DeckError

__all__ = ["ORDERS", "round_cards"]

ORDERS = ("fourths", "chromatic", "random")
"""In which order the roots come: up a fourth, up a semitone, or shuffled."""


def round_cards(
    material: Material,
    order: str = "fourths",
    *,
    hop: bool = True,
    seed: int = 0,
    start: int | None = None,
    allowed: Callable[[str], bool] = lambda card_id: True,
) -> list[Card]:
    """The cards of a round, each root once.

    material: narrowed to one quality and form, or to one key. order: one of `ORDERS`.
    hop: each root is taken on the string set where it lies nearest to the one before (on a
    tie the fewest strings crossed, then the lower fret; drills/RULES.md, D1 and G30); else the
    first root's set is stayed on wherever the root fits. seed: for the shuffle.
    start: pitch class of the first root; C, or the key's first chord, unless given. allowed: whether a
    card may be asked at all, by its id, see `TeachingRules.allows`; others are passed over.

    Raises DeckError when there is nothing to go round, or an order is unknown.
    """
    if order not in ORDERS:
        raise DeckError(f"round, order: expected one of {', '.join(ORDERS)}, got {order!r}")
    by_root: dict[int, list[Card]] = {}
    every = material.cards.values()
    cards = [card for card in every if card.is_shape and not kind_of(card.kind).away]
    if every and not cards:
        kinds = ", ".join(dict.fromkeys(kind_of(card.kind).name for card in every))
        raise DeckError(f"round: expected prompts that ask for one shape on the guitar, such as name, got {kinds}")
    awake = [card for card in cards if allowed(card.id)]
    if cards and not awake:
        raise DeckError("round: every card of it rests; neckwork wake brings cards back")
    cards = awake
    for card in cards:
        by_root.setdefault(card.own_chord.root.pitch_class, []).append(card)
    if not by_root:
        raise DeckError("round: nothing on this neck fits; widen the focus or raise the top fret")
    qualities = {card.quality for card in cards}
    keys = {card.key for card in cards}
    if len(qualities) > 1 and (len(keys) > 1 or None in keys):
        raise DeckError(f"round: expected one quality, or one key, got {', '.join(sorted(qualities))}")
    first = start if start is not None else _tonic(cards)
    roots = _ordered(sorted(by_root), order, first, seed)
    chosen: list[Card] = []
    for root in roots:
        chosen.append(_taken(material, by_root[root], chosen[-1] if chosen else None, hop))
    return chosen


def _tonic(cards: Iterable[Card]) -> int:
    key = next((card.key for card in cards), None)
    return key.tonic.pitch_class if key else 0


def _ordered(roots: list[int], order: str, first: int, seed: int) -> list[int]:
    if order == "random":
        shuffled = list(roots)
        random.Random(seed).shuffle(shuffled)
        return shuffled
    # Twelve fourths, or twelve semitones, pass every root once and come home.
    step = 5 if order == "fourths" else 1
    return [root for root in ((first + step * turn) % 12 for turn in range(12)) if root in roots]


def _taken(material: Material, cards: list[Card], before: Card | None, hop: bool) -> Card:
    if before is None:
        return max(cards, key=lambda card: card.own_strings.numbers[0])
    if not hop:
        return next((card for card in cards if card.strings == before.strings), cards[0])
    place = material.answer(before).root

    def distance(card: Card) -> tuple[int, int, int]:
        root = material.answer(card).root
        return abs(root.fret - place.fret), abs(root.string - place.string), root.fret

    return min(cards, key=distance)
