"""What a progress report says in words: what may be claimed, what is missing, and the one thing to do about it."""

from __future__ import annotations

from drills.progress.claim_sentences import claim_lines, missing_line
from drills.progress.player_causes import SLIP_WORDS, PlayerCause
from drills.progress.report import RECENT_DAYS, PlaceRow, Report
from drills.progress.skill_names import root_spot, string_half
from scheduler.statistics.counts import FEWEST_TRIES, Count

__all__ = [
    "FIRST_TRY_WORDS",
    "advice",
    "apart_words",
    "away_words",
    "heard_words",
    "longest_unplayed",
    "no_first_try_words",
    "root_groups",
    "sentences",
    "trust_words",
]  # fmt: skip

UNPLAYED_DAYS = 14
"""A corner is called unplayed from so many days on; twice a week's practice would have touched it."""


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def root_groups(report: Report) -> dict[str, Count]:
    """Recent first tries by half a string: ``roots on string 4 above fret 7``."""
    found: dict[tuple[int, bool], Count] = {}
    for row in report.of_kind("root"):
        if spot := root_spot(row.skill):
            found[spot.half] = found.get(spot.half, Count()) + row.recent
    return {string_half(half): count for half, count in sorted(found.items(), reverse=True)}


def _slips_words(report: Report) -> str:
    """The slips named at the place to watch, as counts, or ``""``."""
    for strings, quality in report.claims.watched[:1]:
        row = report.place(strings, quality)
        if row is not None and (tagged := sum(row.slips.values())):
            slip, count = max(row.slips.items(), key=lambda item: (item[1], item[0]))
            return f"Slips named at {row} in {RECENT_DAYS} days: {SLIP_WORDS.get(slip, slip)}, {count} of {tagged}."
    return ""


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
    apart = ", what is counted apart among them" if report.again.tries or report.new.tries else ""
    lines = [f"The memory expected {expected} clean of {trust.tries}{apart}; {got} came."]
    if not trust.helps:
        lines.append("It predicts no better than your average so far: do not trust it yet.")
    elif not trust.beats_simplest:
        lines.append("It does no better for you so far than its simplest part, which takes every card by itself.")
    return lines


def heard_words(report: Report) -> str:
    """Own grades against what was heard, as counts and a range; ``""`` while there are too few to say anything."""
    heard = report.heard
    if heard.interval is None:
        return ""
    low, high = (round(100 * bound) for bound in heard.interval)
    return (
        f"Your grade and what was heard: the same in {heard.same} of {heard.pairs} ({low} to {high} in 100), yours "
        f"higher in {heard.higher}, lower in {heard.lower}. Hearing is tried on simulated playing only."
    )


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


def no_first_try_words(report: Report) -> list[str]:
    """What is said in place of counts where there is no first try: after the first session nearly all is new."""
    if not report.graded:
        return ["Nothing graded yet."]
    return [*apart_words(report), "No first try yet: what a lesson showed counts from the next practice day on."]


def advice(report: Report) -> str:
    """One suggestion, a command to type, or ``""``: what practises the cause of the misses where there is one, else
    the place to watch, else the one longest unplayed."""
    if report.cause is not None:
        return _practice_of(report.cause)
    place = next(iter(report.claims.watched), None)
    if place is None and (row := longest_unplayed(report)) is not None:
        place = row.strings, row.quality
    if place is None:
        return ""
    return f"neckwork session --strings {place[0].replace('-', '')} --quality {place[1]}"


def _practice_of(cause: PlayerCause) -> str:
    """The session that practises a cause: roots asked by their notes, a form where it lies, a quality spelled.

    ``""`` for changes of chord and for slips other than the root: no cards hold them and nothing else.
    """
    sets = dict.fromkeys(strings.replace("-", "") for strings, _ in cause.places)
    strings = f" --strings {','.join(sets)}" if sets else ""
    qualities = ",".join(dict.fromkeys(quality for _, quality in cause.places))
    if cause.is_roots:
        return f"neckwork session{strings} --prompts note"
    if cause.kind == "form" and sets:
        form = cause.groups[0][1].removeprefix("form:").partition("/")[0]
        asked = f" --form {form}" if form != "arpeggio" else ""
        return f"neckwork session{strings} --quality {qualities}{asked}"
    if cause.kind == "spelling" and qualities == cause.groups[0][1]:
        return f"neckwork session --quality {qualities} --prompts spell"
    return ""


def sentences(report: Report) -> list[str]:
    """The report in sentences, the most useful first."""
    found = [*claim_lines(report.claims), _slips_words(report)]
    if report.places:
        found.append(missing_line(report.claims))
    found.append(away_words(report))
    if row := longest_unplayed(report):
        found.append(f"Longest unplayed: {row}, {(report.today - row.last_day).days} days.")
    found += trust_words(report)
    found.append(heard_words(report))
    if report.sample:
        found.append(report.sample)
    found.append(_own_words(report))
    if report.cause is not None:
        found.append(report.cause.sentence)
    if command := advice(report):
        found.append(f"One suggestion: {command}")
    return [line for line in found if line]
