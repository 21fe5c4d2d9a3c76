"""Digests of the ids and skills of every shipped card, kept because logs name cards by them.

    python -m tests.cards.card_digests            compares every deck on every tuning with what is kept
    python -m tests.cards.card_digests --write    keeps today's digests, where none are kept
    python -m tests.cards.card_digests --write --replace    the same over those that are kept

A card whose id changes loses its player's history, so a difference is a fault unless the change was wanted.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from drills.cards.deck import find_deck, list_decks, read_deck
from drills.cards.material import gather
from drills.configuration.shipped import decks_folder
from drills.neck.neck import Neck
from drills.neck.tuning import read_tunings
from drills.shapes.finder import ShapeFinder
from drills.tunes.tune_deck import tune_deck, tune_reader

__all__ = ["KEPT", "Digest", "deck_names", "digest", "digests", "kept", "tune_names", "write"]

KEPT = Path(__file__).parent / "golden" / "card-digests.txt"
"""What an earlier version of the program answered for the decks it shipped."""

_HEAD = "# deck, tuning, cards, cards left out, sha256 of the sorted lines 'id skill skill ...'\n"


@dataclass(frozen=True, slots=True)
class Digest:
    """A deck on a tuning: how many cards it makes and leaves out, and one sum over all ids and skills."""

    deck: str
    tuning: str
    cards: int
    left_out: int
    sha256: str

    def __str__(self) -> str:
        return f"{self.deck} {self.tuning} {self.cards} {self.left_out} {self.sha256}"

    @classmethod
    def parse(cls, line: str) -> Digest:
        """Reads one line of the kept file."""
        deck, tuning, cards, left_out, sum_of_all = line.split()
        return cls(deck, tuning, int(cards), int(left_out), sum_of_all)


def deck_names() -> list[str]:
    """Every shipped deck, as taught."""
    return [path.stem for path in list_decks(None)]


def tune_names() -> list[str]:
    """Every shipped page of changes, written with its ending as the deck that it is."""
    return sorted(path.name for path in decks_folder().glob("*.changes"))


def neck_on(tuning: str) -> Neck:
    """The usual neck with a shipped tuning and its usual scale length."""
    named = read_tunings()[tuning]
    return Neck(tuning=named.tuning, scale_mm=named.scale_mm)


def digest(name: str, tuning: str, finder: ShapeFinder) -> Digest:
    """The digest of a deck, or of a tune when the name ends in ``.changes``, on the finder's neck."""
    tune = name.endswith(".changes")
    deck = tune_deck(name.removesuffix(".changes")) if tune else read_deck(find_deck(name, None))
    material = gather(deck, finder.neck, tune_reader=tune_reader(), finder=finder)
    lines = sorted(" ".join((card.id, *card.skills)) for card in material.cards.values())
    summed = sha256("\n".join(lines).encode()).hexdigest()
    return Digest(name, tuning, len(lines), len(material.left_out), summed)


def digests(names: list[str], tuning: str) -> Iterator[Digest]:
    """The digests of several decks on one tuning, which share the shapes found on its neck."""
    finder = ShapeFinder(neck_on(tuning))
    for name in names:
        yield digest(name, tuning, finder)


def kept() -> dict[tuple[str, str], Digest]:
    """The kept digests by deck and tuning."""
    lines = KEPT.read_text(encoding="utf-8").splitlines()
    found = (Digest.parse(line) for line in lines if not line.startswith("#"))
    return {(one.deck, one.tuning): one for one in found}


def write(path: Path, found: list[Digest], replace: bool) -> None:
    """Keeps digests in a file. Raises FileExistsError where some are kept, unless they are to be replaced."""
    if path.exists() and not replace:
        raise FileExistsError(f"{path}: digests are kept already; --replace writes over them")
    path.write_text(_HEAD + "".join(f"{one}\n" for one in found), encoding="utf-8")


def main() -> int:
    """Compares or keeps all digests; answers 1 when something differs."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--write", action="store_true", help="keep today's digests")
    parser.add_argument("--replace", action="store_true", help="write over the kept ones")
    parser.add_argument("--to", type=Path, default=KEPT, help="the file to write")
    given = parser.parse_args()
    if given.write and given.to.exists() and not given.replace:
        parser.error(f"{given.to}: digests are kept already; --replace writes over them")
    names = deck_names() + tune_names()
    found = [one for tuning in read_tunings() for one in digests(names, tuning)]
    if given.write:
        write(given.to, found, given.replace)
        return 0
    before = kept()
    wrong = [f"kept  {before.get((one.deck, one.tuning))}\ntoday {one}" for one in found
             if before.get((one.deck, one.tuning)) != one]  # fmt: skip
    gone = before.keys() - {(one.deck, one.tuning) for one in found}
    print("\n".join([*wrong, *(f"gone  {before[key]}" for key in sorted(gone))]) or f"all {len(found)} the same")
    return 1 if wrong or gone else 0


if __name__ == "__main__":
    sys.exit(main())
