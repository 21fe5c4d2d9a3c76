"""What a progress report says in words: what is firm, what is not, and the one thing to do about it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeVar

from drills.progress.report import RECENT_DAYS, PlaceRow, Report, SkillRow
from drills.progress.skill_names import root_spot, string_half
from scheduler.statistics.counts import FEWEST_TRIES, Count

__all__ = [
    "FIRST_TRY_WORDS",
    "SLIP_WORDS",
    "advice",
    "apart_words",
    "away_words",
    "longest_unplayed",
    "sentences",
    "slowest_root",
    "strong_and_weak",
    "trust_words",
    "weakest_place",
]  # fmt: skip

_RecentRow = TypeVar("_RecentRow", PlaceRow, SkillRow)

SLIP_WORDS = {"root": "finding roots", "shape": "the shape", "fingering": "the fingering", "time": "the time"}
WEAK_BELOW = 0.85
"""A share of clean first tries that calls for work: what the memory calls firm, a week later, is not below this."""

UNPLAYED_DAYS = 14
"""A corner is called unplayed from so many days on; twice a week's practice would have touched it."""


def _low(count: Count) -> float:
    return count.interval[0] if count.interval else -1.0


def _high(count: Count) -> float:
    return count.interval[1] if count.interval else 2.0


def _weak(count: Count) -> bool:
    return count.clean < WEAK_BELOW * count.tries


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _enough(rows: Iterable[_RecentRow]) -> list[_RecentRow]:
    return [row for row in rows if row.recent.tries >= FEWEST_TRIES]


def root_groups(report: Report) -> dict[str, Count]:
    """Recent first tries by half a string: ``roots on string 4 above fret 7``."""
    found: dict[tuple[int, bool], Count] = {}
    for row in report.of_kind("root"):
        if spot := root_spot(row.skill):
            found[spot.half] = found.get(spot.half, Count()) + row.recent
    return {string_half(half): count for half, count in sorted(found.items(), reverse=True)}


def strong_and_weak(report: Report) -> str:
    """Strongest against weakest, as skills: ``Your m7b5 shape ... is firm; roots on string 4 above fret 7 are not.``

    The strongest has the highest lower end of Wilson's interval, the weakest the lowest upper end, so that few tries
    make neither; it is called firm only when the memory says so. ``""`` when nothing with five tries fell below
    WEAK_BELOW.
    """
    forms = _enough(report.of_kind("form"))
    roots = [(name, count) for name, count in root_groups(report).items() if count.tries >= FEWEST_TRIES]
    weak_form = min(forms, key=lambda row: (_high(row.recent), row.name), default=None)
    weak_root = min(roots, key=lambda item: (_high(item[1]), item[0]), default=None)
    weak: tuple[str, Count] | None = None
    if weak_form is not None:
        weak = (f"{weak_form.name} is", weak_form.recent)
    if weak_root is not None and (weak is None or _high(weak_root[1]) < _high(weak[1])):
        weak = (f"{weak_root[0]} are", weak_root[1])
    if weak is None or not _weak(weak[1]):
        return ""
    strong = max(
        (row for row in forms if row is not weak_form and _low(row.recent) > _low(weak[1])),
        key=lambda row: (row.word == "firm", _low(row.recent), row.name),
        default=None,
    )
    if strong is None:
        return f"{_capital(weak[0].rpartition(' ')[0])}: clean {weak[1]}."
    how = "is firm" if strong.word == "firm" else "is going well"
    return f"Your {strong.name.removeprefix('the ')} {how} ({strong.recent} clean); {weak[0]} not ({weak[1]})."


def weakest_place(report: Report) -> PlaceRow | None:
    """The set and quality with the lowest upper end of its interval, of those with five recent tries that call for
    work, or None."""
    rows = [row for row in _enough(report.places) if _weak(row.recent)]
    return min(rows, key=lambda row: (_high(row.recent), str(row)), default=None)


