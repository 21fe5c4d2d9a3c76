"""A tune as material for cards. A stop is a chord on a string set; a joint leads from one stop to the next."""

from __future__ import annotations

from dataclasses import dataclass, replace

from drills.cards.card import Card
from drills.cards.focus import Focus
from drills.cards.prompts.prompt import Wanted, asker_of
from drills.cards.prompts.transition import TRANSITION, transition_card
from drills.errors import NotPlayableError
from drills.neck.strings import StringSet, core_sets
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import ARPEGGIO
from drills.theory.chord import Chord

__all__ = ["PROMPTS", "Joint", "Stop", "StopsAndJoints", "tune_cards"]


@dataclass(frozen=True, slots=True)
class Stop:
    """A chord whose root lies on the lowest of the strings.

    weight: how often it is come to in one chorus, averaged over the paths. where: its bars,
    for people. stage: order of introduction.
    """

    chord: Chord
    strings: StringSet
    weight: float = 1.0
    where: str = ""
    stage: int = 0


@dataclass(frozen=True, slots=True)
class Joint:
    """One stop to the next; weight, where and stage as in `Stop`."""

    before: Stop
    after: Stop
    weight: float = 1.0
    where: str = ""
    stage: int = 0


@dataclass(frozen=True, slots=True)
class StopsAndJoints:
    """A tune along one path of roots or several; every stop and every joint stands in it once."""

    title: str
    stops: tuple[Stop, ...]
    joints: tuple[Joint, ...]


PROMPTS = ("name", TRANSITION)
"""Kinds of prompt a tune is asked in unless others are named: its chords, and its changes of chord."""


def tune_cards(
    tune: StopsAndJoints, finder: ShapeFinder, focus: Focus, stage: int = 0, prompts: tuple[str, ...] = ()
) -> tuple[list[Card], dict[str, str]]:
    """The cards of a tune within a focus, and the reason for what does not fit, by prompt.

    A chord that fits at none of its stops is asked on the first of the core sets where it does.
    stage: of the first cards; the tune's own stages follow it. prompts: kinds asked where the
    focus names none; PROMPTS when empty.
    """
    made = _Made(finder, stage)
    kinds = tuple(dict.fromkeys(focus.prompts or prompts or PROMPTS))
    stops = [stop for stop in tune.stops if _wanted(stop, focus)]
    for kind in (kind for kind in kinds if kind != TRANSITION):
        at_home = {_sound(stop.chord) for stop in stops if made.stop(kind, stop)}
        for stop in stops:
            elsewhere = (replace(stop, strings=strings) for strings in core_sets(finder.tuning))
            if _sound(stop.chord) not in at_home and any(
                made.stop(kind, other) for other in elsewhere if _wanted(other, focus)
            ):
                at_home.add(_sound(stop.chord))
    if TRANSITION in kinds:
        for joint in tune.joints:
            if _wanted(joint.before, focus) and _wanted(joint.after, focus):
                made.joint(joint)
    return list(made.cards.values()), made.refused


class _Made:
    """The cards made so far by id, and what was refused by prompt."""

    def __init__(self, finder: ShapeFinder, stage: int):
        self._finder, self._stage = finder, stage
        self.cards: dict[str, Card] = {}
        self.refused: dict[str, str] = {}

    def stop(self, kind: str, stop: Stop) -> bool:
        """A stop asked in a kind of prompt; whether anything of it fits."""
        wanted = Wanted(ARPEGGIO, stop.chord, stop.strings, None, 0, self._stage + stop.stage)
        asker, fits = asker_of(kind), False
        for draft in asker.drafts(wanted, self._finder):
            try:
                skills = asker.skills(draft, self._finder)
            except NotPlayableError as error:
                self.refused[draft.prompt] = str(error)
                continue
            # Where a chord is to be named, its bars would tell which it is.
            context = stop.where if kind in PROMPTS else ""
            self._add(replace(draft, skills=skills, weight=stop.weight, context=context))
            fits = True
        return fits

    def joint(self, joint: Joint) -> None:
        """A joint as a transition."""
        before, after = joint.before, joint.after
        try:
            card = transition_card(
                self._finder, before.chord, before.strings, after.chord, after.strings,
                stage=self._stage + joint.stage, weight=joint.weight, context=joint.where,
            )  # fmt: skip
        except NotPlayableError as error:
            prompt = f"{before.chord.name} to {after.chord.name}, strings {before.strings} to {after.strings}"
            self.refused[prompt] = str(error)
            return
        self._add(card)

    def _add(self, card: Card) -> None:
        """Keeps a card; one that several stops ask for (a spelling, a root) comes as often as all of them."""
        known = self.cards.get(card.id)
        if known is not None:
            card = replace(known, weight=known.weight + card.weight)
        self.cards[card.id] = card


def _sound(chord: Chord) -> tuple[int, str]:
    return chord.root.pitch_class, chord.quality.name


def _wanted(stop: Stop, focus: Focus) -> bool:
    """Whether a focus leaves a stop in."""
    chord = stop.chord
    return (
        (not focus.strings or stop.strings in focus.strings)
        and (not focus.qualities or chord.quality.name in focus.qualities)
        and (not focus.roots or any(root.pitch_class == chord.root.pitch_class for root in focus.roots))
        and (not focus.keys or any(own.same_sound(chord) for key in focus.keys for own in key.chords()))
        and (not focus.forms or "arpeggio" in focus.forms)
    )
