"""The progress report as one page with pictures, each with the same in words."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from html import escape

from drills.progress.ahead import DayAhead
from drills.progress.html import figure, folded, inline, page, section, side_by_side, table
from drills.progress.neck_picture_svg import roots_picture
from drills.progress.pictures import ahead_picture, gaps_picture, map_picture, trust_picture, weeks_picture
from drills.progress.progress_screen import count_words, range_words
from drills.progress.progress_sentences import FIRST_TRY_WORDS, apart_words, no_first_try_words, root_groups, sentences
from drills.progress.report import COVERED_DAYS, RECENT_DAYS, Report
from drills.progress.shown_sentences import coming_next, since_last_week, three_sentences
from scheduler.statistics.counts import FEWEST_TRIES, Count

__all__ = ["report_page"]


_NECK_KEY = (
    "Full dot: this root should still be found after a week without practice. Ring: met. Numbers: strings, frets."
)


def report_page(report: Report, ahead: Sequence[DayAhead] = (), name: str = "", next_day: date | None = None) -> str:
    """The whole page, HTML5 in one file: what a student shows, and every number behind a fold.

    name: the player's, where it is given. next_day: the next practice day, where there is one.
    """
    intro = f"<p>{report.today.isoformat()}. Counts are of {FIRST_TRY_WORDS}, reported by the player.</p>"
    title = name or "Progress"
    if not report.total.tries:
        return page(title, [intro, *(f"<p>{said}</p>" for said in no_first_try_words(report))])
    neck = roots_picture(report)
    shown = [
        "".join(f'<p class="said">{inline(sentence)}</p>' for sentence in three_sentences(report)),
        section("On the neck", figure(neck, _NECK_KEY)) if neck else "",
        section("Since last week", _list(since_last_week(report))),
        section("What comes next", _list(coming_next(report, next_day))),
        folded("Everything in numbers", [intro, *_numbers(report, ahead)]),
    ]
    return page(title, [part for part in shown if part])


def _numbers(report: Report, ahead: Sequence[DayAhead]) -> list[str]:
    """What stands behind the fold."""
    words = _list([*apart_words(report), *sentences(report)])
    body = [_summary(report), section("In words", words), _neck(report)]
    body.append(
        section(
            "What comes back after days away",
            "<p>Clean first tries of 100, by the days since the same card was last played. "
            "The line is the range the count is compatible with, 19 times in 20.</p>",
            figure(gaps_picture(report)),
        )
    )
    body.append(_times(report))
    if report.trust and report.trust.tries >= FEWEST_TRIES:
        body.append(
            section(
                "Predicted against actual",
                "<p>Upright line: what the memory said just before. Dot: what came, with its range. "
                "Where the line lies inside the range, the memory deserves trust.</p>",
                figure(trust_picture(report)),
            )
        )
    if ahead:
        body.append(
            section(
                "The weeks ahead",
                f"<p>If nothing is played until then: how many of the {ahead[0].cards} cards met would come clean at a "
                "first try. Predicted; the upright bars are the range, 19 times in 20 if the memory's models hold.</p>",
                figure(ahead_picture(ahead)),
            )
        )
    body.append(_skills(report))
    return [part for part in body if part]


def _range(count: Count) -> str:
    """What a count of 100 is compatible with: ``59 to 85``."""
    return range_words(count).removesuffix(" in 100")


def _list(lines: Sequence[str]) -> str:
    return "<ul>" + "".join(f"<li>{inline(line)}</li>" for line in lines) + "</ul>" if lines else ""


def _week_away(report: Report) -> list[tuple[str, str, str]]:
    """The row of what was answered away from the guitar this week, where there is any."""
    count = report.week_away
    return [("The last 7 days, away from the guitar", count_words(count), _range(count))] if count.tries else []


def _summary(report: Report) -> str:
    rows = [
        ("First try clean, last 7 days", count_words(report.week_played), _range(report.week_played)),
        ("The 7 days before", count_words(report.week_before_played), _range(report.week_before_played)),
        *_week_away(report),
        ("Ever, on the guitar", count_words(report.played), _range(report.played)),
        ("Ever, away from the guitar", count_words(report.away), _range(report.away)),
        ("After 7 days or more away", count_words(report.after_7), _range(report.after_7)),
        ("After 21 days or more away", count_words(report.after_21), _range(report.after_21)),
        ("Days played of the last 7", f"{report.days_of_7} of 7", ""),
        ("Days played of the last 14", f"{report.days_of_14} of 14", ""),
        ("Minutes at the cards, last 7 days", f"{report.minutes:.0f}", ""),
    ]
    caption = "Counts, self-reported; in brackets under five tries. Range: what a count is compatible with, 19 in 20"
    return section("In numbers", table(caption, ("What", "Count", "Range in 100"), rows))


def _neck(report: Report) -> str:
    if not report.places:
        return ""
    key = (
        f"<p>Full dot: played clean at a first try in the last {COVERED_DAYS} days. "
        "Ring with a point: clean before that. Ring: met. Short line: not met.</p>"
    )
    maps = [
        f"<h3>{escape(quality)}</h3>{figure(map_picture(report, quality, number))}"
        for number, quality in enumerate(report.qualities)
    ]
    rows = [
        (str(row), count_words(row.recent), _range(row.recent), count_words(row.count), count_words(row.after_7),
         f"{len(row.covered)} of 12", row.last_day.isoformat())
        for row in report.places
    ]  # fmt: skip
    header = ("Where", f"Last {RECENT_DAYS} days", "Range in 100", "Ever", "After 7+ days", "Roots, 30 days", "Last")
    counts = table("First try clean by string set and quality", header, rows)
    return section("String sets and roots", key, side_by_side(maps), counts)


def _times(report: Report) -> str:
    pictures = [
        figure(weeks_picture(report.weeks, row.kind), f"Prompt by {row.kind}.")
        for row in report.times[:3]
        if any(row.kind in week.seconds_by_kind for week in report.weeks)
    ]
    if not pictures:
        return ""
    note = (
        "<p>A typical (median) clean first try, week by week, one kind of prompt at a time; longest counted 60 s.</p>"
    )
    return section("Prompt to answer", note, *pictures)


def _skills(report: Report) -> str:
    groups = [(name, count_words(count), _range(count)) for name, count in root_groups(report).items()]
    forms = [
        (row.name, count_words(row.recent), _range(row.recent), row.word or "not asked", row.last_day.isoformat())
        for row in report.of_kind("form")
    ]
    parts = []
    if forms:
        header = ("Shape", f"Last {RECENT_DAYS} days", "Range in 100", "By the memory", "Last")
        parts.append(table("Shapes", header, forms))
    if groups:
        columns = ("Roots", f"Last {RECENT_DAYS} days", "Range in 100")
        parts.append(table("Finding roots, by part of a string", columns, groups))
    return section("Skills", *parts) if parts else ""
