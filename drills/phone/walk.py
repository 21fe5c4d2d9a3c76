"""The walk of a phone page: what comes next, by tables and by what was played on the page.

`data/phone/walk.js` walks the same tables by the same rules, and a test compares the two over random grades. The walk
plans nothing: which cards a session has, and in which order, the planner has said when the page was made. The rules
here are those of what happens within a session: lesson before test, the return of a miss, limits on new material, and
no root twice running at one place (drills/RULES.md, B6 and B8). After a miss the page shows the card, to be played
right twice, before it asks for the next step; here the card waits for three to seven others or, where fewer are open,
for each of them once, and the next session begins with what was missed, six at most.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from scheduler.planning.eligibility import returns_after

__all__ = ["ASK", "LESSON", "LOOKED", "PlayedStep", "Step", "WalkCard", "WalkTables", "next_step"]

LESSON, ASK = "lesson", "ask"
"""What a step does with a card: show it, or ask it."""

OTHERS_BETWEEN = 3
"""A card that went well is not asked again in a session before this many others, while anything else is open."""

LOOKED = 1
"""The grade of a miss: that of `scheduler.grade.Grade.LOOKED`."""


@dataclass(frozen=True, slots=True)
class WalkCard:
    """A card as the walk sees it; skills and tags are numbers.

    skills: what it needs that other cards need too. apart: tags it shares with cards it is never asked next to while
    another is open. told: kinds of new skill that a first session tells with the prompt.
    """

    skills: tuple[int, ...]
    apart: tuple[int, ...] = ()
    told: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class WalkTables:
    """What a page walks.

    cards: by number. kinds: of each skill, by its number. met: skills met before the page was made.
    sessions: cards of each session in the order planned, each once. limits: kind -> most new skills of a session.
    shown: kinds that a lesson shows before they are asked. running: most lessons one after another, in a first session
    and later. first_day: whether the page's first session is the player's first. gaps: other cards before a card
    shown or missed returns, used in turn. share: part of a session's cards that returns of misses may fill.
    again: most cards missed last time that the next session begins with.
    """

    cards: tuple[WalkCard, ...]
    kinds: tuple[str, ...]
    met: tuple[int, ...]
    sessions: tuple[tuple[int, ...], ...]
    limits: dict[str, int]
    shown: tuple[str, ...]
    running: tuple[int, int]
    first_day: bool
    gaps: tuple[int, ...]
    share: float
    again: int

    def as_json(self) -> dict[str, Any]:
        """The tables as values that JSON knows."""
        return {
            "cards": [[list(card.skills), list(card.apart), list(card.told)] for card in self.cards],
            "kinds": list(self.kinds), "met": list(self.met), "sessions": [list(each) for each in self.sessions],
            "limits": self.limits, "shown": list(self.shown), "running": list(self.running),
            "firstDay": self.first_day, "gaps": list(self.gaps), "share": self.share, "again": self.again,
        }  # fmt: skip


class PlayedStep(NamedTuple):
    """One step that was played: in which session of the page (from 0), what was done, with which card, how it went.

    grade: 1 to 4, or 0 for a lesson.
    """

    session: int
    done: str
    card: int
    grade: int


class Step(NamedTuple):
    """What comes next. new: the card's skills met for the first time with it."""

    do: str
    card: int
    new: tuple[int, ...]


def next_step(
    tables: WalkTables, history: Sequence[PlayedStep], session: int, without: Collection[int] = ()
) -> Step | None:
    """What comes next in a session after what was played; None when nothing is left. Pure.

    history: all that was played on the page, the oldest first. without: cards set aside.
    """
    return _Walk(tables, history, session, frozenset(without)).step()


