"""The first weeks of five simulated players, day by day, with a check of the rules that are never broken.

``python -m tests.session.first_weeks --days 28 > tests/session/FIRST_WEEKS.md`` writes the page beside this file. The
program's own session is played, with its log on disk and a clock that is moved; it is not played in a terminal. The
check reads only what came on the screen, in order, and the log: it asks neither planner nor deck rules.
"""

from __future__ import annotations

import argparse
import math
import random
import tempfile
from collections import Counter, defaultdict
from datetime import timedelta
from pathlib import Path
from typing import NamedTuple

from tests.session.sittings import Clock, Sitting

__all__ = ["PLAYERS", "RULES", "Day", "Player", "Shown", "breaks", "play_days"]


class Player(NamedTuple):
    """How a player learns: all by one made-up law, chance = exp(-days since / hold), more hold after every play.

    hold_days: after the first play. growth: of the hold after a clean try a day or more later. slips: share of clean
    tries that go wrong all the same. away: first and last day of an absence, or None. seconds: for a clean answer.
    """

    hold_days: float
    growth: float
    slips: float = 0.05
    away: tuple[int, int] | None = None
    seconds: float = 9.0


PLAYERS = {
    "fast": Player(4.0, 2.2, seconds=6.0),
    "slow": Player(0.8, 1.5, seconds=14.0),
    "gifted": Player(15.0, 3.0, 0.02),
    "careless": Player(3.0, 2.0, 0.3),
    "away ten days": Player(3.0, 2.0, away=(9, 18)),
}


class Shown(NamedTuple):
    """A card on the screen: its id, what it asks, whether a lesson, its grade key or ``""``, and its shape's place."""

    card: str
    call: str
    strings: str
    lesson: bool
    key: str
    skills: tuple[str, ...]
    apart: tuple[str, ...]
    root_fret: int
    lowest_fret: int
    reach_mm: float


class Day(NamedTuple):
    """One practice day. number: from 0. shown: in order. said: the end screen's lines."""

    number: int
    shown: list[Shown]
    said: list[str]
    kept: Counter[str]
    yielded: Counter[str]


def play_days(player: Player, days: int, folder: Path, seed: int = 0) -> list[Day]:
    """Plays a session a day on the first deck, but for an absence."""
    return [*_days(player, days, folder, seed)]


def _days(player, days, folder, seed):
    chance, clock = random.Random(f"{player} {seed}"), Clock()
    holds: dict[str, float] = {}
    lasts: dict[str, float] = {}
    for number in range(days):
        began = clock()
        if player.away is None or not player.away[0] <= number <= player.away[1]:
            yield _session(player, number, Sitting(folder / "log.sqlite3", clock=clock), chance, holds, lasts)
        clock.at = began + timedelta(days=1)


def _session(player, number, one, chance, holds, lasts):
    planner, chosen = one.drill.planner, {}
    choice = planner.choice

    def spy(at, without=()):
        found = choice(at, without)
        chosen["last"] = found
        return found

    planner.choice = spy
    kept, yielded, shown = Counter(), Counter(), []
    one.start()
    while not one.state.over and one.state.phase.value != "music":
        card, found = one.state.card, chosen.get("last")
        if found is not None and found.card == card.id:
            kept.update(found.kept)
            yielded.update(found.yielded)
            chosen.clear()
        if one.state.phase.value == "lesson":
            shown.append(_shown(one, card, ""))
            one.press("enter", seconds=20)
            key = ""
        else:
            now = number + chance.random() / 100.0
            holding = [math.exp(-(now - lasts[s]) / holds[s]) if s in lasts else 0.3 for s in card.skills[:2]]
            clean = chance.random() < min(holding) and chance.random() >= player.slips
            key = ("t" if chance.random() < 0.2 else "c") if clean else ("f" if chance.random() < 0.3 else "l")
            shown.append(_shown(one, card, key))
            one.play(key, look=player.seconds if clean else 2.0 * player.seconds, spent=4.0)
        for skill in card.skills[:2]:
            if skill not in holds:
                holds[skill] = player.hold_days
            elif key in ("c", "t") and number - lasts[skill] >= 0.9:
                holds[skill] *= player.growth
            lasts[skill] = float(number)
    said = [f"{sum(s.key in ('c', 't') for s in shown)} of {sum(bool(s.key) for s in shown)} clean"]
    one.log.close()
    return Day(number, shown, said, kept, yielded)


def _shown(one, card, key):
    shape = one.material.answer(card)
    return Shown(
        card.id, card.call, card.set_name, not key, key, tuple(card.skills), tuple(card.apart), shape.root.fret,
        shape.lowest_fret, shape.reach_mm,
    )  # fmt: skip


