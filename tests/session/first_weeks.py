"""The first weeks of five simulated players, day by day, with a check of the rules that are never broken.

`play_days` plays the program's own session, with its log on disk and a clock that is moved, in this process;
`tests.session.weeks_in_terminal` plays the program in a terminal and writes the page of it, FIRST_WEEKS.md beside this
file. The check reads only what came on the screen, in order, and the log: it asks neither planner nor deck rules.
"""

from __future__ import annotations

import math
import random
import statistics
from collections import Counter, defaultdict
from datetime import timedelta
from pathlib import Path
from typing import NamedTuple

from drills.cards.card import Card
from drills.cards.material import Material
from tests.session.sittings import Clock, Sitting

__all__ = ["PLAYERS", "RULES", "Day", "Player", "Pupil", "Shown", "breaks", "page", "play_days", "shown_as"]


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
    """One practice day. number: from 0. shown: in order. said: what the screens said besides the cards.

    kept, yielded: how often each preference of the planner was kept, or gave way. gained: of those times, how many
    times as much the card chosen gained as the best of those the preference was for.
    """

    number: int
    shown: list[Shown]
    said: list[str]
    kept: Counter[str]
    yielded: Counter[str]
    gained: dict[str, list[float]] | None = None


class Pupil:
    """A player as a simulation: what lasts of each skill, and how a try at a card goes."""

    def __init__(self, player: Player, chance: random.Random) -> None:
        self.player, self.chance = player, chance
        self.holds: dict[str, float] = {}
        self.lasts: dict[str, float] = {}

    def key(self, skills: tuple[str, ...], day: int) -> str:
        """The grade key of a try."""
        now = day + self.chance.random() / 100.0
        holding = [math.exp(-(now - self.lasts[s]) / self.holds[s]) if s in self.lasts else 0.3 for s in skills[:2]]
        clean = self.chance.random() < min(holding) and self.chance.random() >= self.player.slips
        return ("t" if self.chance.random() < 0.2 else "c") if clean else ("f" if self.chance.random() < 0.3 else "l")

    def seconds(self, key: str) -> float:
        """From the prompt to the answer."""
        return self.player.seconds if key in ("c", "t") else 2.0 * self.player.seconds

    def played(self, skills: tuple[str, ...], day: int, key: str) -> None:
        """What a try, or a lesson where there is no key, leaves behind."""
        for skill in skills[:2]:
            if skill not in self.holds:
                self.holds[skill] = self.player.hold_days
            elif key in ("c", "t") and day - self.lasts[skill] >= 0.9:
                self.holds[skill] *= self.player.growth
            self.lasts[skill] = float(day)


def play_days(player: Player, days: int, folder: Path, seed: int = 0) -> list[Day]:
    """Plays a session a day on the first deck, but for an absence."""
    return [*_days(player, days, folder, seed)]


def _days(player, days, folder, seed):
    pupil, clock = Pupil(player, random.Random(f"{player} {seed}")), Clock()
    for number in range(days):
        began = clock()
        if player.away is None or not player.away[0] <= number <= player.away[1]:
            yield _session(pupil, number, Sitting(folder / "log.sqlite3", clock=clock))
        clock.at = began + timedelta(days=1)


def _session(pupil, number, one):
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
            key = pupil.key(card.skills, number)
            shown.append(_shown(one, card, key))
            one.play(key, look=pupil.seconds(key), spent=4.0)
        pupil.played(card.skills, number, key)
    said = [f"{sum(s.key in ('c', 't') for s in shown)} of {sum(bool(s.key) for s in shown)} clean"]
    one.log.close()
    return Day(number, shown, said, kept, yielded)


def _shown(one, card, key):
    return shown_as(one.material, card, key)


def shown_as(material: Material, card: Card, key: str) -> Shown:
    """A card of a deck as it stood on the screen; without a key it was a lesson."""
    shape = material.answer(card)
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


def _cards(day: Day) -> str:
    """A day's cards in order: L before a lesson, + after a card asked again that day, x where it did not come clean."""
    asked: set[str] = set()
    found = []
    for one in day.shown:
        again = "+" * (one.card in asked)
        if not one.lesson:
            asked.add(one.card)
        missed = "x" * (one.key in ("l", "f"))
        found.append("L:" * one.lesson + f"{one.call}/{one.strings}@{one.root_fret}{again}{missed}")
    return " ".join(found)


def _firsts(day: Day) -> str:
    """The first asks of the day's cards, those that had their lesson that day left out."""
    taught = {one.card for one in day.shown if one.lesson}
    first: dict[str, bool] = {}
    for one in day.shown:
        if not one.lesson and one.card not in taught:
            first.setdefault(one.card, one.key in ("c", "t"))
    return f"first asks clean {sum(first.values())} of {len(first)}"


def page(title: str, how: str, played: dict[str, list[Day]]) -> str:
    """The page of what some players of `PLAYERS` played."""
    totals = {name: breaks(days) for name, days in played.items()}
    kept: Counter[str] = Counter()
    yielded: Counter[str] = Counter()
    gained: dict[str, list[float]] = defaultdict(list)
    told: list[str] = []
    for name, days in played.items():
        told += [f"## {name}", "", f"{PLAYERS[name]}", ""]
        for day in days:
            kept.update(day.kept)
            yielded.update(day.yielded)
            for rule, ratios in (day.gained or {}).items():
                gained[rule] += ratios
            told.append(f"- Day {day.number + 1}, {day.said[0]}, {_firsts(day)}: {_cards(day)}")
            told += [f"  - {line}" for line in day.said[1:]]
        told.append("")
    marks = (
        "L is a lesson, @ the fret of the root, + a card asked again that day, x a try that did not come clean. First "
        "asks leave out cards that had their lesson that day."
    )
    lines = [f"# {title}", "", f"{how} {marks}", ""]
    lines += [f"| rule | kind | {' | '.join(played)} |", "|---|---|" + "---|" * len(played)]
    for rule, kind in RULES.items():
        lines.append(f"| {rule} | {kind} | {' | '.join(str(totals[name][rule]) for name in played)} |")
    head, under = "| preference of the planner | kept | gave way to gain |", "|---|---|---|"
    if gained:
        head, under = head + " gain of the card chosen, by that of the best card preferred: median |", under + "---|"
    lines += ["", head, under]
    for rule in sorted({*kept, *yielded}):
        ratios = f" {statistics.median(gained[rule]):.2f} |" if gained[rule] else " |" * bool(gained)
        lines.append(f"| {rule} | {kept[rule]} | {yielded[rule]} |{ratios}")
    return "\n".join([*lines, "", *told])
