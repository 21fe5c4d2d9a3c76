"""Adds up all that the progress page needs, in one reading of a log of any length.

A hundred thousand reviews are years of pages but only some hundred cards and
days. One pass adds them up by card and by practice day; every grouping (by
skill, by place on the neck, by week) is then a sum of those. The pass may stop
and go on: `Tally` is what it has added up so far, and can be put down and
taken up (`scheduler.saved.saved_digest`).
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta
from statistics import median
from typing import Any

from scheduler.days.ask_of_day import Ask, AskOfDay
from scheduler.days.practice_day import AWAY_DAYS, DAY_STARTS_AT_HOUR, LONG_AWAY_DAYS, practice_day_numbering
from scheduler.grade import Grade
from scheduler.log.events import as_us, offset_seconds
from scheduler.log.rows import DigestRow
from scheduler.memory.baseline import FIRST_HALF_LIFE_US, UNMET_RECALL, after_clean, after_miss, plain_recall
from scheduler.review import SECONDS_CAP, Review
from scheduler.statistics.calibration import Calibration, Trust
from scheduler.statistics.counts import Count

__all__ = ["GAPS_DAYS", "CardTally", "DayTally", "Digest", "Tally", "digest"]

GAPS_DAYS = (AWAY_DAYS, LONG_AWAY_DAYS)
"""The gaps, in practice days, after which first tries are counted apart: an absence, and three weeks."""

SPENT_CAP = 2 * SECONDS_CAP
"""Longest time at one card, in seconds, that is believed to be practice."""


@dataclass(frozen=True, slots=True)
class CardTally:
    """One card's history.

    count: first tries (`scheduler.statistics.first_tries`). again: further asks on a day after its first try.
    new: asks on the day of its lesson. after: first tries after a gap of so many practice
    days or more, for each of GAPS_DAYS. first_day, last_day: practice days
    first and last played. clean_day: practice day of the latest clean first
    try, or None. grades: how often each was given at a first try. slips: how
    often each was named. seconds: times to reveal of clean first tries,
    capped at 60. skills: those the card had when last played.
    """

    card: str
    skills: tuple[str, ...]
    count: Count
    again: Count
    new: Count
    after: dict[int, Count]
    first_day: date
    last_day: date
    clean_day: date | None
    grades: dict[Grade, int]
    slips: dict[str, int]
    seconds: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class DayTally:
    """One practice day, or several in a row: first tries, median seconds to reveal of the clean ones
    (None without any), minutes at the cards, cards played for the first time, days on which
    anything was graded, and the median seconds again by kind of card, each with of how many."""

    day: date
    count: Count
    seconds: float | None
    minutes: float
    met: int
    days: int
    seconds_by_kind: dict[str, tuple[float, int]]


@dataclass(frozen=True, slots=True)
class Digest:
    """A log added up. cards: by id, in the order first played. trust: predicted against actual.
    gaps: first tries by the practice days since the card was last played."""

    cards: dict[str, CardTally]
    trust: Calibration | None
    gaps: dict[int, Count]
    _days: dict[int, list[Any]]
    _times: dict[str, tuple[list[int], list[float]]] = field(repr=False)
    _kind: Callable[[str], str] = field(repr=False, compare=False)

    @property
    def again(self) -> Count:
        """All further asks of a card on a day after its first try."""
        return sum((tally.again for tally in self.cards.values()), Count())

    @property
    def new(self) -> Count:
        """All asks of a card on the day of its lesson."""
        return sum((tally.new for tally in self.cards.values()), Count())

    @property
    def total(self) -> Count:
        """All first tries."""
        return sum((tally.count for tally in self.cards.values()), Count())

    def days(self) -> list[DayTally]:
        """The practice days on which anything was graded, oldest first."""
        return self._grouped(lambda day: day)

    def weeks(self) -> list[DayTally]:
        """The weeks in which anything was graded, oldest first, each under its Monday."""
        return self._grouped(lambda day: day - (day - 1) % 7)

    def played(self, today: date, days: int = 14) -> int:
        """On how many of the last `days` practice days, today included, anything was graded."""
        last = today.toordinal()
        return sum(last - days < day <= last for day in self._days)

    def between(self, first: date, last: date) -> Count:
        """First tries from one practice day to another, both included."""
        days = (one for day, one in self._days.items() if first.toordinal() <= day <= last.toordinal())
        return sum((Count(one[0], one[1]) for one in days), Count())

    def count_by(self, key: Callable[[str], Hashable | None]) -> dict[Hashable, Count]:
        """First tries by what `key` says of a card's id; None leaves it out."""
        return self._sums(lambda tally: (key(tally.card),), lambda tally: tally.count)

    def count_by_skill(self) -> dict[Hashable, Count]:
        """First tries by skill; a card's count once for each skill it had when last played."""
        return self._sums(lambda tally: tally.skills, lambda tally: tally.count)

    def covered(self, today: date, key: Callable[[str], Hashable | None], days: int = 30) -> frozenset[Hashable]:
        """The groups with a clean first try at all in the last `days` practice days, today included."""
        since = today - timedelta(days=days - 1)
        recent = (t.card for t in self.cards.values() if t.clean_day is not None and t.clean_day >= since)
        return frozenset(group for card in recent if (group := key(card)) is not None)

    def seconds_by(self, key: Callable[[str], Hashable | None]) -> dict[Hashable, tuple[float, int]]:
        """Median seconds to reveal of clean first tries, and of how many, by what `key` says of a card's id."""
        times: dict[Hashable, list[float]] = {}
        for tally in self.cards.values():
            if tally.seconds and (group := key(tally.card)) is not None:
                times.setdefault(group, []).extend(tally.seconds)
        return {group: (median(values), len(values)) for group, values in times.items()}

    def _sums(
        self, keys: Callable[[CardTally], Iterable[Hashable | None]], value: Callable[[CardTally], Count]
    ) -> dict[Hashable, Count]:
        sums: dict[Hashable, Count] = {}
        for tally in self.cards.values():
            count = value(tally)
            for group in keys(tally) if count.tries else ():
                if group is not None:
                    sums[group] = sums.get(group, Count()) + count
        return sums

    def _grouped(self, start: Callable[[int], int]) -> list[DayTally]:
        groups: dict[int, list[list[Any]]] = {}
        for day in sorted(self._days):
            groups.setdefault(start(day), []).append(self._days[day])
        times: dict[int, dict[str, list[float]]] = {group: {} for group in groups}
        group_of = {day: times[start(day)] for day in self._days}
        for card, (days, seconds) in self._times.items():
            kind = self._kind(card)
            for day, one in zip(days, seconds, strict=True):
                group_of[day].setdefault(kind, []).append(one)
        result = []
        for day, members in groups.items():
            by_kind = times[day]
            together = [seconds for kept in by_kind.values() for seconds in kept]
            result.append(
                DayTally(
                    day=date.fromordinal(day),
                    count=Count(sum(one[0] for one in members), sum(one[1] for one in members)),
                    seconds=median(together) if together else None,
                    minutes=sum(one[2] for one in members) / 60.0,
                    met=sum(one[3] for one in members),
                    days=len(members),
                    seconds_by_kind={kind: (median(kept), len(kept)) for kind, kept in by_kind.items()},
                )
            )
        return result


