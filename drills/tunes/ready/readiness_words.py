"""Says in sentences what of a tune will come clean, how sure that is, and what to leave out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from textwrap import wrap
from typing import Any

from drills.progress.skill_names import joint_name
from drills.tunes.ready.readiness import CardReadiness, Readiness, WeakJoint

__all__ = ["LITTLE_EVIDENCE", "forecast_line", "ready_json", "ready_lines", "weak_line"]

LITTLE_EVIDENCE = 60
"""Under so many first tries in the log the tool hardly knows the player: two or three sessions' worth."""

_LATER_NAMED = 6
_MORE = " more"


def _many(count: int, noun: str) -> str:
    return f"{count} {noun}{'s' * (count != 1)}"


def _content(rows: Iterable[CardReadiness]) -> str:
    """``14 chord places and 20 joints``: cards of either kind."""
    rows = list(rows)
    joints = sum(row.card.to is not None for row in rows)
    counts = ((len(rows) - joints, "chord place"), (joints, "joint"))
    return " and ".join(_many(count, noun) for count, noun in counts if count)


def forecast_line(found: Readiness) -> str:
    """The forecast in one line, for the page before a session."""
    outcome, count = found.outcome, len(found.rows)
    days = _many(len(found.days.sessions), "practice day")
    known = "" if found.evidence >= LITTLE_EVIDENCE else "; little is known yet"
    return (
        f"By {found.days.at:%a %Y-%m-%d}, after {days}: about {outcome.expected:.0f} of {count} clean at a first try, "
        f"between {outcome.low} and {outcome.high}{known}."
    )


def ready_lines(found: Readiness, width: int = 80, *, every: bool = False) -> list[str]:
    """The whole forecast, each paragraph wrapped to `width`.

    every: names every chord place and joint; else as many as a few lines hold, and the others are counted.
    """
    parts = [_days(found), _summary(found), _evidence(found)]
    lines = [row for part in parts if part for row in wrap(part, width)]
    groups = (
        ("Likely to come clean", [row for row in found.rows if row.likely]),
        ("Could go either way", [row for row in found.rows if not row.likely and not row.unlikely]),
        ("Unlikely by then" if found.days.sessions else "Unlikely as it stands", [r for r in found.rows if r.unlikely]),
    )
    names = _all_names if every else _names
    for title, rows in groups:
        if rows and found.known:
            lines += ["", *wrap(f"{title}: {_content(rows)}", width), *names(rows, width)]
    if any(line.endswith(_MORE) for line in lines):
        lines.append("  --all names every one.")
    for part in (_leave_out(found), weak_line(found.weak)):
        if part:
            lines += ["", *wrap(part, width)]
    return lines


def _days(found: Readiness) -> str:
    days = found.days
    title = f"{found.title}, {days.day:%a %Y-%m-%d}."
    if not days.sessions:
        return f"{title} No practice day lies before it, so this is how it stands."
    played = f"{_many(len(days.sessions), 'practice day')}, {found.minutes:g} minutes each"
    if days.cut:
        return f"{title} That is further than can be said: this is for {days.at:%a %Y-%m-%d}, after {played}."
    return f"{title} Before it {played}."


def _summary(found: Readiness) -> str:
    outcome, count = found.outcome, len(found.rows)
    said = (
        f"Of {_content(found.rows)} about {outcome.expected:.0f} would come clean at a first try: "
        f"between {outcome.low} and {outcome.high}, 19 times in 20, if the memory's models hold."
    )
    if not found.known:
        return f"{said} So wide a range says that it is not known yet, nor which."
    likely = sum(row.likely for row in found.rows)
    if likely == count:
        return f"{said} All of it is likely to come clean."
    verb = "is" if likely == 1 else "are"
    return f"{said} {likely} of {count} {verb} likely to come clean, {count - likely} not yet."


def _evidence(found: Readiness) -> str:
    if not found.evidence:
        return (
            "You have played nothing yet: this is a guess from players in general. "
            "Ask again after three or four sessions."
        )
    if found.evidence < LITTLE_EVIDENCE:
        # Second asks of a day taught the memory too: they are no first tries, and count here.
        tries = "1 try" if found.evidence == 1 else f"{found.evidence} tries"
        return f"Only {tries} so far, self-reported: little to go by."
    return ""


