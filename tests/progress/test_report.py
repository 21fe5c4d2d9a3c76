"""The progress report: its counts against plain sums over the reviews, and what it says of them."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from datetime import timedelta
from statistics import mean, median

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.progress.card_parts import card_parts, kind_of_card, place_of
from drills.progress.claim_groups import judged
from drills.progress.progress_page import report_page
from drills.progress.progress_screen import count_words, range_words, screen_lines
from drills.progress.progress_sentences import advice, sentences
from drills.progress.report import GAP_BANDS, RECENT_DAYS, make_report
from drills.progress.report_of_log import SAMPLE_TICKET, empty_report, read_report, sample_words
from drills.progress.skill_names import root_spot, skill_name
from drills.progress.statistics_tables import CSV_COLUMNS, report_csv, report_json
from drills.sample import estimate
from scheduler.days.practice_day import practice_day, practice_day_number
from scheduler.grade import Grade
from scheduler.log.review_log import ReviewLog
from scheduler.memory.baseline import baseline_recalls
from scheduler.statistics.counts import Count
from scheduler.statistics.digest import digest
from scheduler.statistics.first_tries import asks
from scheduler.statistics.recent_tries import tries_of_reviews
from scheduler.statistics.review_counts import clean_after_gap, count_by
from tests.progress.pages import check_page
from tests.progress.players import START, first_deck, graded, played
from tests.scheduler.plain_counts import count_by_skill, days_played, first_tries_plainly

AT = START + timedelta(days=45)


def reported(reviews, now=AT, **more):
    """The report of reviews, as `read_report` makes it of a log."""
    since = now - timedelta(days=RECENT_DAYS)
    whole = digest(reviews, kind=kind_of_card)
    recent = digest([one for one in reviews if one.at >= since], kind=kind_of_card)
    dated = [(one, practice_day_number(one.at)) for one in reviews]
    claims = judged(tries_of_reviews(dated, practice_day(now)), more.get("words"))
    return make_report(whole, recent, practice_day(now), claims=claims, **more)


@settings(max_examples=15)
@given(st.integers(0, 10**6))
def test_every_count_is_a_plain_sum_over_the_reviews(seed):
    """Places, skills, gaps, weeks and days agree with one pass over the reviews for each of them."""
    reviews = played(seed)
    report = reported(reviews)
    firsts = [one for one, _ in first_tries_plainly(reviews)]
    assert report.total == Count(sum(one.grade.clean for one in firsts), len(firsts))
    assert {(row.strings, row.quality): row.count for row in report.places} == count_by(
        reviews, lambda r: place_of(r.card)
    )
    assert {row.skill: row.count for row in report.skills} == count_by_skill(reviews)
    assert (report.after_7, report.after_21) == (clean_after_gap(asks(reviews), 7), clean_after_gap(asks(reviews), 21))
    beyond_7 = [count for band, count in zip(GAP_BANDS, report.gaps, strict=True) if band[0] >= 7]
    assert sum(beyond_7, Count()) == report.after_7
    assert report.days_of_14 == days_played(reviews, report.today, 14)
    assert sum((week.count for week in report.weeks), Count()) == report.total
    week = [one for one in firsts if 0 <= (report.today - practice_day(one.at)).days < 7]
    assert report.week == Count(sum(one.grade.clean for one in week), len(week))
    assert sum(report.grades.values()) == len(firsts)


@settings(max_examples=10)
@given(st.integers(0, 10**6))
def test_coverage_and_times_are_what_was_played(seed):
    """Roots covered are clean in 30 days; times, of clean tries up to 60 s, are a median by kind, a mean by root."""
    reviews = played(seed)
    report = reported(reviews)
    clean = [one for one, _ in first_tries_plainly(reviews) if one.grade.clean]
    for row in report.places:
        here = [one for one in clean if place_of(one.card) == (row.strings, row.quality)]
        lately = [one for one in here if (report.today - practice_day(one.at)).days < 30]
        assert row.covered == {card_parts(one.card).pitch_class for one in lately}
        assert row.clean == {card_parts(one.card).pitch_class for one in here}
    if clean:
        assert [time.seconds for time in report.times] == [median(min(one.seconds, 60.0) for one in clean)]
    for row in report.of_kind("root"):
        times = [min(one.seconds, 60.0) for one in clean if row.skill in one.skills]
        assert row.seconds == (pytest.approx(mean(times)) if times else None)


def test_the_time_to_an_answer_is_told_in_whole_seconds():
    """``Prompt to answer, a typical clean try: 9 s``: the median, the kind of prompt and how many tries it is of."""
    report = reported(played(7))
    row = report.times[0]
    text = " ".join(screen_lines(report, 200))
    assert f"Prompt to answer, a typical clean try: {row.seconds:.0f} s for {row.kind} ({row.tries} tries)" in text


def test_one_try_is_one_try():
    """Under a single clean try stands ``(1 try)``."""
    one = next(review for review in played(7) if review.grade >= Grade.CLEAN and review.attempt == "first")
    text = " ".join(screen_lines(reported([one]), 200))
    assert "(1 try)" in text and "1 tries" not in text


@settings(max_examples=8)
@given(st.integers(0, 10**6))
def test_a_report_read_from_a_log_is_that_of_its_reviews(seed):
    """Reading the log's digests gives the same report, and a later moment's reviews are left out."""
    reviews = played(seed)
    with ReviewLog(":memory:") as log:
        for one in reviews:
            log.record(one)
        assert read_report(log, AT, 4.0) == reported(reviews)
        early = START + timedelta(days=20)
        assert read_report(log, early, 4.0).total == reported([r for r in reviews if r.at < early], early).total


def test_a_day_gone_by_is_reported_as_it_stood():
    """Questions, fingerings and rested cards of later days are not there yet; taken back later, they still are."""
    with ReviewLog(":memory:") as log:
        for one in played(2, 10):
            log.record(one)
        early, late = START + timedelta(days=12), START + timedelta(days=20)
        question = log.flag("a", "why?", early).id
        log.flag("b", "", late)
        log.lock("form", "2 4 1", late)
        log.rest("a", late)
        log.undo(question, late)
        then, now = (read_report(log, at + timedelta(days=1), 4.0) for at in (early, late))
        assert (then.flags, then.locks, then.rested) == (("a",), 0, 0)
        assert (now.flags, now.locks, now.rested) == (("b",), 1, 1)


def test_a_week_counts_what_was_played_apart_from_what_was_not():
    """drills/RULES.md, A2, WP4: cards away from the guitar are kept apart, in this week and the one before."""
    (first, second), note = list(first_deck().cards)[:2], "E2A2D3G3B3E4/-/Gb/-/4/note"
    days = [(0, note, Grade.CLEAN), (1, first, Grade.FOUND), (9, first, Grade.CLEAN), (9, second, Grade.CLEAN),
            (10, first, Grade.LOOKED), (10, note, Grade.IN_TIME), (11, note, Grade.LOOKED)]  # fmt: skip
    with ReviewLog(":memory:") as log:
        for number, (day, card, grade) in enumerate(days):
            at = START + timedelta(days=day, minutes=number)
            log.record(replace(graded(first, grade, at, id=f"w{number}"), card=card))
        report = read_report(log, START + timedelta(days=11, hours=1), 4.0)
    assert (str(report.week), str(report.week_played), str(report.week_away)) == ("3 of 5", "2 of 3", "1 of 2")
    assert (str(report.week_before_played), str(report.week_before_away)) == ("0 of 1", "1 of 1")
    said = " ".join(" ".join(screen_lines(report, 200)).split())
    assert "This week: 2 of 3 clean; away from the guitar 1 of 2 right; 3 of 7 days," in said
    assert "the week before: 0 of 1; away from the guitar 1 of 1 right." in said
    week = report_json(report)["week"]
    assert (week["on_the_guitar"]["tries"], week["away_from_the_guitar"]["tries"], week["tries"]) == (3, 2, 5)


def twenty() -> list:
    """The twenty grades of rule G25: 2 Looked, 6 Found it, 9 Clean, 3 In time, and two repeats."""
    cards = sorted(first_deck().cards)[:20]
    grades = [Grade.LOOKED] * 2 + [Grade.FOUND] * 6 + [Grade.CLEAN] * 9 + [Grade.IN_TIME] * 3
    found = [
        graded(card, grade, START + timedelta(seconds=20 * n), id=f"r{n}")
        for n, (card, grade) in enumerate(zip(cards, grades, strict=True))
    ]
    repeats = [
        graded(cards[n], Grade.FOUND, START + timedelta(minutes=10, seconds=n), attempt="repeat", id=f"p{n}")
        for n in range(2)
    ]
    return found + repeats


def test_twenty_grades_report_twelve_of_twenty():
    """Rule G25: 2/6/9/3 reads as first-try clean 12 of 20 everywhere; repeats are not counted."""
    report = reported(twenty(), START + timedelta(hours=1))
    assert str(report.total) == "12 of 20"
    assert report.grades == {"Looked": 2, "Found it": 6, "Clean": 9, "In time": 3}
    assert "12 of 20 clean" in " ".join(screen_lines(report))
    assert report_json(report)["first_try_clean"]["clean"] == 12
    rows = list(csv.DictReader(io.StringIO(report_csv(report))))
    assert [(row["clean"], row["tries"]) for row in rows if row["group"] == "total"] == [("12", "20")]


def test_under_five_tries_no_rate_is_given():
    """Four tries show a bracketed count and no interval (rule F4); five show Wilson's (1927)."""
    assert (count_words(Count(3, 4)), range_words(Count(3, 4))) == ("(3 of 4)", "")
    assert (count_words(Count(17, 20)), range_words(Count(17, 20))) == ("17 of 20", "64 to 95 in 100")
    cards = sorted(first_deck().cards)
    report = reported([graded(cards[0], Grade.LOOKED, START + timedelta(minutes=n)) for n in range(4)])
    assert not report.claims.judgement.claims
    assert advice(report) == f"neckwork session --strings {cards[0].split('/')[4]} --quality {cards[0].split('/')[3]}"
    assert report_json(report)["by_strings_and_quality"][0]["interval"] is None