def digest(
    reviews: Iterable[Review],
    day_starts_at_hour: float = DAY_STARTS_AT_HOUR,
    kind: Callable[[str], str] = lambda card: "",
) -> Digest:
    """The digest of reviews, in the order of the log; `scheduler.statistics.log_digest` reads a whole log quicker.

    kind: names the kind of a card by its id; times of different kinds do not compare.
    """
    tally = Tally(day_starts_at_hour)
    tally.add(
        (r.card, as_us(r.at), offset_seconds(r.at), int(r.grade), r.attempt,
         r.seconds, r.spent, r.predicted, r.slip, r.skills)
        for r in reviews
    )  # fmt: skip
    return tally.digest(kind)


# The places of a card's list: first and last day, clean and tries after a short and a long gap, latest clean
# day, first tries by grade, slips, days and seconds of the clean first tries, skills; clock last played and
# half-life to the simplest memory; clean and all further asks of a day, and asks on the day of the lesson.
(_FIRST, _LAST, _SHORT_CLEAN, _SHORT, _LONG_CLEAN, _LONG, _CLEAN_DAY, _GRADES, _SLIPS, _DAYS, _SECONDS, _SKILLS,
 _CLOCK, _HALF_LIFE, _AGAIN_CLEAN, _AGAIN, _NEW_CLEAN, _NEW) = range(18)  # fmt: skip


