"""What a group's deck says of its students: who is meant, and on which neck each of them plays."""

from __future__ import annotations

from dataclasses import replace

from drills.cards.deck import Deck
from drills.cards.group_decks import in_group
from drills.errors import DrillsError
from drills.neck.neck import Neck
from drills.neck.tuning import parse_tuning
from drills.progress.card_parts import card_parts
from drills.roster.folder import Read, StudentLog

__all__ = ["neck_of", "only_the_group"]


def only_the_group(read: Read, deck: Deck) -> tuple[Read, tuple[str, ...], int]:
    """What a folder holds of a group, those of it without a readable file, and how many students are of no such group.

    Names are told apart by their letters, capitals aside.
    """
    logs = {name: log for name, log in read.logs.items() if in_group(deck, name)}
    sent = {in_group(deck, name) for name in logs}
    silent = tuple(name for name in deck.students if name not in sent)
    return replace(read, logs=logs), silent, len(read.logs) - len(logs)


def neck_of(log: StudentLog, neck: Neck) -> Neck:
    """The neck a student last played on: the teacher's, or one of the tuning their last card of a shape names.

    A card's tuning is as it sounds, so that a capo counts only where the tuning is the teacher's own.
    """
    for review in reversed(log.state.reviews):
        if (parts := card_parts(review.card)) is None:
            continue
        try:
            tuning = parse_tuning(parts.tuning)
        except DrillsError:
            continue  # a card of no neck, or of another program
        return neck if tuning == neck.sounding else replace(neck, tuning=tuning, capo=0)
    return neck
