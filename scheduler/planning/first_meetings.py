"""The pace at which new material is met: lessons that may run on, what is easy first, one new thing on a first day."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from scheduler.card import EASY, HARD, HARDEST, CardSpec, kind_of
from scheduler.memory.skill_memory import SkillMemory
from scheduler.planning.rules import TeachingRules
from scheduler.planning.session_so_far import SessionSoFar

__all__ = ["easy_enough", "lesson_kinds", "paced"]


def lesson_kinds(card: CardSpec, new: Sequence[str], rules: TeachingRules, first_day: bool) -> tuple[str, ...]:
    """The kinds of new skill that a lesson has to show before the card is asked; none when no lesson is due.

    new: the card's shared skills not met yet. On a first practice day what can be told with the question is told,
    unless something else needs the lesson.
    """
    kinds = tuple(dict.fromkeys(kind for skill in new if (kind := kind_of(skill)) in rules.shown_kinds))
    return () if first_day and all(kind in card.told for kind in kinds) else kinds


def easy_enough(
    cards: Sequence[CardSpec], rules: TeachingRules, skills: Mapping[str, SkillMemory], at_days: float
) -> list[CardSpec]:
    """The cards that do not demand too much yet, or all of them where each one does.

    skills: what is kept of each skill met so far. The first questions of a skill are on cards that are easy, and what
    is hardest waits for its days.
    """
    if all(card.demand == EASY for card in cards):
        return list(cards)
    began = min((kept.first_days for kept in skills.values()), default=at_days)
    most = HARDEST if at_days - began >= rules.hardest_after_days else HARD

    def tried(skill: str) -> int:
        kept = skills.get(skill)
        return kept.tries if kept else 0

    def new(card: CardSpec) -> bool:
        return any(tried(skill) < rules.easy_first.get(kind_of(skill), 0) for skill in card.skills)

    easy = [card for card in cards if card.demand == EASY or (card.demand <= most and not new(card))]
    return easy or list(cards)


def paced(
    cards: Sequence[CardSpec],
    rules: TeachingRules,
    so_far: SessionSoFar,
    new_of: Mapping[str, tuple[str, ...]],
    by_id: Mapping[str, CardSpec],
    first_day: bool,
) -> list[CardSpec]:
    """The cards that do not hurry what is new.

    so_far: what was played so far; on a first practice day all of it.
    A run of lessons that is full closes every card that needs one, as long as
    any other card is open.
    """
    left = list(cards)
    most = rules.lessons_running[0 if first_day else 1]
    if most and so_far.lessons_running() >= most:
        asked = [c for c in left if not lesson_kinds(c, new_of.get(c.id, ()), rules, first_day)]
        left = asked or left
    if first_day and rules.one_at_a_time and so_far.played:
        one = _one_at_a_time(left, rules, so_far, new_of, by_id)
        just = so_far.played[-1].card
        left = one if any(card.id != just for card in one) else left
    return left


def _one_at_a_time(
    cards: Sequence[CardSpec],
    rules: TeachingRules,
    so_far: SessionSoFar,
    new_of: Mapping[str, tuple[str, ...]],
    by_id: Mapping[str, CardSpec],
) -> list[CardSpec]:
    """Without cards that bring a new skill too soon after the last of its kind, or with something else that is new.

    Once the last one has been asked often enough, only the next one is left, where it is open.
    """
    since = {kind: _questions_since_met(kind, so_far, by_id) for kind in rules.one_at_a_time}
    early = {kind for kind, most in rules.one_at_a_time.items() if since[kind] < most}
    due = {kind for kind in rules.one_at_a_time if kind not in early and since[kind] < math.inf}
    left: list[CardSpec] = []
    crowded: list[CardSpec] = []
    nexts: list[CardSpec] = []
    for card in cards:
        kinds = [kind_of(skill) for skill in new_of.get(card.id, ())]
        if early.intersection(kinds):
            continue
        much = sum(kind in rules.new_per_session for kind in kinds)
        if much > 1 and any(kind in rules.one_at_a_time for kind in kinds):
            crowded.append(card)
        else:
            (nexts if due.intersection(kinds) else left).append(card)
    return nexts or left or crowded


def _questions_since_met(kind: str, so_far: SessionSoFar, by_id: Mapping[str, CardSpec]) -> float:
    """How many questions have needed the skill of a kind met last, since it was met; endless when none was met."""
    asked: list[tuple[str, ...]] = []
    for entry in reversed(so_far.played):
        met = [skill for skill in entry.new_skills if kind_of(skill) == kind]
        if met:
            return sum(not set(met).isdisjoint(skills) for skills in asked)
        if entry.first and entry.card in by_id:
            asked.append(by_id[entry.card].skills)
    return math.inf
