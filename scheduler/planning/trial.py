"""A trial plays sessions on a copy of a planner. The copy learns from them, and the planner stays as it is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Literal

from scheduler.grade import Grade
from scheduler.review import Review

if TYPE_CHECKING:
    from scheduler.planning.planner import Planner

__all__ = ["GradeOf", "Trial"]

GradeOf = Callable[[str, datetime, int], "Grade | None"]
"""How a card goes: of its id, the moment and how many cards went before. None shows it in a lesson."""


class Trial:
    """A copy of a planner that plays sessions in the model.

    focus: ids to ask from in place of those of the planner's rules, or None.
    weighed_after: see `Planner.weigh_after`; 1 works out the worth of the cards
        before each card, as a session does.

    planner: the copy.
    """

    def __init__(self, planner: Planner, focus: frozenset[str] | None = None, weighed_after: int = 1) -> None:
        rules = planner.rules if focus is None else replace(planner.rules, focus=focus)
        self.planner = planner.copy(rules)
        self.planner.weigh_after(weighed_after)

    def begin(self, session: str, at: datetime) -> None:
        """Begin a session of its own, to which nothing played before belongs."""
        self.planner.learner.forget_played()
        self.planner.begin(session, at)

    def go_on(self, at: datetime) -> None:
        """Go on with the session under way at this moment; begin one when there is none."""
        if not self.planner.session_so_far(at).played:
            self.planner.begin(f"trial {at.isoformat()}", at)

    def play(self, at: datetime, minutes: float, grade_of: GradeOf, least_seconds: float = 0.0) -> list[str]:
        """Play cards until the time is up or none is left; their ids in order.

        least_seconds: no card takes less than this, prompt to prompt.
        """
        planner = self.planner
        order: list[str] = []
        when, end = at, at + timedelta(minutes=minutes)
        while when < end and (card_id := planner.next(when)) is not None:
            found = grade_of(card_id, when, len(order))
            grade = Grade.FOUND if found is None else found
            spent = planner.pace.seconds(planner.card(card_id).seconds, float(grade.clean))
            when += timedelta(seconds=max(least_seconds, spent))
            attempt: Literal["first", "repeat"] = "repeat" if found is None else "first"
            planner.record(
                Review(card_id, grade, when, 5.0, attempt, session=planner.session, id=f"trial {len(order)}")
            )
            order.append(card_id)
        return order
