"""Small histories to report on."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import cache
from random import Random

from drills.cards.deck import find_deck, read_deck
from drills.cards.material import Material, gather
from drills.neck.neck import Neck
from scheduler.grade import Grade
from scheduler.review import Review

__all__ = ["START", "first_deck", "graded", "played"]

START = datetime(2024, 3, 4, 18, 0, tzinfo=UTC)


@cache
def first_deck() -> Material:
    """The default deck on the default neck."""
    return gather(read_deck(find_deck("first", None)), Neck())


def graded(card_id: str, grade: Grade, at: datetime, **more) -> Review:
    """A review of a card of the first deck, with its skills."""
    card = first_deck().cards[card_id]
    return Review(card_id, grade, at, more.pop("seconds", 5.0), skills=card.skills, **more)


def played(seed: int, days: int = 40, a_day: int = 12) -> list[Review]:
    """Random days at the first deck, repeats, slips and predictions among them."""
    rng = Random(seed)
    cards = sorted(first_deck().cards)
    found = []
    for day in range(days):
        if rng.random() < 0.3:
            continue
        for number in range(a_day):
            grade = rng.choice((*Grade, Grade.CLEAN, Grade.CLEAN))
            attempt = rng.choice(("first",) * 8 + ("repeat",))
            slip = rng.choice(("root", "shape")) if not grade.clean and rng.random() < 0.5 else None
            at = START + timedelta(days=day, seconds=20 * number)
            found.append(
                graded(
                    rng.choice(cards), grade, at, attempt=attempt, slip=slip, seconds=rng.uniform(1, 80),
                    predicted=rng.random(), id=f"{seed}-{day}-{number}", spent=rng.uniform(5, 60),
                )
            )  # fmt: skip
    return found
