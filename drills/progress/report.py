"""The progress report as one value, added up from a log's digests; every number in it is self-reported."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from drills.progress.card_parts import card_parts, is_away, kind_of_card, place_of
from drills.progress.claim_groups import NO_CLAIMS, PlayerClaims
from drills.progress.player_causes import PlayerCause
from drills.progress.skill_names import form_names, root_spot, skill_name
from scheduler.days.practice_day import AWAY_DAYS, LONG_AWAY_DAYS
from scheduler.statistics.agreement import NOTHING_HEARD, Agreement
from scheduler.statistics.calibration import Calibration
from scheduler.statistics.counts import Count
from scheduler.statistics.digest import CardTally, DayTally, Digest

__all__ = [
    "COVERED_DAYS", "GAP_BANDS", "RECENT_DAYS", "PlaceRow", "Report", "SkillRow", "TimeRow", "make_report",
]  # fmt: skip

RECENT_DAYS = 60
"""The tables count the last two months beside all that ever was; a year-old miss says nothing about today."""

COVERED_DAYS = 30
"""A root counts as covered when it was played clean at all in so many days (drills/RULES.md, F4)."""

GAP_BANDS = ((0, 0), (1, 2), (3, 6), (7, 13), (14, 20), (21, 44), (45, 10**6))
"""Practice days since a card was last played, first and last of each band."""


@dataclass(frozen=True, slots=True)
class SkillRow:
    """One skill. skill: as stored. name: in words. count, recent: first tries at cards that need it, ever and of
    the last RECENT_DAYS. after_7: those after a week or more without the card. seconds: mean seconds to reveal of
    recent clean tries (None without any), times: of how many. last_day: practice day last played.
    word: unmet, forming, firm or fading by the memory, or ``""`` when it was not asked."""

    skill: str
    name: str
    count: Count
    recent: Count
    after_7: Count
    seconds: float | None
    times: int
    last_day: date
    word: str = ""

    @property
    def kind(self) -> str:
        """``form``, ``root``, ``spell`` ..."""
        return self.skill.partition(":")[0]


@dataclass(frozen=True, slots=True)
class PlaceRow:
    """A quality on a string set. recent: of the last RECENT_DAYS. after_7, after_21: after so many days without the
    card. met, clean, covered: pitch classes of roots played, ever clean, clean in the last COVERED_DAYS.
    slips: how often each was named recently."""

    strings: str
    quality: str
    count: Count
    recent: Count
    after_7: Count
    after_21: Count
    met: frozenset[int]
    clean: frozenset[int]
    covered: frozenset[int]
    slips: Mapping[str, int]
    last_day: date

    def __str__(self) -> str:
        return f"{self.quality} on {self.strings}"


@dataclass(frozen=True, slots=True)
class TimeRow:
    """Median seconds from prompt to reveal of recent clean first tries at one kind of prompt, and of how many."""

    kind: str
    seconds: float
    tries: int


@dataclass(frozen=True, slots=True)
class Report:
    """Where a player stands on a practice day, in counts of first tries.

    total: ever. week, week_before: the last seven practice days and the seven before, this day included.
    away, week_away, week_before_away: those of them answered without a guitar. again: further asks on a day after the
    card's first try, ever. new: asks on the day of a card's lesson, ever.
    days_of_7, days_of_14: days on which anything was graded. minutes: at the cards in the last seven.
    after_7, after_21: first tries at cards not played for so many days, ever. gaps: the same by GAP_BANDS.
    places: quality by set, sets from the low strings up. skills: all of them. times: by kind of prompt.
    grades: how often each was given recently. weeks: oldest first. trust: predicted against actual, or None.
    locks: fingerings of one's own in effect. flags: questions for the teacher. rested: cards set aside.
    sample: the latest blind sample in words, or ``""``. claims: what may be claimed.
    heard: own grades against what was heard. cause: what explains the misses of the days that claims are judged by,
    or None where nothing surely does.
    """

    today: date
    total: Count
    week: Count
    week_before: Count
    days_of_7: int
    days_of_14: int
    minutes: float
    after_7: Count
    after_21: Count
    gaps: tuple[Count, ...]
    places: tuple[PlaceRow, ...]
    skills: tuple[SkillRow, ...]
    times: tuple[TimeRow, ...]
    grades: Mapping[str, int]
    weeks: tuple[DayTally, ...]
    trust: Calibration | None
    locks: int = 0
    flags: tuple[str, ...] = ()
    rested: int = 0
    sample: str = ""
    words: bool = field(default=False)
    away: Count = Count()
    week_away: Count = Count()
    week_before_away: Count = Count()
    again: Count = Count()
    new: Count = Count()
    claims: PlayerClaims = NO_CLAIMS
    heard: Agreement = NOTHING_HEARD
    cause: PlayerCause | None = None

    @property
    def graded(self) -> bool:
        """Whether anything was graded ever, a first try or not."""
        return (self.total + self.again + self.new).tries > 0

    @property
    def played(self) -> Count:
        """First tries on the guitar, ever."""
        return _rest(self.total, self.away)

    @property
    def week_played(self) -> Count:
        """First tries on the guitar in the last seven practice days."""
        return _rest(self.week, self.week_away)

    @property
    def week_before_played(self) -> Count:
        """First tries on the guitar in the seven before."""
        return _rest(self.week_before, self.week_before_away)

    @property
    def sets(self) -> list[str]:
        """The string sets there are, from the low strings up."""
        return list(dict.fromkeys(row.strings for row in self.places))

    @property
    def qualities(self) -> list[str]:
        """The qualities there are, in the order first played."""
        first: dict[str, int] = {}
        for row in self.places:
            first.setdefault(row.quality, len(first))
        return list(first)

    def place(self, strings: str, quality: str) -> PlaceRow | None:
        """The row of a set and a quality, or None when nothing was played there."""
        return next((row for row in self.places if row.strings == strings and row.quality == quality), None)

    def of_kind(self, kind: str) -> list[SkillRow]:
        """The skills of one kind."""
        return [row for row in self.skills if row.kind == kind]


def _rest(whole: Count, part: Count) -> Count:
    return Count(whole.clean - part.clean, whole.tries - part.tries)


def make_report(
    whole: Digest,
    recent: Digest,
    today: date,
    *,
    away: Digest | None = None,
    words: Mapping[str, str] | None = None,
    locks: int = 0,
    flags: Iterable[str] = (),
    rested: int = 0,
    sample: str = "",
    claims: PlayerClaims = NO_CLAIMS,
    heard: Agreement = NOTHING_HEARD,
    cause: PlayerCause | None = None,
) -> Report:
    """The report of a practice day.

    whole: the digest of the log. recent: that of its last RECENT_DAYS. away: that of the reviews of at least the last
    two weeks that were answered without a guitar, None when there are none. words: the state of each skill by the
    memory, when it was asked. flags: ids of cards flagged for the teacher. claims: see `drills.progress.claim_groups`.
    cause: see `drills.progress.player_causes`.
    """
    week = timedelta(days=6)
    before = today - timedelta(days=7)
    return Report(
        today=today,
        total=whole.total,
        week=whole.between(today - week, today),
        week_before=whole.between(before - week, before),
        days_of_7=whole.played(today, 7),
        days_of_14=whole.played(today, 14),
        minutes=sum(day.minutes for day in recent.days() if today - week <= day.day <= today),
        after_7=_summed(tally.after[AWAY_DAYS] for tally in whole.cards.values()),
        after_21=_summed(tally.after[LONG_AWAY_DAYS] for tally in whole.cards.values()),
        gaps=tuple(_summed(c for gap, c in whole.gaps.items() if _in_band(gap, band)) for band in GAP_BANDS),
        places=_places(whole, recent, today),
        skills=_skills(whole, recent, words or {}),
        times=_times(recent),
        grades=_grades(recent),
        weeks=tuple(whole.weeks()),
        trust=whole.trust,
        locks=locks,
        flags=tuple(flags),
        rested=rested,
        sample=sample,
        words=words is not None,
        away=whole.count_by(is_away).get(True, Count()),
        week_away=away.between(today - week, today) if away else Count(),
        week_before_away=away.between(before - week, before) if away else Count(),
        again=whole.again,
        new=whole.new,
        claims=claims,
        heard=heard,
        cause=cause,
    )


def _summed(counts: Iterable[Count]) -> Count:
    return sum(counts, Count())


def _in_band(gap: int, band: tuple[int, int]) -> bool:
    # A clock set back makes a gap below nothing: the same day.
    return band[0] <= max(gap, 0) <= band[1]


def _times(recent: Digest) -> tuple[TimeRow, ...]:
    found = recent.seconds_by(kind_of_card)
    return tuple(
        TimeRow(str(kind), *times) for kind, times in sorted(found.items(), key=lambda item: -item[1][1]) if kind
    )


def _grades(recent: Digest) -> dict[str, int]:
    found: dict[str, int] = {}
    for tally in recent.cards.values():
        for grade, count in tally.grades.items():
            found[grade.label] = found.get(grade.label, 0) + count
    return found


def _places(whole: Digest, recent: Digest, today: date) -> tuple[PlaceRow, ...]:
    groups: dict[tuple[str, str], list[CardTally]] = {}
    for tally in whole.cards.values():
        if place := place_of(tally.card):
            groups.setdefault(place, []).append(tally)
    lately = recent.count_by(place_of)
    since = today - timedelta(days=COVERED_DAYS - 1)
    rows = []
    for place, tallies in groups.items():
        slips: dict[str, int] = {}
        for tally in tallies:
            for slip, count in recent.cards[tally.card].slips.items() if tally.card in recent.cards else ():
                slips[slip] = slips.get(slip, 0) + count
        rows.append(
            PlaceRow(
                *place,
                count=_summed(t.count for t in tallies),
                recent=lately.get(place, Count()),
                after_7=_summed(t.after[AWAY_DAYS] for t in tallies),
                after_21=_summed(t.after[LONG_AWAY_DAYS] for t in tallies),
                met=_roots(tallies),
                clean=_roots(t for t in tallies if t.clean_day is not None),
                covered=_roots(t for t in tallies if t.clean_day is not None and t.clean_day >= since),
                slips=slips,
                last_day=max(t.last_day for t in tallies),
            )
        )
    rank = {quality: number for number, quality in enumerate(dict.fromkeys(row.quality for row in rows))}
    # From the low strings up: a set with a higher-numbered first string comes first.
    tried = [row for row in rows if row.count.tries]
    return tuple(sorted(tried, key=lambda row: (*_set_order(row.strings), rank[row.quality])))


def _set_order(strings: str) -> tuple[list[int], str]:
    numbers = [-int(part) for part in strings.split("-") if part.isdecimal()]
    return numbers, strings


def _roots(tallies: Iterable[CardTally]) -> frozenset[int]:
    return frozenset(
        pitch_class
        for tally in tallies
        if (parts := card_parts(tally.card)) and (pitch_class := parts.pitch_class) is not None
    )


def _skills(whole: Digest, recent: Digest, words: Mapping[str, str]) -> tuple[SkillRow, ...]:
    groups: dict[str, list[CardTally]] = {}
    for tally in whole.cards.values():
        for skill in tally.skills:
            groups.setdefault(skill, []).append(tally)
    forms = form_names((tally.card, tally.skills) for tally in whole.cards.values())
    lately = recent.count_by_skill()
    rows = []
    for skill, tallies in groups.items():
        times = [s for t in tallies if t.card in recent.cards for s in recent.cards[t.card].seconds]
        rows.append(
            SkillRow(
                skill=skill,
                name=skill_name(skill, forms),
                count=_summed(t.count for t in tallies),
                recent=lately.get(skill, Count()),
                after_7=_summed(t.after[AWAY_DAYS] for t in tallies),
                # The mean is asked for here: one long hunt on the neck is the news (F4).
                seconds=sum(times) / len(times) if times else None,
                times=len(times),
                last_day=max(t.last_day for t in tallies),
                word=words.get(skill, ""),
            )
        )
    return tuple(sorted((row for row in rows if row.count.tries), key=_skill_order))


_KIND_ORDER = {kind: place for place, kind in enumerate(("form", "root", "spell", "degree", "joint", "ear"))}


def _skill_order(row: SkillRow) -> tuple[int, str, tuple[int, int], str]:
    spot = root_spot(row.skill)
    return (_KIND_ORDER.get(row.kind, 9), row.kind, (-spot.string, spot.fret) if spot else (0, 0), row.name)
