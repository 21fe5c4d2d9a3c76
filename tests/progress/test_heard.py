"""What progress says of own grades against what was heard, and what a part of a log takes along."""

from __future__ import annotations

from datetime import timedelta

from drills.exports.log_part import LogPart, chosen_events
from drills.progress.progress_sentences import sentences
from drills.progress.report_of_log import read_report
from drills.progress.statistics_tables import report_json
from scheduler.grade import Grade
from scheduler.log.events import Witness
from scheduler.log.review_log import ReviewLog
from tests.progress.players import START, first_deck, graded

NOW = START + timedelta(days=45)


def _log(path, pairs, how="shown"):
    log = ReviewLog(path)
    for number, (own, proposed) in enumerate(pairs):
        review = graded(min(first_deck().cards), own, START + timedelta(hours=number))
        log.record(review)
        log.append(Witness(review.id, proposed, how, "comb 1", 1.0), review.at)
    return log


def test_own_grade_against_heard_is_told_from_twenty_on(tmp_path):
    """Counts and a range, with what hearing was tried on; nothing under twenty, and nothing of silence."""
    pairs = [(Grade.CLEAN, Grade.CLEAN)] * 15 + [(Grade.CLEAN, Grade.FOUND)] * 4 + [(Grade.LOOKED, Grade.CLEAN)]
    said = (
        "Your grade and what was heard: the same in 15 of 20 (53 to 89 in 100), yours higher in 4, lower in 1. "
        "Hearing is tried on simulated playing only."
    )
    for name, some, how, told in (
        ("whole", pairs, "shown", True), ("few", pairs[1:], "shown", False), ("silent", pairs, "accepted", False),
    ):  # fmt: skip
        with _log(tmp_path / name, some, how) as log:
            report = read_report(log, NOW, 4.0)
            assert (said in sentences(report)) is told
            assert ("own_grade_and_heard" in report_json(report)) is told


def test_a_part_of_a_log_takes_what_was_heard_of_its_reviews(tmp_path):
    """What was heard of another card stays behind."""
    with _log(tmp_path / "log", [(Grade.CLEAN, None), (Grade.FOUND, Grade.FOUND)]) as log:
        first = next(iter(log.reviews()))
        part = list(chosen_events(log.events(), LogPart(until=first.at.date(), since=first.at.date())))
        assert {event.kind for event in part} == {"review", "heard"}
        none = list(chosen_events(log.events(), LogPart(cards=frozenset({"another"}))))
        assert none == []