class _Walk:
    """One moment of a page, read off its history."""

    def __init__(
        self, tables: WalkTables, history: Sequence[PlayedStep], session: int, without: frozenset[int]
    ) -> None:
        self.tables, self.history, self.session, self.without = tables, history, session, without
        self.met = set(tables.met)
        self.begun: Counter[str] = Counter()
        self.lessons_running = 0
        self.asked: list[int] = []  # this session's cards in order; one repeated straight away counts once
        self.played: set[int] = set()
        self.waiting: dict[int, tuple[str, int]] = {}  # card -> what it waits after, and how many others must follow
        self.returned = 0
        missed: set[int] = set()
        for number, one in enumerate(history):
            new = self.new_skills(one.card)
            self.met.update(new)
            if one.session != session:
                continue
            self.begun.update(tables.kinds[skill] for skill in new)
            self.played.add(one.card)
            if not self.asked or self.asked[-1] != one.card:
                self.asked.append(one.card)
            self.waiting.pop(one.card, None)
            lesson = one.done == LESSON
            self.lessons_running = self.lessons_running + 1 if lesson else 0
            if lesson or one.grade == LOOKED:
                self.waiting[one.card] = (one.done, tables.gaps[number % len(tables.gaps)])
            if not lesson:
                self.returned += one.card in missed
                (missed.add if one.grade == LOOKED else missed.discard)(one.card)

    def new_skills(self, card: int) -> tuple[int, ...]:
        """The card's skills not met yet."""
        return tuple(skill for skill in self.tables.cards[card].skills if skill not in self.met)

    def needs_lesson(self, card: int) -> bool:
        """Whether a lesson comes before the card can be asked."""
        kinds = {self.tables.kinds[skill] for skill in self.new_skills(card)}.intersection(self.tables.shown)
        told = self.tables.first_day and self.session == 0 and kinds.issubset(self.tables.cards[card].told)
        return bool(kinds) and not told

    def step(self) -> Step | None:
        """The first card that may come, by rules that give way one after another while nothing is left."""
        fresh = [card for card in self._queue() if card not in self.played and self._fits(card)]
        due, early, late = self._returns(len(self.played.difference(self.without).union(fresh)) - 1)
        calm = [card for card in fresh if not (self._hurried() and self.needs_lesson(card))]
        just = self.asked[-1] if self.asked else None
        tags = frozenset(self.tables.cards[just].apart) if just is not None else frozenset()

        def apart(card: int) -> bool:
            return card != just and tags.isdisjoint(self.tables.cards[card].apart)

        again = self._once_more()
        rested = [card for card in again if self._others_since(card) >= OTHERS_BETWEEN]
        open_cards = (*due, *calm, *fresh, *rested, *late, *again, *early)
        candidates: Iterator[int] = iter((
            *filter(apart, open_cards),
            *(card for card in open_cards if card != just),
            *(card for card in (*due, *early) if self.waiting[card][0] == LESSON),
        ))  # fmt: skip
        card = next(candidates, None)
        if card is None:
            return None
        return Step(LESSON if self.needs_lesson(card) else ASK, card, self.new_skills(card))

    def _returns(self, others_open: int) -> tuple[list[int], list[int], list[int]]:
        """Cards shown or missed that may come back now, those that must wait, and misses beyond the share of returns.

        Shown ones come first, then the longest waiting. others_open: how many cards may come besides one that waits.
        """
        due: list[int] = []
        early: list[int] = []
        late: list[int] = []
        room = not self.returned or self.returned < self.tables.share * len(self.asked)
        for wanted in (LESSON, ASK):
            for card, (after, gap) in self.waiting.items():
                if after != wanted or card in self.without:
                    continue
                if self._others_since(card) < returns_after(gap, others_open):
                    early.append(card)
                else:
                    (late if wanted == ASK and not room else due).append(card)
        return due, early, late

    def _others_since(self, card: int) -> int:
        """How many other cards have come since a card of this session was last on show."""
        last = len(self.asked) - self.asked[::-1].index(card)
        return len(set(self.asked[last:]))

    def _once_more(self) -> list[int]:
        """What went well in this session, the longest ago first: asked again when all else is done."""
        order = list(dict.fromkeys(reversed(self.asked)))[::-1]
        return [card for card in order if card not in self.waiting and card not in self.without]

    def _queue(self) -> list[int]:
        """The session's cards: its first, what was missed last time, then the rest; beyond the plan the last again."""
        sessions = self.tables.sessions
        planned = sessions[min(self.session, len(sessions) - 1)]
        again = self._missed_before()
        return [card for card in dict.fromkeys((*planned[:1], *again, *planned)) if card not in self.without]

    def _missed_before(self) -> list[int]:
        """Cards whose first question, in the last session before this one that asked any, was missed."""
        before = [one for one in self.history if one.session < self.session and one.done == ASK]
        first: dict[int, int] = {}
        for one in before:
            if one.session == before[-1].session:
                first.setdefault(one.card, one.grade)
        return [card for card, grade in first.items() if grade == LOOKED][: self.tables.again]

    def _fits(self, card: int) -> bool:
        """Whether the card's new skills are within what a session may bring."""
        new = Counter(self.tables.kinds[skill] for skill in self.new_skills(card))
        return all(new[kind] + self.begun[kind] <= most for kind, most in self.tables.limits.items() if new[kind])

    def _hurried(self) -> bool:
        """Whether as many lessons have run on as may."""
        most = self.tables.running[0 if self.tables.first_day and self.session == 0 else 1]
        return bool(most) and self.lessons_running >= most