def corner_history() -> list:
    """Eight days: m7b5 on 4-3-2 is missed at every try, always for the root; all else comes clean."""
    found = []
    for day in range(8):
        for number, card in enumerate(first_deck().cards.values()):
            weak = card.place == "m7b5 on 4-3-2"
            if weak or number % 2 == day % 2:
                grade, slip = (Grade.LOOKED, "root") if weak else (Grade.CLEAN, None)
                at = AT - timedelta(days=10 - day, minutes=-number)
                found.append(graded(card.id, grade, at, slip=slip, id=f"{day}-{number}"))
    return sorted(found, key=lambda one: one.at)


def test_the_weakest_place_is_named_with_its_count_and_that_of_the_rest():
    """None of 96 clean against all others: the weakest, with the slips named there and a command to practise it."""
    report = reported(corner_history())
    lines = sentences(report)
    assert lines[0] == "Weakest: m7b5 on 4-3-2, 0 of 96 clean since 8 April; elsewhere 528 of 528."
    assert "Slips named at m7b5 on 4-3-2 in 60 days: finding the root, 96 of 96." in lines
    assert advice(report) == "neckwork session --strings 432 --quality m7b5"
    assert not any(line.startswith("Not yet: m7b5") for line in lines)  # said once is enough


def test_firm_is_said_only_where_memory_and_count_agree():
    """Going well by the count alone; firm where the memory says so of every shape there; else they disagree."""
    card = first_deck().cards["E2A2D3G3B3E4/arpeggio/C/m7b5/654/name"]
    reviews = [
        replace(graded(one.id, Grade.CLEAN, AT - timedelta(days=9 - day), id=f"{day}{one.id}"), skills=one.skills[:1])
        for day in range(5) for one in first_deck().cards.values() if one.place == card.place
    ]  # fmt: skip
    form = next(skill for skill in card.skills if skill.startswith("form:"))
    well = "m7b5 on 6-5-4 (60 of 60) clean since 9 April"
    assert sentences(reported(reviews))[0] == f"Going well: {well}."
    firm = sentences(reported(reviews, words={form: "firm"}))[0]
    assert firm == f"Firm: {well}, and the memory expects it to last."
    assert sentences(reported(reviews, words={form: "fading"}))[0] == (
        "M7b5 on 6-5-4: the count says going well (60 of 60 clean since 9 April), the memory says fading. "
        "They do not agree; neither is taken for the truth."
    )


