"""A group's deck as one of its students has it, and as a file that goes to that student alone."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from difflib import get_close_matches
from typing import Any

from drills.cards.deck import Block, Deck
from drills.errors import DeckError
from drills.safe_text import drawn

__all__ = ["deck_of_student", "deck_toml", "in_group", "week_of"]


def in_group(deck: Deck, name: str) -> str | None:
    """The name of a student as the group's deck writes it, capitals aside; None for somebody else."""
    wanted = drawn(name).strip().casefold()
    return next((one for one in deck.students if one.casefold() == wanted), None)


def deck_of_student(deck: Deck, name: str) -> Deck:
    """A group's deck with the student's own first day and nobody's name; a deck of no group is everybody's.

    Raises DeckError when the group is without that student.
    """
    if not deck.students:
        return deck
    if (own := in_group(deck, name)) is None:
        near = get_close_matches(name, deck.students, 1)
        meant = f" (nearest: {near[0]})" if near else ""
        raise DeckError(f"deck {deck.name}, students: expected {name[:60]!r} among them{meant}; add the name")
    return replace(deck, starts=deck.own_starts.get(own, deck.starts), students=(), own_starts={})


def week_of(deck: Deck, day: date) -> int | None:
    """The deck's week on a day: 1 in the seven days from `starts`, 0 or less before, None for a deck without dates."""
    return (day - deck.starts).days // 7 + 1 if deck.starts else None


def deck_toml(deck: Deck) -> str:
    """A deck as one file that names no other deck and no student, so that it can be sent.

    What a block of changes names, it still names: whoever sends the file sends that page too.
    """
    import tomlkit

    document = tomlkit.document()
    for key in ("title", "about", "teacher"):
        if value := getattr(deck, key):
            document.add(key, value)
    if deck.starts:
        document.add("starts", deck.starts)
    if deck.in_order:
        document.add("in_order", True)
    blocks = tomlkit.aot()
    for block in deck.blocks:
        table = tomlkit.table()
        for key, written in _block_keys(block).items():
            table.add(key, written)
        blocks.append(table)
    document.add("material", blocks)
    tables: dict[str, dict[str, Any]] = {
        "neck": dict(deck.neck),
        "limits": {f"new_{kind}s": most for kind, most in deck.limits.items()},
        "fingerings": {" ".join(key): " ".join(map(str, fingers)) for key, fingers in deck.fingerings.items()},
        "names": dict(deck.names),
    }
    for name, values in tables.items():
        if values:
            section = tomlkit.table()
            for key, value in values.items():
                section.add(key, value)
            document.add(name, section)
    return tomlkit.dumps(document)


def _block_keys(block: Block) -> dict[str, Any]:
    """The keys of a block's table; what is as it is when left out is left out."""
    week = {"from_week": block.from_week} if block.from_week > 1 else {}
    if block.changes:
        asked: dict[str, Any] = {"changes": block.changes}
        asked |= {"transpose": block.transpose} if block.transpose else {}
        asked |= {"from_strings": list(block.starts)} if block.starts else {}
        return asked | ({"prompts": list(block.prompts)} if block.prompts else {}) | week
    sets = ["core"] * block.core + [one.id for one in block.string_sets]
    lists = {
        "qualities": block.qualities,
        "string_sets": sets,
        "forms": block.forms,
        "roots": [note.name for note in block.roots],
        "keys": [key.name for key in block.keys],
        "prompts": block.prompts,
    }
    return {key: list(values) for key, values in lists.items() if values} | week
