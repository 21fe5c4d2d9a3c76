"""The sessions of a phone page, planned when the page is made: the planner plays them on a copy of itself."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime
from random import Random

from drills.cards.material import Material
from drills.phone.walk import WalkCard, WalkTables
from drills.session.limits import session_limits
from scheduler.card import kind_of
from scheduler.grade import Grade
from scheduler.planning.planner import Planner
from scheduler.planning.trial import GradeOf, Trial

__all__ = ["MOST_SESSIONS", "page_skills", "walk_tables"]

MOST_SESSIONS = 28
"""A page is planned no farther ahead than four weeks: what its player grades is not known to the plan."""

ROOM_TO_SPARE = 1.5
"""A session that goes well is planned so many times as long as it lasts, for a player who is quicker than the plan."""

AGAIN_NEXT_TIME = 6
"""Most cards missed in a session that the next one begins with: a third of the cards of ten minutes."""

_GAPS = 97
"""How many gaps lie in the table before they come round again; a prime, so that no usual length of session meets it."""


def page_skills(material: Material) -> list[str]:
    """The skills that the cards of a page share, in the order of their numbers in its tables."""
    return list(dict.fromkeys(skill for card in material.cards.values() for skill in card.skills))


def walk_tables(material: Material, planner: Planner, begins: Sequence[datetime], minutes: float) -> WalkTables:
    """The tables of a page whose sessions begin at these moments, rising.

    planner: has learned what is known of the player; it stays as it is. Cards planned in no session are numbered too,
    for what the page shows of the deck; see `WalkTables`.
    """
    rules = replace(planner.rules, new_per_session=session_limits(planner, minutes))
    trial, chance = Trial(planner.copy(rules)), Random(f"{planner.seed} plan")
    numbers = {card: number for number, card in enumerate(material.cards)}
    sessions = []
    for begin in begins:
        # What is next if all goes well follows what is likely: a player who does better than foreseen goes on with it.
        well = Trial(trial.planner)
        well.begin(f"phone {begin.isoformat()}", begin)
        more = well.play(begin, minutes * ROOM_TO_SPARE, _grades(well.planner, lambda: 0.0))
        trial.begin(f"phone {begin.isoformat()}", begin)
        likely = trial.play(begin, minutes, _grades(trial.planner, chance.random))
        sessions.append(tuple(dict.fromkeys(numbers[card] for card in (*likely, *more))))
    skills = page_skills(material)
    skill_numbers = {skill: number for number, skill in enumerate(skills)}
    tags: dict[str, int] = {}
    cards = []
    for spec in (planner.card(card) for card in material.cards):
        apart = tuple(tags.setdefault(tag, len(tags)) for tag in spec.apart)
        cards.append(WalkCard(tuple(skill_numbers[skill] for skill in spec.skills), apart, tuple(spec.told)))
    turns, (fewest, most) = Random(f"{planner.seed} returns"), rules.return_after
    return WalkTables(
        cards=tuple(cards),
        kinds=tuple(kind_of(skill) for skill in skills),
        met=tuple(skill_numbers[skill] for skill in skills if skill in planner.met_skills),
        sessions=tuple(sessions),
        limits=dict(rules.new_per_session),
        shown=tuple(sorted(rules.shown_kinds)),
        running=rules.lessons_running,
        first_day=planner.first_day(begins[0]),
        gaps=tuple(turns.randint(fewest, most) for _ in range(_GAPS)),
        share=rules.return_share,
        again=AGAIN_NEXT_TIME,
    )  # fmt: skip


def _grades(own: Planner, drawn: Callable[[], float]) -> GradeOf:
    """How cards go in a session in the model: a lesson where one is due, else as the chance drawn has it."""

    def grade_of(card_id: str, when: datetime, _: int) -> Grade | None:
        if own.lesson_kinds(card_id, when):
            return None
        return own.memory.grade_of(own.recall(card_id, when), drawn())

    return grade_of