def test_below_evidence_it_is_said_what_is_missing():
    """Two places of thirty tries each, all clean at one and none at the other: ten more are needed, and nothing else
    is said of either but what each surely is by itself."""
    cards = [card for card in first_deck().cards.values() if card.place in ("m7 on 5-4-3", "7 on 5-4-3")]
    reviews = [
        replace(graded(card.id, Grade.CLEAN, AT - timedelta(days=9 - day), id=f"{day}{card.id}"), skills=())
        for day in range(3) for number, card in enumerate(cards) if number % 12 < 10
    ]  # fmt: skip
    assert sentences(reported(reviews))[0] == (
        "Nothing can be told apart yet; 7 on 5-4-3 can be compared with the rest after about 10 more tries."
    )


def test_what_is_missing_takes_nothing_back_that_was_named():
    """None of seven at one place, all of five at another: the first is not there yet, and not yet below the rest."""
    cards = [card for card in first_deck().cards.values() if card.place in ("m7 on 5-4-3", "maj7 on 5-4-3")]
    weak = [one for one in cards if one.place.startswith("m7")][:7]
    well = [one for one in cards if one.place.startswith("maj7")][:5]
    reviews = [
        replace(graded(one.id, grade, AT - timedelta(minutes=30 - number), id=one.id), skills=())
        for number, (one, grade) in enumerate(
            [(one, Grade.LOOKED) for one in weak] + [(one, Grade.CLEAN) for one in well]
        )
    ]  # fmt: skip
    named, missing = sentences(reported(reviews))[:2]
    assert named.startswith("Not yet: m7 on 5-4-3 (0 of 7)")
    assert missing.startswith("Nothing is surely below the rest yet; ") and "can be compared with it" in missing


