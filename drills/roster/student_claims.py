"""What may be claimed of a student, by the rules and the words of the student's own pages."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from drills.progress.ahead import read_memory
from drills.progress.claim_groups import PLACES, PlayerClaims, judged
from scheduler.days.ask_of_day import Ask
from scheduler.days.practice_day import DAY_STARTS_AT_HOUR
from scheduler.review import Review
from scheduler.statistics.claims import ClaimWord
from scheduler.statistics.end_of_day import last_moment
from scheduler.statistics.recent_tries import tries_of_reviews

__all__ = ["student_claims"]

_ASKS_THE_MEMORY = (ClaimWord.GOING_WELL, ClaimWord.NOT_YET)


def student_claims(told: Sequence[tuple[Review, int, Ask]], today: date) -> PlayerClaims:
    """What may be claimed at the end of a practice day. told: the student's reviews up to it, in the log's order.

    The memory is asked only where its word decides what is said: it has to read the whole log.
    """
    tries = tries_of_reviews(((review, day) for review, day, _ in told), today)
    claims = judged(tries)
    if not any(one.family == PLACES and one.word in _ASKS_THE_MEMORY for one in claims.judgement.claims):
        return claims
    remembered = read_memory([review for review, _, _ in told], DAY_STARTS_AT_HOUR)
    if not remembered:
        return claims
    latest = told[-1][0].at  # by whose clock the day ends
    return judged(tries, remembered.words(last_moment(today, DAY_STARTS_AT_HOUR, latest.tzinfo)))
