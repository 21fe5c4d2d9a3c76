"""The statistics themselves: one JSON document, or one table for a spreadsheet, a row a statistic."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator
from typing import Any

from drills.progress.progress_sentences import root_groups, sentences
from drills.progress.report import GAP_BANDS, Report
from drills.theory.spelling import common_name
from scheduler.statistics.counts import Count

__all__ = ["CSV_COLUMNS", "band_name", "report_csv", "report_json"]

CSV_COLUMNS = (
    "group", "name", "set", "quality", "clean", "tries", "low", "high", "recent_clean", "recent_tries",
    "after_7_clean", "after_7_tries", "after_21_clean", "after_21_tries", "roots_clean_30_days", "seconds",
    "seconds_of", "minutes", "days", "met", "state", "last_day",
)  # fmt: skip
"""group: total, gap, kind, place, skill or week. low, high: Wilson's 95 % interval of clean of tries, empty under
five tries. recent: of the last 60 days. seconds: prompt to reveal, clean first tries: the mean for a skill, the
median elsewhere. state: by the memory, where it was asked."""


def band_name(band: tuple[int, int]) -> str:
    """``7 to 13 days``, ``same day``, ``45 days or more``."""
    first, last = band
    if last == 0:
        return "same day"
    if last >= 10**6:
        return f"{first} days or more"
    return f"{first} to {last} days"


def _count(count: Count) -> dict[str, Any]:
    interval = count.interval
    return {
        "clean": count.clean,
        "tries": count.tries,
        "interval": [round(bound, 4) for bound in interval] if interval else None,
    }


def _apart(whole: Count, played: Count, away: Count) -> dict[str, Any]:
    return {**_count(whole), "on_the_guitar": _count(played), "away_from_the_guitar": _count(away)}


def report_json(report: Report) -> dict[str, Any]:
    """The report as the machine-readable answer; every count is of self-reported first tries."""
    trust = report.trust
    return {
        "self_reported": True,
        "day": report.today.isoformat(),
        "first_try_clean": _count(report.total),
        "asked_again_the_same_day": _count(report.again),
        "new_today": _count(report.new),
        "on_the_guitar": _count(report.played),
        "away_from_the_guitar": _count(report.away),
        "week": {
            **_apart(report.week, report.week_played, report.week_away),
            "days": report.days_of_7,
            "minutes": round(report.minutes, 1),
        },
        "week_before": _apart(report.week_before, report.week_before_played, report.week_before_away),
        "days_of_last_7": report.days_of_7,
        "days_of_last_14": report.days_of_14,
        "clean_after_7_days": _count(report.after_7),
        "clean_after_21_days": _count(report.after_21),
        "by_gap": [
            {"gap": band_name(band), **_count(count)} for band, count in zip(GAP_BANDS, report.gaps, strict=True)
        ],
        "grades": dict(report.grades),
        "by_strings_and_quality": [
            {
                "strings": row.strings,
                "quality": row.quality,
                **_count(row.count),
                "recent": _count(row.recent),
                "after_7_days": _count(row.after_7),
                "after_21_days": _count(row.after_21),
                "roots_clean_in_30_days": sorted(common_name(pc) for pc in row.covered),
                "slips": dict(row.slips),
                "last_day": row.last_day.isoformat(),
            }
            for row in report.places
        ],
        "by_skill": [
            {
                "skill": row.skill,
                "name": row.name,
                **_count(row.count),
                "recent": _count(row.recent),
                "after_7_days": _count(row.after_7),
                "mean_seconds": None if row.seconds is None else round(row.seconds, 2),
                "seconds_of": row.times,
                "state": row.word or None,
                "last_day": row.last_day.isoformat(),
            }
            for row in report.skills
        ],
        "by_part_of_a_string": [{"roots": name, **_count(count)} for name, count in root_groups(report).items()],
        "time_to_reveal": [
            {"kind": row.kind, "median_seconds": round(row.seconds, 2), "tries": row.tries} for row in report.times
        ],
        "by_week": [
            {
                "monday": week.day.isoformat(),
                **_count(week.count),
                "days": week.days,
                "minutes": round(week.minutes, 1),
                "first_met": week.met,
                "median_seconds": {kind: round(s, 2) for kind, (s, _) in week.seconds_by_kind.items() if kind},
            }
            for week in report.weeks
        ],
        "predicted_and_actual": trust
        and {
            "tries": trust.tries,
            "predicted": round(trust.predicted, 4),
            "actual": round(trust.actual, 4),
            "helps": trust.helps,
            "calibration_error": round(trust.error, 4),
            "log_loss": round(trust.log_loss, 4),
            "log_loss_of_the_average": round(trust.base_loss, 4),
            "log_loss_of_the_simplest": round(trust.plain_loss, 4),
            "better_than_the_simplest": trust.beats_simplest,
            "bins": [{"predicted": round(mean, 4), **_count(count)} for mean, count in trust.bins],
        },
        "fingerings_of_your_own": report.locks,
        "questions_for_the_teacher": list(report.flags),
        "rested": report.rested,
        "blind_sample": report.sample or None,
        **_heard(report),
        "cause": report.cause.line if report.cause else None,
        "in_words": sentences(report),
    }


def _heard(report: Report) -> dict[str, Any]:
    """Own grades against what was heard; nothing while there are too few to say anything."""
    heard = report.heard
    if heard.interval is None:
        return {}
    return {
        "own_grade_and_heard": {
            "same": heard.same,
            "own_higher": heard.higher,
            "own_lower": heard.lower,
            "interval": [round(bound, 4) for bound in heard.interval],
            "tried_on": "simulated playing only",
        }
    }


def report_csv(report: Report) -> str:
    """The statistics as a table with CSV_COLUMNS, lines ending in CR LF (RFC 4180)."""
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, CSV_COLUMNS, restval="", lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(_guarded(row) for row in _rows(report))
    return out.getvalue()


def _guarded(row: dict[str, Any]) -> dict[str, Any]:
    """A row whose texts no spreadsheet runs: see `scheduler.log.interchange_csv`."""
    from scheduler.log.interchange_csv import guard

    return {key: guard(value) if isinstance(value, str) else value for key, value in row.items()}


def _numbers(count: Count, **more: Count) -> dict[str, Any]:
    interval = count.interval or ("", "")
    row: dict[str, Any] = {"clean": count.clean, "tries": count.tries}
    row |= {name: f"{bound:.3f}" if bound != "" else "" for name, bound in zip(("low", "high"), interval, strict=True)}
    for name, other in more.items():
        row |= {f"{name}_clean": other.clean, f"{name}_tries": other.tries}
    return row


def _rows(report: Report) -> Iterator[dict[str, Any]]:
    yield {
        "group": "total", "name": "all", **_numbers(report.total, after_7=report.after_7, after_21=report.after_21),
        "days": report.days_of_14,
    }  # fmt: skip
    for band, count in zip(GAP_BANDS, report.gaps, strict=True):
        yield {"group": "gap", "name": band_name(band), **_numbers(count)}
    for time in report.times:
        yield {"group": "kind", "name": time.kind, "seconds": f"{time.seconds:.2f}", "seconds_of": time.tries}
    for row in report.places:
        yield {
            "group": "place", "name": str(row), "set": row.strings.replace("-", ""), "quality": row.quality,
            **_numbers(row.count, recent=row.recent, after_7=row.after_7, after_21=row.after_21),
            "roots_clean_30_days": len(row.covered), "last_day": row.last_day.isoformat(),
        }  # fmt: skip
    for skill in report.skills:
        yield {
            "group": "skill", "name": skill.name, **_numbers(skill.count, recent=skill.recent, after_7=skill.after_7),
            "seconds": "" if skill.seconds is None else f"{skill.seconds:.2f}", "seconds_of": skill.times,
            "state": skill.word, "last_day": skill.last_day.isoformat(),
        }  # fmt: skip
    yield from _weeks(report)


def _weeks(report: Report) -> Iterable[dict[str, Any]]:
    for week in report.weeks:
        yield {
            "group": "week", "name": week.day.isoformat(), **_numbers(week.count),
            "seconds": "" if week.seconds is None else f"{week.seconds:.2f}", "minutes": f"{week.minutes:.1f}",
            "days": week.days, "met": week.met, "last_day": week.day.isoformat(),
        }  # fmt: skip