def test_what_the_memory_expected_is_told_of_all_asks_where_some_are_counted_apart():
    """Five first tries are five; where one card was asked again that day there are six, and the sentence says why."""
    cards = sorted(first_deck().cards)[:5]
    firsts = [graded(card, Grade.CLEAN, AT - timedelta(minutes=9 - n), predicted=0.8) for n, card in enumerate(cards)]
    assert "The memory expected 4 clean of 5; 5 came." in sentences(reported(firsts))
    again = graded(cards[0], Grade.LOOKED, AT - timedelta(minutes=1), predicted=0.9, id="again")
    said = "The memory expected 5 clean of 6, what is counted apart among them; 5 came."
    assert said in sentences(reported([*firsts, again]))


def test_a_model_that_does_not_help_says_so():
    """Predictions worse than the running average are owned up to."""
    cards = sorted(first_deck().cards)
    reviews = [
        graded(
            cards[n],
            Grade.CLEAN if n % 2 else Grade.LOOKED,
            AT - timedelta(minutes=60 - n),
            predicted=0.05 if n % 2 else 0.95,
        )
        for n in range(20)
    ]
    lines = sentences(reported(reviews))
    assert "The memory expected 10 clean of 20; 10 came." in lines
    assert "It predicts no better than your average so far: do not trust it yet." in lines