def _weakest_words(report: Report) -> str:
    row = weakest_place(report)
    if row is None:
        return ""
    tagged = sum(row.slips.values())
    cause = ""
    if tagged:
        slip, count = max(row.slips.items(), key=lambda item: (item[1], item[0]))
        cause = f"; the trouble is {SLIP_WORDS.get(slip, slip)}, {count} of {tagged} slips"
    return f"Weakest: {row}, {row.recent}{cause}."


def slowest_root(report: Report) -> SkillRow | None:
    """The root with the longest mean time to reveal, of those with five clean tries timed recently."""
    rows = [row for row in report.of_kind("root") if row.times >= FEWEST_TRIES]
    return max(rows, key=lambda row: (row.seconds, row.name), default=None)


def longest_unplayed(report: Report) -> PlaceRow | None:
    """The set and quality not played for the longest time, from UNPLAYED_DAYS on."""
    rows = [row for row in report.places if (report.today - row.last_day).days >= UNPLAYED_DAYS]
    return min(rows, key=lambda row: (row.last_day, str(row)), default=None)


def trust_words(report: Report) -> list[str]:
    """Predicted against actual, and whether the memory deserves trust yet."""
    trust = report.trust
    if trust is None or trust.tries < FEWEST_TRIES:
        return []
    expected, got = round(trust.predicted * trust.tries), round(trust.actual * trust.tries)
    lines = [f"The memory expected {expected} clean of {trust.tries}; {got} came."]
    if not trust.helps:
        lines.append("It predicts no better than your average so far: do not trust it yet.")
    elif not trust.beats_simplest:
        lines.append("It does no better for you so far than its simplest part, which takes every card by itself.")
    return lines


def away_words(report: Report) -> str:
    """What came back after a week, and after three weeks, without the card."""
    if report.after_7.tries < FEWEST_TRIES:
        return ""
    weeks = f"; after three weeks or more {report.after_21}" if report.after_21.tries >= FEWEST_TRIES else ""
    return f"After a week or more away {report.after_7} clean{weeks}."


def _own_words(report: Report) -> str:
    """What the player has changed or asked."""
    parts = []
    if report.locks:
        parts.append(f"{report.locks} fingering{'s' * (report.locks != 1)} of your own kept")
    if report.flags:
        parts.append(f"{len(report.flags)} question{'s' * (len(report.flags) != 1)} for your teacher")
    return _capital("; ".join(parts)) + "." if parts else ""


FIRST_TRY_WORDS = "first tries (first ask of a card a day)"
"""The definition that stands wherever first tries are counted; `scheduler.statistics.first_tries` is the rule."""


def apart_words(report: Report) -> list[str]:
    """What was asked besides first tries, each counted for itself; nothing where nothing was."""
    parts = []
    if report.again.tries:
        parts.append(f"{report.again} came back right later that day")
    if report.new.tries:
        parts.append(f"{report.new} clean on a lesson's day")
    return [f"Counted apart: {', '.join(parts)}."] if parts else []


def advice(report: Report) -> str:
    """One suggestion, a command to type, or ``""``."""
    row = weakest_place(report) or longest_unplayed(report)
    if row is None:
        return ""
    return f"neckwork session --strings {row.strings.replace('-', '')} --quality {row.quality}"


def sentences(report: Report) -> list[str]:
    """The report in sentences, the most useful first."""
    found = [strong_and_weak(report), _weakest_words(report)]
    if not any(found) and _enough(report.places):
        found.append(f"Nothing stands out as weak in the last {RECENT_DAYS} days.")
    if (slow := slowest_root(report)) and slow.seconds is not None:
        where = slow.name.removeprefix("finding ")
        found.append(f"Slowest root: {where}; {slow.seconds:.1f} s on average, {slow.times} clean tries.")
    found.append(away_words(report))
    if row := longest_unplayed(report):
        found.append(f"Longest unplayed: {row}, {(report.today - row.last_day).days} days.")
    found += trust_words(report)
    if report.sample:
        found.append(report.sample)
    found.append(_own_words(report))
    if command := advice(report):
        found.append(f"One suggestion: {command}")
    return [line for line in found if line]
