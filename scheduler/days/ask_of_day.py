"""What counts as a first try: the first ask of a card on a practice day, and nothing after it that day.

Everything else is counted apart. A card that was missed and comes back four cards later is asked
again on the same day; its answer then says that it came back, not that it had been known. On the
day a card is shown in a lesson every ask of it belongs to what is new today. Rehearsal raises later
answers of the same day (Simon and Bjork 2001), so that mixing them with first tries would flatter.
"""

from __future__ import annotations

from enum import Enum

__all__ = ["Ask", "AskOfDay"]


class Ask(Enum):
    """What one review was on its practice day."""

    FIRST_TRY = "first try"
    """The first ask of the card that day."""

    NEW_TODAY = "new today"
    """An ask on the day of the card's lesson."""

    AGAIN = "again"
    """A further ask that day, after the first try."""

    REPEAT = "repeat"
    """A lesson, or the playing again after a miss: nothing was asked."""


class AskOfDay:
    """Tells first tries from the rest, one review at a time, in the order of the log."""

    def __init__(self) -> None:
        self._lesson: dict[str, int] = {}
        self._tried: dict[str, int] = {}

    def of(self, card: str, attempt: str, day: int) -> Ask:
        """What a review of a card is, and from then on the card has been asked that day.

        attempt: ``first`` or ``repeat``, as logged. day: the number of the practice day. A clock that was set
        back to an earlier day makes no new first try.
        """
        if attempt != "first":
            if card not in self._tried:
                self._lesson.setdefault(card, day)
            return Ask.REPEAT
        before = self._tried.get(card)
        self._tried[card] = day if before is None else max(before, day)
        if self._lesson.get(card) == day:
            return Ask.NEW_TODAY
        return Ask.FIRST_TRY if before is None or day > before else Ask.AGAIN

    def export(self) -> list[dict[str, int]]:
        """What has been told so far, as a JSON value."""
        return [self._lesson, self._tried]

    def restore(self, state: list[dict[str, int]]) -> None:
        """Take over an exported state in place of one's own."""
        self._lesson, self._tried = (dict(part) for part in state)