def test_a_committee_no_better_than_its_simplest_member_says_so():
    """A player whose cards fade each by itself, as the simplest member foresees, is told that the rest buys nothing;
    one whom the shared predictions fit better is not."""
    cards = sorted(first_deck().cards)[:10]
    days = [0, 2, 4, 6, 8, 10, 12]
    reviews = [
        graded(card, Grade.LOOKED if day == 0 else Grade.CLEAN, AT - timedelta(days=30 - day, minutes=-n))
        for day in days
        for n, card in enumerate(cards)
    ]
    plain = baseline_recalls(reviews)

    def told(by: float) -> list[str]:
        """What is said when the predictions lie so far from those of the simplest, towards what came."""
        leaning = [p + (by if one.grade.clean else -by) for p, one in zip(plain, reviews, strict=True)]
        pairs = zip(leaning, reviews, strict=True)
        return sentences(reported([replace(one, predicted=max(0.01, min(0.99, p))) for p, one in pairs]))

    line = "It does no better for you so far than its simplest part, which takes every card by itself."
    assert line in told(-0.02)
    assert line not in told(0.02)
    assert not any("no better than your average" in one for one in told(-0.02) + told(0.02))
    away = reported([replace(one, predicted=p) for p, one in zip(plain, reviews, strict=True)])
    assert report_json(away)["predicted_and_actual"]["better_than_the_simplest"] is False


@pytest.mark.parametrize("width", [40, 60, 80, 200])
@pytest.mark.parametrize("ascii_only", [False, True])
def test_the_screen_keeps_its_width(width, ascii_only):
    """No line is wider than asked, no bracket is eaten, and plain characters are plain."""
    report = reported(played(3), flags=["x"], sample="Blind sample: 17 clean of 20.")
    lines = screen_lines(report, width, ascii_only=ascii_only)
    assert max(map(len, lines)) <= width
    assert any("(" in line for line in lines)
    text = "\n".join(lines)
    assert "\x1b" not in text
    assert text.isascii() or not ascii_only
    for quality in report.qualities:
        assert any(line.startswith(quality) for line in lines)


@pytest.mark.parametrize("seed", range(12))
def test_the_screen_fits_a_terminal(seed):
    """The default deck's report stands on one screen of 80 by 24, with whatever there is to say."""
    report = reported(played(seed), flags=["x"], locks=2, sample=sample_words("2024-04-02 17 20 144", AT.date()))
    assert len(screen_lines(report, 80)) <= 23


def test_colour_changes_nothing_that_is_said():
    """With colour the same words stand there, bold headings apart."""
    import re

    report = reported(played(3))
    plain, bold = screen_lines(report, 80), screen_lines(report, 80, color=True)
    assert [re.sub(r"\x1b\[[\d;]*m", "", line).rstrip() for line in bold] == plain
    assert "\x1b[1m" in bold[0]


def test_after_the_first_session_it_is_said_what_was_graded_and_when_it_counts():
    """All of it was on the day of its lesson: nobody who has graded is told that nothing was."""
    cards = sorted(first_deck().cards)[:5]
    lessons = [graded(card, Grade.FOUND, AT - timedelta(minutes=9), attempt="repeat", id=f"l{card}") for card in cards]
    report = reported([*lessons, *(graded(card, Grade.CLEAN, AT - timedelta(minutes=1)) for card in cards)])
    said = [
        "Counted apart: 5 of 5 clean on a lesson's day.",
        "No first try yet: what a lesson showed counts from the next practice day on.",
    ]
    assert report.graded and screen_lines(report) == said
    assert all(words in check_page(report_page(report)).text_content() for words in said)
    assert all(len(line) <= 40 for line in screen_lines(report, 40))
    assert screen_lines(reported(lessons)) == ["Nothing graded yet. neckwork plays today's session."]


