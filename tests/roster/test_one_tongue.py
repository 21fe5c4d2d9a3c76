"""All pages of one log claim the same: progress on the screen and as HTML, the end of a session, roster, page, term."""

from __future__ import annotations

import json
import re
from collections import Counter
from datetime import date, datetime, timedelta

import pytest

from drills.progress.ahead import read_memory
from drills.progress.claim_groups import PLACES, group_name
from drills.progress.claim_sentences import claim_lines
from drills.progress.html import inline
from drills.progress.player_causes import cause_groups
from drills.progress.progress_page import report_page
from drills.progress.progress_sentences import advice, sentences
from drills.progress.report_of_log import read_report
from drills.progress.shown_sentences import coming_next
from drills.progress.statistics_tables import report_json
from drills.roster.folder import StudentLog
from drills.roster.needs import one_thing, places_to_work_on
from drills.roster.page_of_one import student_sections
from drills.roster.student import student
from drills.roster.term import term_sections
from drills.session.player_history import PlayerHistory
from scheduler.log.fold import LogState
from scheduler.log.review_log import ReviewLog
from scheduler.planning.planner import Planner
from scheduler.review import Review
from scheduler.statistics.claims import ClaimWord
from tests.progress.players import first_deck
from tests.roster.class_beside_progress import KINDS
from tests.roster.planted_causes import practised

CLAIM = re.compile(r"^(Weakest|To watch|Stronger|Firm|Going well|Not yet): |: the count says ")


def claims_among(lines: list[str]) -> list[str]:
    """The sentences that claim something."""
    return [line for line in lines if CLAIM.search(line)]


def last_day(reviews: list[Review]) -> tuple[date, datetime]:
    """The last practice day, and its end."""
    today = reviews[-1].at.date()
    midnight = datetime(today.year, today.month, today.day, tzinfo=reviews[0].at.tzinfo)
    return today, midnight + timedelta(hours=28, microseconds=-1)


@pytest.mark.parametrize("seed", range(5))
def test_two_pages_of_one_log_never_contradict_one_another(seed):
    """Random students, some with a weakness: every page says the same sentences, and the places that a sheet, a term
    or a handout picks are those that the sentences call so."""
    kind = ("", "form", "spelling", "roots")[seed % 4]
    reviews, _ = practised(500 + seed, kind, 300 + 60 * seed, spread=1.5 if seed % 3 else 0.0)
    today, end = last_day(reviews)
    one = student("Student 1", StudentLog(LogState(tuple(reviews))), today)
    with ReviewLog(":memory:") as log:
        for review in reviews:
            log.record(review)
        report = read_report(log, end, 4.0, read_memory(reviews).words(end))
        planner = Planner(first_deck().specs(), 0, (), first_deck().rules())
        for review in reviews:
            planner.record(review)
        ending = claim_lines(PlayerHistory(log, planner, lambda: end).claims(None, first_deck().cards.values()))
    progress = claims_among(sentences(report))
    assert claims_among(ending) == progress
    assert progress or seed < 2  # there is something to agree on
    page = dict(student_sections(one, today))
    assert claims_among(page["What the counts say"]) == progress
    whole = report_page(report, [])
    assert all(inline(line) in whole for line in progress)
    bad, good, unsure = (
        {claim.group for claim in one.claims.judgement.claims if claim.family == PLACES and claim.word in words}
        for words in (
            (ClaimWord.WEAKEST, ClaimWord.TO_WATCH, ClaimWord.NOT_YET),
            (ClaimWord.FIRM, ClaimWord.GOING_WELL),
            (ClaimWord.DISAGREE,),
        )
    )
    assert bad.isdisjoint(good) and unsure.isdisjoint(good)
    assert set(places_to_work_on(one)) == bad
    told = dict(term_sections(StudentLog(LogState(tuple(reviews))), reviews[0].at.date(), today))
    for heading, places in told.items():
        if heading.startswith(("Going well", "To work on", "Thought")):
            named = {line.partition(":")[0].replace("on strings", "on") for line in places}
            expected = unsure if "too new" in heading or "Thought" in heading else good if "Going" in heading else bad
            assert named <= {group_name(PLACES, place) for place in expected}
    # A cause is nothing that surely goes well, and the one thing to fix is no place that does.
    assert not any(one_thing(one).startswith(group_name(PLACES, place)) for place in good)


def test_progress_names_the_cause_that_the_sheet_names_and_none_where_it_names_none(neckwork):
    """Twenty students, three of four with something planted: the same words on both, and a session that practises it:
    each of its cards needs what the cause names.

    Where there is no cause the suggestion is the place to watch, or nothing.
    """
    sessions = set()
    for number in range(1, 21):
        reviews, _ = practised(7000 + number, KINDS[(number - 1) % len(KINDS)], 400)
        today, end = last_day(reviews)
        one = student("Student 1", StudentLog(LogState(tuple(reviews))), today)
        with ReviewLog(":memory:") as log:
            for review in reviews:
                log.record(review)
            report = read_report(log, end, 4.0)
        assert report.cause == one.cause
        said, shown = sentences(report), coming_next(report, None)
        assert report_json(report)["cause"] == (one.cause.line if one.cause else None)
        if one.cause is None:
            assert not any("to fix" in line for line in said + shown)
            watched = [
                f"neckwork session --strings {s.replace('-', '')} --quality {q}" for s, q in report.claims.watched
            ]
            assert [advice(report)] == (watched[:1] or [""])
            continue
        assert one_thing(one) == one.cause.line
        assert said[-2:] == [f"The one thing to fix: {one.cause.line}.", f"One suggestion: {advice(report)}"]
        assert shown[0] == said[-2]
        sessions.add((advice(report), one.cause.kind, one.cause.groups))
    for command, _, groups in sessions:
        program, what, *options = command.split()
        assert (program, what) == ("neckwork", "session")
        cards = json.loads(neckwork("cards", *options, "--json").out)["cards"]
        assert cards and all(cause_groups(card["skills"]) & set(groups) for card in cards), command
    assert min(Counter(kind for _, kind, _ in sessions)[kind] for kind in ("roots", "form", "spelling")) > 1


def test_a_student_s_page_asks_the_memory_where_its_word_decides():
    """Nine of ten clean everywhere: what progress calls firm, or finds the memory of another mind about, the student's
    page calls the same."""
    reviews, _ = practised(7, "", 900, deck="two qualities on three sets")
    from dataclasses import replace

    from scheduler.grade import Grade

    clean = [replace(review, grade=Grade.CLEAN, slip=None) if n % 10 else review for n, review in enumerate(reviews)]
    one = student("Student 1", StudentLog(LogState(tuple(clean))), clean[-1].at.date())
    words = {claim.word for claim in one.claims.judgement.claims if claim.family == PLACES}
    assert words <= {ClaimWord.FIRM, ClaimWord.DISAGREE} and words
    assert ClaimWord.GOING_WELL not in words
