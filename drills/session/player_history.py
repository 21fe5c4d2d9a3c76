"""What the log says of the days before: claims at the end, equal things week by week, and what was missed yesterday."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from datetime import datetime
from typing import TYPE_CHECKING

from drills.cards.card import Card
from drills.progress.card_parts import card_parts
from scheduler.log.review_log import ReviewLog
from scheduler.planning.planner import Planner
from scheduler.statistics.counts import FEWEST_TRIES, Count
from scheduler.statistics.recent_tries import CardTries, RecentTries, tries_of_log

if TYPE_CHECKING:
    from drills.progress.claim_groups import PlayerClaims

__all__ = ["PlayerHistory", "missed_words", "weeks_words"]

_WEEK = 7
_NAMED = 2


class PlayerHistory:
    """First tries of the days that count, read anew only when there is something new."""

    def __init__(self, log: ReviewLog, planner: Planner, clock: Callable[[], datetime]) -> None:
        self._log, self._planner, self._clock = log, planner, clock
        self._read: tuple[object, RecentTries | None] = (None, None)

    def tries(self, given: object) -> RecentTries:
        """First tries up to now. given: what was graded in the sitting; nothing is read again while it is the same."""
        if self._read[1] is None or self._read[0] is not given:
            hour = self._planner.rules.day_starts_at_hour
            self._read = given, tries_of_log(self._log, self._clock(), hour)
        tries = self._read[1]
        assert tries is not None
        return tries

    def claims(self, given: object, cards: Iterable[Card]) -> PlayerClaims:
        """What may be claimed of the groups that some cards belong to: the same as on every other page."""
        from drills.progress.claim_groups import groups_of, judged  # only the end of a session claims anything

        tries, now = self.tries(given), self._clock()
        shapes = {skill for own in tries.cards.values() for skill in own.skills if skill.startswith("form:")}
        words = {skill: self._planner.state(skill, now).word for skill in shapes}
        return judged(tries, words).about({group for card in cards for group in groups_of(card.id, card.skills)})


def weeks_words(tries: RecentTries, cards: Iterable[Card]) -> str:
    """Equal things side by side: ``m7b5: 3 of 8 last week, 6 of 9 this week.``, or ``""``.

    Of the qualities of some cards the one tried most often is compared, whichever way it went, over the cards that
    were tried in both weeks; with fewer than five tries in either nothing is said. A week is seven practice days, today
    among them. It is a count and claims nothing.
    """
    this, last = Counter[str](), Counter[str]()
    clean_this, clean_last = Counter[str](), Counter[str]()
    wanted = {card.quality for card in cards if card.is_shape}
    for card, own in tries.cards.items():
        parts = card_parts(card)
        if parts is None or parts.away or parts.quality not in wanted:
            continue
        now, then = (
            _between(own, tries.today - _WEEK, tries.today),
            _between(own, tries.today - 14, tries.today - _WEEK),
        )
        if now.tries and then.tries:
            this[parts.quality] += now.tries
            last[parts.quality] += then.tries
            clean_this[parts.quality] += now.clean
            clean_last[parts.quality] += then.clean
    enough = [quality for quality in this if min(this[quality], last[quality]) >= FEWEST_TRIES]
    if not enough:
        return ""
    most = max(enough, key=lambda quality: (this[quality] + last[quality], quality))
    before, lately = Count(clean_last[most], last[most]), Count(clean_this[most], this[most])
    return f"{most}: {before} last week, {lately} this week, the same cards."


def _between(own: CardTries, after: int, until: int) -> Count:
    return sum((count for day, count in own.days.items() if after < day <= until), Count())


def missed_words(tries: RecentTries) -> str:
    """What was missed at its first try yesterday: ``Yesterday you missed Cm7, strings 6-5-4.``, or ``""``."""
    missed = [
        parts.call
        for card, own in tries.cards.items()
        if (count := own.days.get(tries.today - 1)) and count.clean < count.tries and (parts := card_parts(card))
    ]
    if not missed:
        return ""
    more = f"; and {len(missed) - _NAMED} more" if len(missed) > _NAMED else ""
    return f"Yesterday you missed {'; '.join(missed[:_NAMED])}{more}."