def test_a_player_who_has_not_begun_is_told_how():
    """Nothing graded is one line, an empty table and a document of nothing."""
    report = empty_report(AT, 4.0)
    assert screen_lines(report) == ["Nothing graded yet. neckwork plays today's session."]
    assert report_json(report)["first_try_clean"] == {"clean": 0, "tries": 0, "interval": None}
    assert sentences(report) == []


def test_the_tables_hold_the_statistics_themselves():
    """One row a skill, a set and quality, a gap, a week; the JSON says the same and is plain JSON."""
    report = reported(played(7))
    text = report_csv(report)
    assert text.count("\r\n") == text.count("\n")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert tuple(rows[0]) == CSV_COLUMNS
    found = {group: [row for row in rows if row["group"] == group] for group in ("place", "skill", "gap", "week")}
    assert len(found["place"]) == len(report.places) == 12
    assert len(found["skill"]) == len(report.skills)
    assert len(found["week"]) == len(report.weeks)
    document = json.loads(json.dumps(report_json(report)))
    assert document["self_reported"] is True
    for row, one in zip(found["place"], document["by_strings_and_quality"], strict=True):
        assert (int(row["clean"]), int(row["tries"])) == (one["clean"], one["tries"])
        if one["interval"]:
            assert [float(row["low"]), float(row["high"])] == pytest.approx(one["interval"], abs=6e-4)
    assert sum(int(row["tries"]) for row in found["week"]) == document["first_try_clean"]["tries"]
    book = openpyxl.Workbook()
    for row in csv.reader(io.StringIO(text)):
        book.active.append(row)
    assert {cell.data_type for row in book.active.iter_rows() for cell in row} <= {"s", "n"}  # no formula, no error


def test_no_cell_is_run_by_a_spreadsheet():
    """A skill named like a formula is written as text."""
    card = sorted(first_deck().cards)[0]
    review = graded(card, Grade.CLEAN, START)
    hostile = type(review)(card, Grade.CLEAN, START, 3.0, skills=("=cmd()", "x:=1+1"))
    rows = list(csv.reader(io.StringIO(report_csv(reported([hostile])))))
    cells = [cell for row in rows for cell in row]
    assert not [cell for cell in cells if cell[:1] in tuple("=+-@\t\r")]
    assert "'=1+1" in cells


def test_the_blind_sample_is_said_with_its_range():
    """17 clean of 20 from 144 is somewhere between 92 and 136; what cannot be read, or is too small, is passed over."""
    today = AT.date()
    assert sample_words("2024-04-02 17 20 144", today) == (
        "Blind sample 2024-04-02, 17 clean of 20: somewhere between 92 and 136 of 144."
    )
    for ticket in (
        None,
        "",
        "soon",
        "2024-04-02 30 20 144",
        "2024-04-02 1 2",
        "2024-04-02 3 4 144",
        "2124-04-02 17 20 144",
    ):
        assert sample_words(ticket, today) == ""


def test_progress_reads_what_the_sample_leaves():
    """The ticket that a sample writes is the one progress reads."""
    with ReviewLog(":memory:") as log:
        log.ticket(estimate.SAMPLE_TICKET, estimate.SampleOutcome(17, 20, 20, 144, None).ticket(START.date()), START)
        assert "between 92 and 136" in read_report(log, AT, 4.0).sample
    assert estimate.SAMPLE_TICKET == SAMPLE_TICKET


def test_skills_are_named_in_a_players_words():
    """A root has its string and lowest fret, an open string's note fret 12; odd skills keep their name."""
    assert skill_name("root:Eb@5A2", {}) == "finding Eb on string 5, fret 6"
    assert root_spot("root:E@6E2").fret == 12
    assert skill_name("degree:Bb-ii", {}) == "knowing ii of Bb"
    assert skill_name("spell:Ebm7", {}) == "spelling Ebm7"
    for card in first_deck().cards.values():
        spot = root_spot(card.skills[1])
        shape = first_deck().answer(card)
        assert (spot.string, spot.fret) == (shape.root.string, shape.root.fret)