class Tally:
    """A digest in the making: reviews are added in the order of the log, and none is taken out again.

    day_starts_at_hour: local hour at which a practice day begins. read_skills: makes the skills of what stands last
    in a row. latest_us: the latest clock added, in microseconds since 1970 UTC.
    """

    def __init__(
        self,
        day_starts_at_hour: float = DAY_STARTS_AT_HOUR,
        read_skills: Callable[[Any], tuple[str, ...]] = tuple,
    ):
        self.latest_us = -(2**63)
        self._read_skills = read_skills
        self._day_number = practice_day_numbering(day_starts_at_hour)
        self._cards: dict[str, list[Any]] = {}
        self._days: dict[int, list[Any]] = {}
        self._gaps: dict[int, list[int]] = {}
        self._trust = Trust()
        self._told = AskOfDay()

    def add(self, rows: Iterable[DigestRow]) -> None:
        """Take in more rows."""
        # Plain lists and whole numbers: this loop is what a player with a long
        # log waits for (measured: objects and dates take three times as long).
        day_number, latest_us = self._day_number, self.latest_us
        short, long = GAPS_DAYS
        cards, days, gaps = self._cards, self._days, self._gaps
        ask_of = self._told.of
        predictions: list[tuple[float, bool, float]] = []
        today: list[Any] = []
        today_day: int | None = None
        for card, clock_us, offset_s, grade, attempt, seconds, spent, predicted, slip, skills in rows:
            day = day_number(clock_us, offset_s)
            if day != today_day:
                today_day = day
                today = days.get(day) or []
                if not today:
                    today = days[day] = [0, 0, 0.0, 0]  # clean, first tries, seconds spent, cards met
            if clock_us > latest_us:
                latest_us = clock_us
            mine = cards.get(card)
            if mine is None:
                mine = cards[card] = [
                    day, day, 0, 0, 0, 0, None, [0] * (max(Grade) + 1), {}, [], [], skills, clock_us,
                    FIRST_HALF_LIFE_US, 0, 0, 0, 0,
                ]  # fmt: skip
                today[3] += 1
                gap, plain = None, UNMET_RECALL
            else:
                gap = day - mine[_LAST]
                mine[_LAST] = day
                mine[_SKILLS] = skills
            if spent is None:
                spent = seconds
            today[2] += spent if spent < SPENT_CAP else SPENT_CAP
            ask = ask_of(card, attempt, day)
            if ask is Ask.REPEAT:
                continue
            clean = grade >= 3
            if gap is not None:
                past_us = clock_us - mine[_CLOCK]
                half_life_us = mine[_HALF_LIFE]
                plain = plain_recall(half_life_us, past_us)
                mine[_HALF_LIFE] = after_clean(half_life_us, plain) if clean else after_miss(half_life_us)
                if past_us > 0:
                    mine[_CLOCK] = clock_us
            if predicted is not None:
                predictions.append((predicted, clean, plain))
            if slip is not None:
                mine[_SLIPS][slip] = mine[_SLIPS].get(slip, 0) + 1
            if ask is Ask.AGAIN:
                mine[_AGAIN_CLEAN] += clean
                mine[_AGAIN] += 1
                continue
            if ask is Ask.NEW_TODAY:
                mine[_NEW_CLEAN] += clean
                mine[_NEW] += 1
                continue
            if gap is not None:
                pair = gaps.get(gap)
                if pair is None:
                    pair = gaps[gap] = [0, 0]
                pair[0] += clean
                pair[1] += 1
                if gap >= short:
                    mine[_SHORT_CLEAN] += clean
                    mine[_SHORT] += 1
                    if gap >= long:
                        mine[_LONG_CLEAN] += clean
                        mine[_LONG] += 1
            mine[_GRADES][grade] += 1
            today[1] += 1
            if clean:
                today[0] += 1
                if mine[_CLEAN_DAY] is None or day > mine[_CLEAN_DAY]:
                    mine[_CLEAN_DAY] = day
                if seconds > SECONDS_CAP:
                    seconds = SECONDS_CAP
                mine[_DAYS].append(day)
                mine[_SECONDS].append(seconds)
        self.latest_us = latest_us
        self._trust.add(predictions)

    def digest(self, kind: Callable[[str], str] = lambda card: "") -> Digest:
        """What has been added up so far; the tally is not to be added to after. kind: names the kind of a card."""
        return Digest(
            {card: self._card(card, mine) for card, mine in self._cards.items()},
            self._trust.calibration(),
            {gap: Count(*pair) for gap, pair in sorted(self._gaps.items())},
            self._days,
            {card: (mine[_DAYS], mine[_SECONDS]) for card, mine in self._cards.items()},
            kind,
        )

    def _card(self, card: str, mine: list[Any]) -> CardTally:
        grades, clean_day = mine[_GRADES], mine[_CLEAN_DAY]
        return CardTally(
            card=card,
            skills=self._read_skills(mine[_SKILLS]),
            count=Count(grades[Grade.CLEAN] + grades[Grade.IN_TIME], sum(grades)),
            again=Count(mine[_AGAIN_CLEAN], mine[_AGAIN]),
            new=Count(mine[_NEW_CLEAN], mine[_NEW]),
            after={
                GAPS_DAYS[0]: Count(mine[_SHORT_CLEAN], mine[_SHORT]),
                GAPS_DAYS[1]: Count(mine[_LONG_CLEAN], mine[_LONG]),
            },
            first_day=date.fromordinal(mine[_FIRST]),
            last_day=date.fromordinal(mine[_LAST]),
            clean_day=None if clean_day is None else date.fromordinal(clean_day),
            grades={grade: grades[grade] for grade in Grade if grades[grade]},
            slips=mine[_SLIPS],
            seconds=tuple(mine[_SECONDS]),
        )

    def export(self) -> Any:
        """All of it as a JSON value; floats come back to the last bit."""
        return {
            "latest_us": self.latest_us,
            "cards": self._cards,
            "days": list(self._days.items()),
            "gaps": list(self._gaps.items()),
            "trust": self._trust.export(),
            "asks": self._told.export(),
        }

    def restore(self, state: Any) -> None:
        """Take over an exported state in place of one's own."""
        self.latest_us = state["latest_us"]
        self._cards = dict(state["cards"])
        self._days = dict(state["days"])
        self._gaps = dict(state["gaps"])
        self._trust.restore(state["trust"])
        self._told.restore(state["asks"])
