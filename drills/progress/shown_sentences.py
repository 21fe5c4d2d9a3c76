"""What a student shows of the progress page: three plain sentences, since last week, and what comes next."""

from __future__ import annotations

from datetime import date

from drills.progress.neck_picture_svg import firm_roots
from drills.progress.report import Report
from scheduler.statistics.counts import FEWEST_TRIES, Count

__all__ = ["coming_next", "since_last_week", "three_sentences"]


def three_sentences(report: Report) -> list[str]:
    """How much was played, how it went, and what holds; in counts, with no word of the trade."""
    return [_played(report), _went(report), _holds(report)]


def _played(report: Report) -> str:
    days, minutes = report.days_of_7, round(report.minutes)
    if not days:
        return "Nothing was played in the last seven days."
    return f"Played on {days} of the last 7 days, {minutes} minute{'s' * (minutes != 1)} in all."


def _went(report: Report) -> str:
    week = report.week_played
    if week.tries < FEWEST_TRIES:
        return f"So far {_right(report.played)}."
    return f"This week {_right(week)}."


def _right(count: Count) -> str:
    return f"{count.clean} of {count.tries} cards came right the first time they were asked for on a day"


def _holds(report: Report) -> str:
    forms, roots = report.of_kind("form"), firm_roots(report)
    shapes = sum(row.word == "firm" for row in forms)
    places, met = len(roots.get("firm", [])), sum(map(len, roots.values()))
    if not (shapes or places):
        return "Nothing is sure yet to last a week without practice: that takes days, not hours."
    return (
        f"{shapes} of {len(forms)} shapes and {places} of {met} root notes on the neck should still be there after a "
        "week without practice."
    )


def since_last_week(report: Report) -> list[str]:
    """This week beside the one before, in counts, and what is new; no difference is claimed that is not sure."""
    week, before = report.week_played, report.week_before_played
    lines = []
    if before.tries >= FEWEST_TRIES and week.tries >= FEWEST_TRIES:
        lines.append(f"Right the first time: {week} this week, {before} the week before.")
    elif week.tries:
        lines.append(f"Right the first time this week: {week}. The week before there was too little to compare.")
    days_before = report.days_of_14 - report.days_of_7
    lines.append(f"Days played: {report.days_of_7} this week, {days_before} the week before.")
    if report.weeks and (met := report.weeks[-1].met) and (report.today - report.weeks[-1].day).days < 7:
        lines.append(f"Asked for the first time: {met} {'card' if met == 1 else 'cards'}.")
    return lines


def coming_next(report: Report, next_day: date | None) -> list[str]:
    """Where to look next, and when. next_day: the next practice day after today, or None without any."""
    lines = []
    if report.cause is not None:
        lines.append(report.cause.sentence)
    elif report.claims.watched:
        strings, quality = report.claims.watched[0]
        lines.append(f"Look at {quality} on {strings} first: it goes wrong more often than the rest.")
    else:
        lines.append("Go on as before: each session asks what is due, and brings something new when there is room.")
    if next_day is not None:
        lines.append(f"The next practice day is {next_day:%A}, {next_day.day} {next_day:%B}.")
    return lines
