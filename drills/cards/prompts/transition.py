"""Prompts that ask for one chord's arpeggio and then the next one's, in time (drills/RULES.md, B6, P10)."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from random import Random

from drills.cards.card import Card, card_id
from drills.cards.kinds import KINDS
from drills.cards.prompts.prompt import Asker, Question, Wanted
from drills.cards.skills import form_skill, root_skill, shape_skills
from drills.errors import NotPlayableError
from drills.neck.strings import StringSet, core_sets
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import ARPEGGIO
from drills.shapes.root_places import HandPosition, RootPlace, nearest_root
from drills.shapes.shape import Shape
from drills.theory.chord import Chord
from drills.theory.interval import Interval, transpose_note
from drills.theory.quality import QualityTable, shipped_qualities
from drills.theory.spelling import free_root

__all__ = ["ASKERS", "TRANSITION", "arpeggio_card", "joint_skill", "transition_card"]

TRANSITION = "transition"
"""The first word of such a card's kind."""

RESOLVES = {"m7": "7", "m7b5": "7", "7": "maj7"}
"""The quality that follows when the root rises a fourth, as from II to V and from V to I (common practice)."""


def joint_skill(before: Shape, after: Shape) -> str:
    """The skill of going from one chord to the next, the same in every key: ``joint:m7-7:1,0``.

    Qualities, strings crossed by the root (positive toward string 1) and frets it moves.
    """
    strings, frets = before.root.string - after.root.string, after.root.fret - before.root.fret
    return f"joint:{before.chord.quality.name}-{after.chord.quality.name}:{strings},{frets}"


def arpeggio_card(
    finder: ShapeFinder, chord: Chord, strings: StringSet, *, stage: int = 0, weight: float = 1.0, context: str = ""
) -> Card:
    """The ordinary card of a chord's arpeggio; its id is that of the same card in any deck.

    Raises NotPlayableError when the shape does not fit the neck.
    """
    shape = finder.find(chord, ARPEGGIO, strings)
    return Card(
        card_id(finder.tuning, ARPEGGIO, chord, strings, "name"), "name", chord, ARPEGGIO, strings,
        shape_skills(shape, finder.tuning), stage, weight=weight, context=context,
    )  # fmt: skip


def transition_card(
    finder: ShapeFinder, before: Chord, strings: StringSet, after: Chord, after_strings: StringSet, *,
    stage: int = 0, weight: float = 1.0, context: str = "",
) -> Card:  # fmt: skip
    """The card that goes from one chord on a string set to the next on its own.

    It shares form and root skills with every other card and adds that of the joint.
    Raises NotPlayableError when one of the two shapes does not fit the neck.
    """
    first, second = finder.find(before, ARPEGGIO, strings), finder.find(after, ARPEGGIO, after_strings)
    kind = f"{TRANSITION}-{free_root(after.root, after.quality)}-{after.quality.name}-{after_strings.id}"
    roots = (
        root_skill(finder.tuning, shape.root.pitch.note.pitch_class, shape.root.string) for shape in (first, second)
    )
    skills = dict.fromkeys((form_skill(first), form_skill(second), *roots, joint_skill(first, second)))
    return Card(
        card_id(finder.tuning, ARPEGGIO, before, strings, kind), kind, before, ARPEGGIO, strings, tuple(skills),
        stage, seconds=KINDS[TRANSITION].seconds, weight=weight, to=arpeggio_card(finder, after, after_strings),
        context=context,
    )  # fmt: skip


def _drafts(wanted: Wanted, finder: ShapeFinder) -> Iterator[Card]:
    """To the chord a fourth up, by the nearest root on the sets an instrument begins with; the core arpeggio only."""
    after = _resolution(wanted)
    if after is None or wanted.form != ARPEGGIO:
        return
    try:
        root = finder.find(wanted.chord, ARPEGGIO, wanted.strings).root
    except NotPlayableError:
        return  # the chord's own card, wherever it is asked, says why
    sets = {strings.numbers[0]: strings for strings in core_sets(finder.tuning)}
    place = nearest_root(
        finder.neck, wanted.chord, RootPlace(root.string, root.fret), after, tuple(sets), _hand_position(finder.neck)
    )
    if place is not None:
        try:
            yield transition_card(finder, wanted.chord, wanted.strings, after, sets[place.string], stage=wanted.stage)
        except NotPlayableError:
            return


_hand_position = lru_cache(maxsize=8)(HandPosition)


def _resolution(wanted: Wanted) -> Chord | None:
    """The chord a fourth up: the key's own, or where these qualities usually go (common practice); else None."""
    if wanted.key is not None:
        return wanted.key.chord((wanted.degree + 2) % 7 + 1)
    name = RESOLVES.get(wanted.chord.quality.name)
    if name is None:
        return None
    root = transpose_note(wanted.chord.root, Interval.from_degree("4"))
    quality = shipped_qualities().named(name)
    return Chord(free_root(root, quality), quality)


def _skills(card: Card, _finder: ShapeFinder) -> tuple[str, ...]:
    return card.skills


def _question(card: Card, finder: ShapeFinder, _table: QualityTable, _chance: Random) -> Question:
    shapes = tuple(finder.find(*each.shape_asked) for each in (card, card.to) if each is not None)
    return Question(ask="Play both, to the nearest root, then Enter.", shapes=shapes, in_a_row=True)


ASKERS = {TRANSITION: Asker(_drafts, _skills, _question)}
