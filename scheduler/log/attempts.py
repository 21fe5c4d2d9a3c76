"""How each review went, in words: a lesson is told from a repeat after a miss, though the log counts neither."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from scheduler.grade import Grade
from scheduler.review import Review

__all__ = ["not_counted", "results"]


def not_counted(grade: Grade, *, lesson: bool) -> str:
    """A repeat in words: ``Lesson``, or ``Repeat (Clean)`` after a miss.

    lesson: whether it is one. A lesson is graded Found it; whatever else was said of one is named.
    """
    if lesson and grade is Grade.FOUND:
        return "Lesson"
    return f"{'Lesson' if lesson else 'Repeat'} ({grade.label})"


def results(reviews: Iterable[Review]) -> Iterator[tuple[Review, str]]:
    """The reviews of a whole log, in order, each with how it went.

    A repeat of a card never tried before is a lesson: a repeat after a miss has its miss before it.
    """
    tried: set[str] = set()
    for review in reviews:
        if review.attempt == "first":
            tried.add(review.card)
            yield review, review.grade.label
        else:
            yield review, not_counted(review.grade, lesson=review.card not in tried)
