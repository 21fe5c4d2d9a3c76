"""Students with one planted cause, and students without any: how often the cause is named right, and how often falsely.

    python -m tests.roster.planted_causes SEED [STUDENTS]

prints the tables of planted_causes.md. Each student practises twenty cards a day of the default deck, yesterday's
misses first and then what was not asked for longest. A clean try has chance .75, and .45 where what is planted is
needed. Seven misses of ten get a slip; what comes of the cause is named as such four times of five, and everything else
by a habit of the student's own.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Sequence
from datetime import timedelta
from random import Random

from drills.cards.card import Card
from drills.progress.card_parts import card_parts
from drills.progress.player_causes import CauseGroup, PlayerCause, cause_groups
from drills.roster.folder import Read, StudentLog
from drills.roster.groups import StudentGroup, cause_in_common
from drills.roster.roster_sheet import make_sheet
from drills.roster.student import student
from scheduler.grade import Grade
from scheduler.log.fold import LogState
from scheduler.review import Review
from tests.progress.players import START, first_deck

__all__ = [
    "DECKS",
    "FITTING",
    "HIGH",
    "LOW",
    "SLIPS",
    "cause_named",
    "class_with_a_gap",
    "falsely_named_roster",
    "met_cards",
    "practised",
    "share_needing",
]

HIGH, LOW = 0.75, 0.45
A_DAY = 20
SLIPS = ("root", "shape", "fingering", "time")
FITTING = {"roots": ("root",), "form": ("shape", "fingering"), "spelling": ("shape",)}
DECKS = {
    "four qualities on three sets": (("m7", "7", "maj7", "m7b5"), ("654", "543", "432")),
    "two qualities on three sets": (("m7", "7"), ("654", "543", "432")),
}
"""What a student has met, six roots each."""


def met_cards(rng: Random, deck: str, roots: int = 6) -> list[Card]:
    """Cards of a deck of DECKS, so many roots at each place, drawn by chance."""
    qualities, sets = DECKS[deck]
    places: dict[tuple[str, str], list[Card]] = {}
    for card in first_deck().cards.values():
        parts = card_parts(card.id)
        if parts and parts.quality in qualities and parts.strings in sets:
            places.setdefault((parts.strings, parts.quality), []).append(card)
    return [card for _, here in sorted(places.items()) for card in rng.sample(here, roots)]


def practised(
    seed: int,
    kind: str = "",
    tries: int = 200,
    deck: str = next(iter(DECKS)),
    *,
    spread: float = 0.0,
    naming: float = 0.7,
    right: float = 0.8,
) -> tuple[list[Review], CauseGroup | None]:
    """First tries in their order, and what is planted: one group of a kind, drawn by chance, or nothing.

    spread: how much the cards differ by themselves, standard deviation in logits. naming, right: see above.
    """
    rng = Random(seed)
    cards = {card.id: card for card in met_cards(rng, deck)}
    needs = {card: cause_groups(cards[card].skills) for card in cards}
    planted = rng.choice(sorted({g for some in needs.values() for g in some if g[0] == kind})) if kind else None
    own = {card: rng.gauss(0, spread) for card in cards}
    habit = [rng.random() + 0.3 for _ in SLIPS]
    last = dict.fromkeys(cards, -1.0)
    missed: list[str] = []
    found: list[Review] = []
    day = 0
    while len(found) < tries:
        rest = sorted((card for card in last if card not in missed), key=lambda card: (last[card], rng.random()))
        today, missed = [*missed, *rest][:A_DAY], []
        for card in today[: tries - len(found)]:
            weak = planted in needs[card]
            usual = math.log((LOW if weak else HIGH) / (1 - (LOW if weak else HIGH)))
            clean = rng.random() < 1 / (1 + math.exp(-usual - own[card]))
            slip = None
            if not clean:
                missed.append(card)
                caused = weak and planted and rng.random() < (HIGH - LOW) / (1 - LOW) and rng.random() < right
                named = rng.choice(FITTING[planted[0]]) if caused and planted else rng.choices(SLIPS, habit)[0]
                slip = named if rng.random() < naming else None
            at = START + timedelta(days=day, seconds=20 * len(found))
            last[card] = day
            found.append(
                Review(card, Grade.CLEAN if clean else Grade.FOUND, at, 5.0, skills=cards[card].skills, slip=slip,
                       id=f"{seed}-{len(found)}")
            )  # fmt: skip
        day += 1
    return found, planted


def cause_named(reviews: Sequence[Review]) -> PlayerCause | None:
    """The cause that a sheet names of a student on the day of the last review."""
    return student("Student 1", StudentLog(LogState(tuple(reviews))), reviews[-1].at.date()).cause


def share_needing(reviews: Sequence[Review], group: CauseGroup) -> float:
    """The share of first tries that need a group."""
    return sum(group in cause_groups(one.skills) for one in reviews) / len(reviews)


def falsely_named_roster(seed: int, students: int = 20, **more: float) -> bool:
    """Whether of a class without any cause somebody is named."""
    return any(cause_named(practised(1000 * seed + number, **more)[0]) for number in range(students))  # type: ignore[arg-type]  # numbers alone are passed on


def class_with_a_gap(seed: int, lacking: int = 5, others: int = 15) -> tuple[set[str], set[str], list[StudentGroup]]:
    """A class of which some lack the roots of one string: their names, all names, and the groups that a sheet makes."""
    logs: dict[str, StudentLog] = {}
    chosen = ""
    number = 0
    while len(logs) < lacking:
        reviews, planted = practised(1000 * seed + number, "roots", 400)
        number += 1
        if planted is not None and chosen in ("", planted[1]):
            chosen = planted[1]
            logs[f"Student {len(logs) + 1}"] = StudentLog(LogState(tuple(reviews)))
    with_it = set(logs)
    for _ in range(others):
        number += 1
        reviews, _ = practised(1000 * seed + number, "", 400)
        logs[f"Student {len(logs) + 1}"] = StudentLog(LogState(tuple(reviews)))
    day = max(log.state.reviews[-1].at.date() for log in logs.values())
    return with_it, set(logs), cause_in_common(make_sheet(Read(logs, ()), day).students)


def _row(seed: int, students: int, kind: str, tries: int, deck: str, **more: float) -> str:
    right = wrong = 0
    share = 0.0
    for number in range(students):
        reviews, planted = practised(seed + number, kind, tries, deck, **more)  # type: ignore[arg-type]  # as above
        assert planted is not None
        share += share_needing(reviews, planted) / students
        if (cause := cause_named(reviews)) is not None:
            right += planted in cause.groups
            wrong += bool(cause.groups) and planted not in cause.groups
    return f"| {deck} | {kind} | {tries} | {share:.2f} | {100 * right / students:g} | {100 * wrong / students:g} |"


def main(seed: int, students: int = 500) -> None:
    """Prints the tables."""
    print("# Causes named of simulated students\n")
    print(f"`python -m tests.roster.planted_causes {seed} {students}`\n")
    print((__doc__ or "").split("\n\n")[2].replace("\n", " ") + "\n")
    print(f"Of 100 students with one planted cause, how many have it named right ({students} a row):\n")
    print("| met | planted | first tries | of these need it | named right | another named |\n|---|---|---|---|---|---|")
    for deck in DECKS:
        for kind in FITTING:
            for tries in (200, 400):
                print(_row(seed, students, kind, tries, deck), flush=True)
    print("\nThe same where nine misses of ten get a slip, and nineteen of twenty are named right:\n")
    print("| met | planted | first tries | of these need it | named right | another named |\n|---|---|---|---|---|---|")
    for deck in DECKS:
        for kind in FITTING:
            print(_row(seed, students, kind, 200, deck, naming=0.9, right=0.95), flush=True)
    classes = students // 5
    met, found, outside = 0, 0, 0
    for number in range(classes // 4):
        lacking, _, groups = class_with_a_gap(seed + number)
        grouped = {name for group in groups for name in group.names}
        met, found, outside = met + len(lacking), found + len(grouped & lacking), outside + len(grouped - lacking)
    print(
        f"\nOf {met} students of classes of twenty, five of whom lack the roots of one string (400 first tries each),"
    )
    print(f"{found} stand in a group; of the others {outside} do.", flush=True)
    print(f"\nOf 100 classes of twenty without any cause, in how many somebody is named ({classes} a row):\n")
    print("| cards | classes |\n|---|---|")
    for spread in (0.0, 0.5):
        named = sum(falsely_named_roster(seed + number, spread=spread) for number in range(classes))
        print(f"| {'all alike' if not spread else 'differ by half a logit'} | {100 * named / classes:g} |", flush=True)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
