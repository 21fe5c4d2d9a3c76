"""All that the progress page needs, from one quick reading of a log of any length.

A hundred thousand reviews are a year of pages but only some hundred cards and
days. One pass adds them up by card and by practice day; every grouping (by
skill, by place on the neck, by week) is then a sum of those.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import median
from typing import Any

from scheduler.calendar import DAY_STARTS_AT_HOUR
from scheduler.calibration import Calibration, calibrate
from scheduler.counts import Count
from scheduler.events import as_us
from scheduler.grade import Grade
from scheduler.plainest import FIRST_HALF_LIFE_US, UNMET_RECALL, after_clean, after_miss, plain_recall
from scheduler.review import SECONDS_CAP, Review

__all__ = ["GAPS_DAYS", "CardTally", "DayTally", "Digest", "Row", "digest", "digest_rows"]

GAPS_DAYS = (7, 21)
"""The gaps, in practice days, after which first tries are counted apart."""

SPENT_CAP = 2 * SECONDS_CAP
"""Longest time at one card, in seconds, that is believed to be practice."""

Row = tuple[str, int, int, int, str, float, float | None, float | None, str | None, Any]
"""A review as the pass wants it: card, clock in microseconds since 1970 UTC, offset in seconds, grade,
attempt, seconds, spent, predicted, slip, skills."""

_DAY_US = 86_400_000_000
_EPOCH_ORDINAL = date(1970, 1, 1).toordinal()


@dataclass(frozen=True, slots=True)
class CardTally:
    """One card's history.

    count: first tries. after: first tries after a gap of so many practice
    days or more, for each of GAPS_DAYS. first_day, last_day: practice days
    first and last played. clean_day: practice day of the latest clean first
    try, or None. grades: how often each was given at a first try. slips: how
    often each was named. seconds: times to reveal of clean first tries,
    capped at 60. skills: those the card had when last played.
    """

    card: str
    skills: tuple[str, ...]
    count: Count
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
    _days: dict[int, list]

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

    def after_by(self, key: Callable[[str], Hashable | None], gap_days: int) -> dict[Hashable, Count]:
        """First tries after a gap, one of GAPS_DAYS, by what `key` says of a card's id."""
        return self._sums(lambda tally: (key(tally.card),), lambda tally: tally.after[gap_days])

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
        groups: dict[int, list[list]] = {}
        for day in sorted(self._days):
            groups.setdefault(start(day), []).append(self._days[day])
        result = []
        for day, members in groups.items():
            by_kind: dict[str, list[float]] = {}
            for one in members:
                for kind, seconds in one[2].items():
                    by_kind.setdefault(kind, []).extend(seconds)
            times = [seconds for kept in by_kind.values() for seconds in kept]
            result.append(
                DayTally(
                    day=date.fromordinal(day),
                    count=Count(sum(one[0] for one in members), sum(one[1] for one in members)),
                    seconds=median(times) if times else None,
                    minutes=sum(one[3] for one in members) / 60.0,
                    met=sum(one[4] for one in members),
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
    """The digest of reviews, in the order of the log; `ReviewLog.digest` reads a whole log quicker.

    kind: names the kind of a card by its id; times of different kinds do not compare.
    """
    second = timedelta(seconds=1)
    rows = (
        (r.card, as_us(r.at), r.at.utcoffset() // second, int(r.grade), r.attempt,
         r.seconds, r.spent, r.predicted, r.slip, r.skills)
        for r in reviews
    )  # fmt: skip
    return digest_rows(rows, day_starts_at_hour, kind=kind)


def digest_rows(
    rows: Iterable[Row],
    day_starts_at_hour: float = DAY_STARTS_AT_HOUR,
    read_skills: Callable[[Any], tuple[str, ...]] = tuple,
    kind: Callable[[str], str] = lambda card: "",
) -> Digest:
    """The digest of rows, in the order of the log; `read_skills` makes the skills of what stands last in a row."""
    # Plain lists and whole numbers: this loop is what a player with a long
    # log waits for (measured: objects and dates take three times as long).
    shift_us = round(day_starts_at_hour * 3_600_000_000) - _EPOCH_ORDINAL * _DAY_US
    short, long = GAPS_DAYS
    predictions: list[tuple[float, bool, float]] = []
    cards: dict[str, list] = {}
    days: dict[int, list] = {}
    gaps: dict[int, list[int]] = {}
    today, today_day = [], None
    for card, clock_us, offset_s, grade, attempt, seconds, spent, predicted, slip, skills in rows:
        day = (clock_us + offset_s * 1_000_000 - shift_us) // _DAY_US
        if day != today_day:
            today_day = day
            today = days.setdefault(day, [0, 0, {}, 0.0, 0])
        mine = cards.get(card)
        if mine is None:
            # First and last day, clean and tries after a short and a long gap, latest
            # clean day, grades by number, slips, times, skills, kind: see `_tally`;
            # clock last played and half-life to the simplest memory.
            mine = [day, day, 0, 0, 0, 0, None, [0] * (max(Grade) + 1), {}, [], skills, kind(card),
                    clock_us, FIRST_HALF_LIFE_US]  # fmt: skip
            cards[card] = mine
            today[4] += 1
            gap, plain = None, UNMET_RECALL
        else:
            gap, mine[1], mine[10] = day - mine[1], day, skills
        spent = seconds if spent is None else spent
        today[3] += spent if spent < SPENT_CAP else SPENT_CAP
        if attempt != "first":
            continue
        clean = grade >= 3
        if gap is not None:
            plain = plain_recall(mine[13], clock_us - mine[12])
            mine[13] = after_clean(mine[13], plain) if clean else after_miss(mine[13])
            mine[12] = clock_us if clock_us > mine[12] else mine[12]
        mine[7][grade] += 1
        today[1] += 1
        if clean:
            mine[6] = day if mine[6] is None or day > mine[6] else mine[6]
            seconds = seconds if seconds < SECONDS_CAP else SECONDS_CAP
            mine[9].append(seconds)
            today[0] += 1
            of_kind = today[2].get(mine[11])
            if of_kind is None:
                today[2][mine[11]] = [seconds]
            else:
                of_kind.append(seconds)
        if gap is not None:
            pair = gaps.get(gap)
            if pair is None:
                pair = gaps[gap] = [0, 0]
            pair[0] += clean
            pair[1] += 1
            if gap >= short:
                mine[2] += clean
                mine[3] += 1
                if gap >= long:
                    mine[4] += clean
                    mine[5] += 1
        if slip is not None:
            mine[8][slip] = mine[8].get(slip, 0) + 1
        if predicted is not None:
            predictions.append((predicted, clean, plain))
    for mine in cards.values():
        mine[10] = read_skills(mine[10])
    tallies = {card: _tally(card, mine) for card, mine in cards.items()}
    return Digest(tallies, calibrate(predictions), {gap: Count(*pair) for gap, pair in sorted(gaps.items())}, days)


def _tally(card: str, mine: list) -> CardTally:
    first, last, short_clean, short, long_clean, long, clean_day, grades, slips, seconds, skills = mine[:11]
    return CardTally(
        card=card,
        skills=skills,
        count=Count(grades[Grade.CLEAN] + grades[Grade.IN_TIME], sum(grades)),
        after=dict(zip(GAPS_DAYS, (Count(short_clean, short), Count(long_clean, long)), strict=True)),
        first_day=date.fromordinal(first),
        last_day=date.fromordinal(last),
        clean_day=None if clean_day is None else date.fromordinal(clean_day),
        grades={grade: grades[grade] for grade in Grade if grades[grade]},
        slips=slips,
        seconds=tuple(seconds),
    )