def _names(rows: list[CardReadiness], width: int) -> list[str]:
    """A line for each string set with its chords, and one for the joints, counted; what no line holds is counted too.

    A line is read from a music stand's distance: it is never continued on another.
    """
    chords: dict[str, list[tuple[str, int]]] = {}
    joints: Counter[str] = Counter()
    for row in rows:
        if row.card.to is None:
            chords.setdefault(_sets_of(row), []).append((row.card.call, 1))
        else:
            joints[row.card.call] += 1
    lines = {sets: chords[sets] for sets in sorted(chords, reverse=True)}
    if joints:
        lines["joints"] = [(f"{call} ({times})" if times > 1 else call, times) for call, times in joints.items()]
    label = max(map(len, lines))
    return [f"  {name:<{label}}  {_as_many(items, width - label - 4)}" for name, items in lines.items()]


def _as_many(items: list[tuple[str, int]], room: int) -> str:
    """As many names as a line holds, and of how many cards the others are; at least one is named."""
    for kept in range(len(items), 0, -1):
        left = sum(times for _, times in items[kept:])
        text = ", ".join([name for name, _ in items[:kept]] + [f"and {left}{_MORE}"] * bool(left))
        if len(text) <= room:
            return text
    return text


def _sets_of(row: CardReadiness) -> str:
    return row.card.strings_text.removeprefix("strings ")


def _all_names(rows: list[CardReadiness], width: int) -> list[str]:
    """Every chord and every joint with its string sets, each on a line of its own."""
    sets: dict[str, list[str]] = {}
    for row in rows:
        sets.setdefault(row.card.call, []).append(_sets_of(row))
    label = max(map(len, sets))
    return [
        line
        for call, each in sets.items()
        for line in wrap(
            f"{call:<{label}}  {', '.join(each)}", width, initial_indent="  ", subsequent_indent=" " * (label + 4),
            break_on_hyphens=False,
        )
    ]  # fmt: skip


def _leave_out(found: Readiness) -> str:
    """What to leave for later, where not all is likely."""
    if not found.known or all(row.likely for row in found.rows):
        return ""
    if found.narrower is not None:
        less = found.narrower
        return (
            f"With less to learn: only the path from string {less.string} (--from {less.string}), {less.cards} cards, "
            f"of which about {less.outcome.expected:.0f} would come clean, between {less.outcome.low} and "
            f"{less.outcome.high}. Leave the other strings for later."
        )
    rare = sorted((row for row in found.rows if not row.likely), key=lambda row: (row.card.weight, row.chance))
    named = "; ".join(list(dict.fromkeys(f"{row.card.call}, {row.card.context}" for row in rare))[:_LATER_NAMED])
    return f"To leave for later, the rarest first: {named}. A root or a grip does there meanwhile."


def weak_line(weak: WeakJoint | None) -> str:
    """The joint that surely is not there yet in a sentence, or ``""``."""
    if weak is None:
        return ""
    skill = next(skill for skill in weak.card.skills if skill.startswith("joint:"))
    return (
        f"Not yet: {joint_name(skill.removeprefix('joint:'))}, {weak.clean} of {weak.tries} clean so far; "
        f"here {weak.card.call}, {weak.card.context}."
    )


def ready_json(found: Readiness) -> dict[str, Any]:
    """The whole forecast for programs; chances are from 0 to 1."""
    days, outcome, less, weak = found.days, found.outcome, found.narrower, found.weak
    return {
        "title": found.title,
        "by": days.day.isoformat(),
        "asked_for": days.at.isoformat(),
        "sessions": [begins.isoformat() for begins in days.sessions],
        "first_tries": found.evidence,
        "cards": [
            {"id": row.card.id, "prompt": row.card.prompt, "where": row.card.context,
             "weight": round(row.card.weight, 3), "chance": round(row.chance, 3), "low": round(row.low, 3),
             "high": round(row.high, 3)} for row in found.rows
        ],
        "expected": round(outcome.expected, 2),
        "low": outcome.low,
        "high": outcome.high,
        "less": less and {"from": less.string, "cards": less.cards, "expected": round(less.outcome.expected, 2),
                          "low": less.outcome.low, "high": less.outcome.high},
        "weakest_joint": weak and {"id": weak.card.id, "tries": weak.tries, "clean": weak.clean},
    }  # fmt: skip
