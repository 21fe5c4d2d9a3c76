"""The progress report: one value from a log, for the screen, JSON and CSV."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from drills.progress.card_parts import card_parts
from scheduler.calendar import practice_day
from scheduler.progress import (
    FEWEST_TRIES, Calibration, Count, calibration, clean_after_gap, count_by, days_played,
)  # fmt: skip
from scheduler.review import Review

__all__ = ["Report", "make_report", "report_csv", "report_json", "report_lines"]


@dataclass(frozen=True, slots=True)
class Report:
    """Self-reported numbers. by_place: counts by (strings, quality) in the order of the neck."""

    total: Count
    by_place: dict[tuple[str, str], Count]
    days_of_14: int
    after_7: Count
    after_21: Count
    trust: Calibration | None
    grades: dict[str, int]


def make_report(reviews: Iterable[Review], now: datetime, day_starts_at_hour: float = 4.0) -> Report:
    """The report at a moment. reviews: those in effect, in the order of the log."""
    kept = list(reviews)

    def place(review: Review) -> tuple[str, str] | None:
        parts = card_parts(review.card)
        return (parts.strings_name, parts.quality) if parts else None

    by_place = count_by(kept, place)
    today: date = practice_day(now, day_starts_at_hour)
    grades: dict[str, int] = {}
    for review in kept:
        if review.attempt == "first":
            grades[review.grade.label] = grades.get(review.grade.label, 0) + 1
    return Report(
        sum(count_by(kept, lambda review: True).values(), Count()),
        dict(sorted(by_place.items(), key=lambda item: (item[0][0], item[0][1]), reverse=True)),
        days_played(kept, today, 14, day_starts_at_hour),
        clean_after_gap(kept, 7),
        clean_after_gap(kept, 21),
        calibration(kept),
        grades,
    )


def report_json(report: Report) -> dict:
    """The report as the machine-readable answer."""

    def row(count: Count) -> dict:
        interval = count.interval
        return {"clean": count.clean, "tries": count.tries,
                "interval": [round(bound, 4) for bound in interval] if interval else None}  # fmt: skip

    trust = report.trust
    return {
        "self_reported": True,
        "first_try_clean": row(report.total),
        "days_of_last_14": report.days_of_14,
        "clean_after_7_days": row(report.after_7),
        "clean_after_21_days": row(report.after_21),
        "grades": report.grades,
        "by_strings_and_quality": [
            {"strings": strings, "quality": quality, **row(count)} for (strings, quality), count in report.by_place.items()
        ],
        "predicted_and_actual": trust
        and {"tries": trust.tries, "predicted": round(trust.predicted, 4), "actual": round(trust.actual, 4),
             "helps": trust.helps},
    }  # fmt: skip


def report_csv(report: Report) -> list[list[str]]:
    """One row for each string set and quality, a heading first."""
    rows = [["strings", "quality", "clean", "tries", "low", "high"]]
    for (strings, quality), count in report.by_place.items():
        bounds = [f"{bound:.3f}" for bound in count.interval] if count.interval else ["", ""]
        rows.append([strings, quality, str(count.clean), str(count.tries), *bounds])
    return rows


def report_lines(report: Report) -> list[str]:
    """The report in lines for one screen."""
    if not report.total.tries:
        return ["Nothing graded yet. neckwork plays today's session."]
    lines = [
        f"First try clean: {report.total} (self-reported)",
        f"Played on {report.days_of_14} of the last 14 days",
    ]
    if report.after_7.tries:
        lines.append(f"Clean after a week or more away: {report.after_7}")
    if report.after_21.tries:
        lines.append(f"Clean after three weeks or more away: {report.after_21}")
    if report.trust and report.trust.tries >= FEWEST_TRIES:
        trust = report.trust
        expected = trust.predicted * trust.tries
        lines.append(f"Expected {expected:.0f} clean of the last {trust.tries} predicted, got {trust.actual * trust.tries:.0f}")
        if not trust.helps:
            lines.append("The memory predicts no better than your average yet.")
    sets = list(dict.fromkeys(strings for strings, _ in report.by_place))
    qualities = list(dict.fromkeys(quality for _, quality in report.by_place))
    width = max(9, *(len(quality) + 2 for quality in qualities))
    lines += ["", " " * 8 + "".join(f"{strings:>12}" for strings in sets)]
    for quality in sorted(qualities):
        cells = [report.by_place.get((strings, quality)) for strings in sets]
        shown = [f"{'' if c is None else str(c):>12}" for c in cells]
        lines.append(f"{quality:{width - 1}}"[: width - 1].ljust(8) + "".join(shown))
    low = [(place, count) for place, count in report.by_place.items() if count.tries >= FEWEST_TRIES]
    if low:
        (strings, quality), count = min(low, key=lambda item: item[1].clean / item[1].tries)
        if count.clean < count.tries:
            lines += ["", f"Most to gain: {quality} on {strings}, clean {count}."]
    return lines