RULES = {
    "a root twice running at one place": "absolute",
    "more than two new shapes in a session": "absolute",
    "more than four new roots in a session": "absolute",
    "a card asked again before two others": "absolute",
    "five cards twice in one order": "absolute",
    "asked before a lesson showed the shape": "absolute",
    "lessons running: two on day one, three later": "absolute",
    "a shape's first three questions off frets 5 to 10": "absolute",
    "a stretch over 100 mm in the first fortnight": "absolute",
    "a second set of strings on day one": "preference",
    "an open string or frets 1 to 3 in the first ten days": "preference",
    "one quality twice running on one set": "preference",
    "a session begun with a card not met before": "preference",
}
"""What the check counts. The absolute ones are never broken while anything else is open; in this deck it always is."""


def breaks(days: list[Day]) -> Counter[str]:
    """How often each of `RULES` was broken, from what was shown alone."""
    found: Counter[str] = Counter()
    met: set[str] = set()
    lessons: set[str] = set()
    questions: dict[str, int] = defaultdict(int)
    names = list(RULES)
    began = days[0].number if days else 0
    for day in days:
        first = day.number == began
        asked = [one for one in day.shown if not one.lesson]
        order = [one.card for one in asked]
        new = [{s for s in one.skills if s not in met} for one in day.shown]
        fresh = set().union(*new)
        found[names[1]] += sum(s.startswith("form:") for s in fresh) > 2
        found[names[2]] += sum(s.startswith("root:") for s in fresh) > 4
        found[names[12]] += bool(met) and any(s not in met for s in day.shown[0].skills)
        for before, after in zip(day.shown, day.shown[1:], strict=False):
            follows = before.lesson and before.card == after.card
            found[names[0]] += not follows and not set(before.apart).isdisjoint(after.apart)
            alike = (before.skills[0], before.strings) == (after.skills[0], after.strings)
            found[names[11]] += not follows and alike
        for number, card in enumerate(order):
            found[names[3]] += card in order[max(0, number - 2) : number]
        fives = [tuple(order[start : start + 5]) for start in range(len(order) - 4)]
        found[names[4]] += len(fives) - len(set(fives))
        running = 0
        for one in day.shown:
            form = one.skills[0]
            running = running + 1 if one.lesson else 0
            found[names[6]] += running > (1 if first else 2)
            if one.lesson:
                lessons.add(form)
            else:
                found[names[5]] += form not in lessons
                found[names[7]] += questions[form] < 3 and not 5 <= one.root_fret <= 10
                questions[form] += 1
            if one.card not in met:
                early = day.number - began < 10
                found[names[10]] += early and (one.lowest_fret == 0 or one.root_fret <= 3)
            found[names[8]] += one.reach_mm > 100.0 and day.number - began < 14
            met.update((*one.skills, one.card))
        found[names[9]] += first and len({one.strings for one in day.shown}) > 1
    return found


def _page(days: int, seed: int) -> str:
    lines = [
        "# The first weeks of five simulated players", "",
        f"Written by `python -m tests.session.first_weeks --days {days}`. The program's own sessions are played on "
        "the first deck, with a log on disk and a moved clock, but not in a terminal. L is a lesson, x a try that did "
        "not come clean.", "",
    ]  # fmt: skip
    totals: dict[str, Counter[str]] = {}
    kept: Counter[str] = Counter()
    yielded: Counter[str] = Counter()
    told: list[str] = []
    for name, player in PLAYERS.items():
        with tempfile.TemporaryDirectory() as folder:
            played = play_days(player, days, Path(folder), seed)
        totals[name] = breaks(played)
        told += [f"## {name}", "", f"{player}", ""]
        for day in played:
            kept.update(day.kept)
            yielded.update(day.yielded)
            cards = " ".join(
                ("L:" if one.lesson else "") + f"{one.call}/{one.strings}@{one.root_fret}"
                + ("x" if one.key in ("l", "f") else "")
                for one in day.shown
            )  # fmt: skip
            told.append(f"- Day {day.number + 1}, {day.said[0]}: {cards}")
        told.append("")
    lines += [f"| rule | kind | {' | '.join(PLAYERS)} |", "|---|---|" + "---|" * len(PLAYERS)]
    for rule, kind in RULES.items():
        lines.append(f"| {rule} | {kind} | {' | '.join(str(totals[name][rule]) for name in PLAYERS)} |")
    lines += ["", "| preference of the planner | kept | gave way to gain |", "|---|---|---|"]
    lines += [f"| {rule} | {kept[rule]} | {yielded[rule]} |" for rule in sorted({*kept, *yielded})]
    return "\n".join([*lines, "", *told])


def main() -> None:
    """Prints the page."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--days", type=int, default=28)
    options.add_argument("--seed", type=int, default=0)
    given = options.parse_args()
    print(_page(given.days, given.seed))


if __name__ == "__main__":
    main()
