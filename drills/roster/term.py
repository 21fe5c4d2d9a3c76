"""A term in plain language, for a parent or a file: what was practised, learned and kept, and what comes next."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from drills.progress.claim_sentences import day_name
from drills.roster.folder import StudentLog
from drills.roster.page_of_one import Section
from drills.roster.student import JUDGED_DAYS
from drills.roster.student_claims import student_claims
from scheduler.days.ask_of_day import Ask
from scheduler.days.practice_day import AWAY_DAYS
from scheduler.review import SECONDS_CAP, Review
from scheduler.statistics.claims import ClaimWord
from scheduler.statistics.counts import FEWEST_TRIES, Count
from scheduler.statistics.review_counts import clean_after_gap

__all__ = ["TERM_WEEKS", "term_sections"]

TERM_WEEKS = 12
"""A term, when its beginning is not named (common practice)."""

_LEARNED = (
    ("form", "shape on the neck", "shapes on the neck"),
    ("root", "place to find a note", "places to find a note"),
    ("spell", "chord or scale to spell", "chords and scales to spell"),
)
"""Kinds of skill in words that a parent can read, one and many."""

_NAMED = 5


def term_sections(log: StudentLog, since: date, today: date, words: Sequence[str] = ()) -> list[Section]:
    """What a reader who plays no guitar can understand, in sentences with counts and without a grade.

    since, today: the first and last practice day told of. words: the teacher's own, a paragraph each, which end the
    page. Questions to the teacher, slips and other students are not for this page. Of a student who was away in all
    that time it says what had been learned before.
    """
    first, last = since.toordinal(), today.toordinal()
    days = [(day, review) for review, day, _ in log.asks()]
    told = [review for day, review in days if first <= day <= last]
    played = {day for day, _ in days if first <= day <= last}
    if not played:
        return _away(log, since, today) + _own_words(words)
    sections = [("Practice", _practice(told, played, first, last))]
    before = {skill for day, review in days if day < first for skill in review.skills}
    if new := _new(told, before):
        sections.append(("New", new))
    tries = [(day, review) for review, day in log.first_tries()]
    sections.append(("Played right at the first try", _clean(tries, log, first, last)))
    claims = student_claims([asked for asked in log.asks() if asked[1] <= last], today)
    well = claims.places(ClaimWord.FIRM, ClaimWord.GOING_WELL)[::-1]
    work = list(dict.fromkeys([*claims.watched, *claims.not_yet]))
    # The count and the memory may disagree, and neither is taken for the truth.
    firm = {one.group for one in claims.judgement.claims if one.word is ClaimWord.DISAGREE and one.memory == "firm"}
    unsure = claims.places(ClaimWord.DISAGREE)[::-1]
    since_words = f"since {day_name(claims.since)}"
    for heading, places in (
        (f"Going well {since_words}", well),
        (f"Going well {since_words}, too new to say that it lasts", [one for one in unsure if one not in firm]),
        (f"To work on next, {since_words}", work),
        (f"Thought to be learned, and not going well {since_words}", [one for one in unsure if one in firm]),
    ):
        if places:
            sections.append(
                (heading, [f"{q} on strings {on}: {claims.count_of((on, q))}" for on, q in places[:_NAMED]])
            )
    return sections + _own_words(words)


def _own_words(words: Sequence[str]) -> list[Section]:
    return [("From the teacher", list(words))] if words else []


def _away(log: StudentLog, since: date, today: date) -> list[Section]:
    """Of a student who did not practise: so much, and what had been learned by then."""
    first = since.toordinal()
    nothing = f"Nothing was practised with this tool between {_day(since)} and {_day(today)}."
    before = [(review, day, ask) for review, day, ask in log.asks() if day < first]
    if not before:
        return [("Practice", [nothing])]
    last = date.fromordinal(max(day for _, day, _ in before))
    sections: list[Section] = [("Practice", [nothing, f"Last practised on {_day(last)}."])]
    clean = {
        skill for review, _, ask in before if ask is Ask.FIRST_TRY and review.grade.clean for skill in review.skills
    }
    if learned := _counted(clean):
        sections.append(("Played right at a first try before", learned))
    well = student_claims(before, last).places(ClaimWord.FIRM, ClaimWord.GOING_WELL)[::-1]
    if well:
        sections.append((f"Going well until {_day(last)}", [f"{q} on strings {on}" for on, q in well[:_NAMED]]))
    return sections


def _day(day: date) -> str:
    return f"{day.day} {day:%B %Y}"


def _practice(told: Sequence[Review], played: set[int], first: int, last: int) -> list[str]:
    weeks = -(-(last - first + 1) // 7)
    in_weeks = len({(day - first) // 7 for day in played})
    spent = (review.spent if review.spent is not None else review.seconds for review in told)
    minutes = sum(min(each, 2 * SECONDS_CAP) for each in spent) / 60 / len(played)
    return [
        f"Practised on {len(played)} day{'s' * (len(played) != 1)}, in {in_weeks} of {weeks} weeks, "
        f"about {max(1, round(minutes))} minute{'s' * (round(minutes) > 1)} at a time."
    ]


def _new(told: Sequence[Review], before: set[str]) -> list[str]:
    """What was met for the first time, as counts a parent can read."""
    return _counted({skill for review in told for skill in review.skills} - before)


def _counted(met: set[str]) -> list[str]:
    """Skills as counts a parent can read."""
    found = []
    for kind, one, many in _LEARNED:
        if count := sum(skill.startswith(f"{kind}:") for skill in met):
            found.append(f"{count} {one if count == 1 else many}")
    return [", ".join(found) + "."] if found else []


def _clean(tries: Sequence[tuple[int, Review]], log: StudentLog, first: int, last: int) -> list[str]:
    lines = [f"{_count([review for day, review in tries if first <= day <= last])} in all."]
    early = [r for day, r in tries if first <= day < first + JUDGED_DAYS]
    late = [r for day, r in tries if last - JUDGED_DAYS < day <= last]
    if last - first >= 2 * JUDGED_DAYS and min(len(early), len(late)) >= FEWEST_TRIES:
        lines.append(f"{_count(early)} in the first four weeks, {_count(late)} in the last four.")
    whole, before = (
        clean_after_gap((asked for asked in log.asks() if asked[1] <= end), AWAY_DAYS) for end in (last, first - 1)
    )
    away = Count(whole.clean - before.clean, whole.tries - before.tries)
    if away.tries >= FEWEST_TRIES:
        lines.append(f"{away} after a week or more without playing it.")
    return lines


def _count(reviews: Sequence[Review]) -> Count:
    return Count(sum(review.grade.clean for review in reviews), len(reviews))
