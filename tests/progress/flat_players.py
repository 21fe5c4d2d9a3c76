"""Players whose chance of a clean try is the same everywhere and never changes, and what is claimed of them.

    python -m tests.progress.flat_players SEED

prints how many of a hundred meet a false claim when they look at `progress` and at the end of the session on each of 28
days, and how often a true difference is named. The sentences are the program's own, read as a player reads them.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from datetime import timedelta
from random import Random

from drills.progress.card_parts import kind_of_card
from drills.progress.claim_groups import groups_of, judged
from drills.progress.claim_sentences import claim_lines
from drills.progress.progress_sentences import sentences
from drills.progress.report import RECENT_DAYS, make_report
from scheduler.days.practice_day import practice_day, practice_day_number
from scheduler.grade import Grade
from scheduler.review import Review
from scheduler.statistics.claims import MARK
from scheduler.statistics.digest import digest
from scheduler.statistics.recent_tries import tries_of_reviews
from tests.progress.players import START, first_deck, graded

__all__ = ["false_claims", "flat_player", "heads_met", "named", "two_kinds", "two_places"]

DAYS = 28
ASKS = 22
NEW_FORMS, NEW_CARDS = 2, 4
HEADS = ("Weakest", "To watch", "Stronger", "Firm", "Going well", "Not yet", "the count says")


def dated(reviews: Sequence[Review]) -> list[tuple[Review, int]]:
    """Reviews with their practice days."""
    return [(one, practice_day_number(one.at)) for one in reviews]


def flat_player(chance: float, seed: int, days: int = DAYS, cards: Sequence[str] = ()) -> list[Review]:
    """The reviews of a player, day after day, as ten minutes a day make them.

    Up to two new forms and four new cards a day come with a lesson. Yesterday's misses come first, then what has not
    been asked for longest; a miss is asked again the same day. cards: ids in the order of introduction.
    """
    rng = Random(seed)
    order = list(cards or sorted(first_deck().cards, key=lambda card: (first_deck().cards[card].place, rng.random())))
    found: list[Review] = []
    last: dict[str, int] = {}
    missed: list[str] = []
    for day in range(days):
        at = START + timedelta(days=day)

        def ask(card: str, attempt: str = "first", grade: Grade | None = None, at=at) -> bool:
            given = grade or (Grade.CLEAN if rng.random() < chance else Grade.FOUND)
            moment = at + timedelta(seconds=len(found) % 10_000)
            found.append(graded(card, given, moment, attempt=attempt, id=f"{seed}-{len(found)}"))
            return given.clean

        new = [card for card in order if card not in last][:NEW_CARDS]
        due = [card for card in missed if card not in new]
        rest = sorted((card for card in last if card not in due), key=lambda card: (last[card], rng.random()))
        today, missed = [*due, *rest][: ASKS - len(new)], []
        for card in new:
            ask(card, "repeat", Grade.FOUND)
        for card in [*today, *new]:
            if not ask(card):
                missed.append(card)
            last[card] = day
        for card in missed[:3]:
            ask(card)
    return found


def heads_met(reviews: Sequence[Review]) -> set[str]:
    """The words of the claims that stand on `progress` and at the end of a session after the last of the reviews."""
    now = reviews[-1].at + timedelta(minutes=1)
    tries = tries_of_reviews(dated(reviews), practice_day(now))
    since = now - timedelta(days=RECENT_DAYS)
    whole = digest(reviews, kind=kind_of_card)
    recent = whole if reviews[0].at >= since else digest([one for one in reviews if one.at >= since], kind=kind_of_card)
    claims = judged(tries)
    report = make_report(whole, recent, practice_day(now), claims=claims)
    today = {one.card for one in reviews if practice_day(one.at) == report.today}
    played = {group for card in today for group in groups_of(card, first_deck().cards[card].skills)}
    lines = [*sentences(report), *claim_lines(claims.about(played))]
    return {head for head in HEADS for line in lines if line.startswith(head + ":") or head in line.split(": ")[-1]}


def false_claims(chance: float, reviews: Sequence[Review]) -> set[str]:
    """The false claims that a player of that chance meets who looks at the end of each practice day."""
    met: set[str] = set()
    days = [day for _, day in dated(reviews)]
    for number, day in enumerate(days, 1):
        if number == len(days) or days[number] != day:
            met |= heads_met(reviews[:number])
    true = {"Going well"} if chance >= MARK else {"Not yet"}
    return met - true


def two_places(seed: int) -> list[str]:
    """Cards of two places with roots on the lower half of one string, in the order of introduction: two groups."""
    cards = [
        card.id
        for card in first_deck().cards.values()
        if card.place in ("m7 on 6-5-4", "7 on 6-5-4") and ("roots", (6, False)) in groups_of(card.id, card.skills)
    ]
    return Random(seed).sample(cards, len(cards))


def two_kinds(seed: int, places: int, tries: int, low: float = 0.45, high: float = 0.75) -> tuple[list[Review], str]:
    """First tries in four weeks at some places, so many at each; the chance is `low` at one of them, whose name comes
    back too, and `high` at the others."""
    rng = Random(seed)
    here: dict[str, list[str]] = {}
    for card in first_deck().cards.values():
        here.setdefault(card.place, []).append(card.id)
    chosen = sorted(here)[:places]
    weak = rng.choice(chosen)
    found = []
    for place in chosen:
        for number in range(tries):
            card = here[place][number % 12]
            day = number // 12 * 4 + rng.randrange(4)  # a card once a day
            clean = rng.random() < (low if place == weak else high)
            at = START + timedelta(days=day, seconds=len(found))
            skills = tuple(skill for skill in first_deck().cards[card].skills if not skill.startswith("root:"))
            found.append(
                Review(card, Grade.CLEAN if clean else Grade.FOUND, at, 5.0, skills=skills, id=f"{seed}-{len(found)}")
            )
    return sorted(found, key=lambda one: one.at), weak


def named(reviews: Sequence[Review], place: str) -> bool:
    """Whether a place is named as weakest or to watch after the last of the reviews."""
    tries = tries_of_reviews(dated(reviews), practice_day(reviews[-1].at))
    return any(f"{head}: {place}," in line for line in claim_lines(judged(tries)) for head in HEADS[:2])


def _rate(what: Callable[[int], bool], seeds: range) -> float:
    return 100 * sum(map(what, seeds)) / len(seeds)


def main(seed: int, players: int = 100, trials: int = 400) -> None:
    """Prints the table."""
    print("# Claims made of simulated players\n")
    print(f"`python -m tests.progress.flat_players {seed}`\n")
    print("Of 100 players whose chance is the same everywhere and never changes, how many meet a false claim on")
    print(f"`progress` or at the end of a session in {DAYS} days of looking every day ({players} players a row):\n")
    print("| cards | chance of a clean try | meet any false claim | which |")
    print("|---|---|---|---|")
    for cards, chance in (
        (cards, chance) for cards in ("first deck", "two places") for chance in (0.45, 0.6, 0.75, 0.9)
    ):
        chosen = two_places if cards == "two places" else lambda _: []
        met = [
            false_claims(chance, flat_player(chance, seed + number, cards=chosen(seed + number)))
            for number in range(players)
        ]
        which = sorted({word for words in met for word in words})
        told = ", ".join(f"{word.lower()} {100 * sum(word in words for words in met) / players:g}" for word in which)
        print(f"| {cards} | {chance:g} | {100 * sum(map(bool, met)) / players:g} | {told or '-'} |", flush=True)
    print(f"\nOf 100 players with a true difference of .75 against .45, how many have it named ({trials} a row):\n")
    print("| compared | tries a side | named |")
    print("|---|---|---|")
    for places, tries in ((2, 40), (12, 80)):
        seeds = range(seed, seed + trials)
        print(
            f"| {places} places | {tries} | {_rate(lambda s, p=places, t=tries: named(*two_kinds(s, p, t)), seeds):g} |"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]), *map(int, sys.argv[2:]))
