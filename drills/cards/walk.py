"""A tune as cards see it: chords on string sets, the joints between them, how often and where each comes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from drills.cards.card import Card
from drills.cards.focus import Focus
from drills.cards.prompts.transition import TRANSITION, arpeggio_card, transition_card
from drills.errors import NotPlayableError
from drills.neck.strings import StringSet, core_sets
from drills.shapes.finder import ShapeFinder
from drills.theory.chord import Chord

__all__ = ["Joint", "Stop", "Walk", "walk_cards"]

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
class Walk:
    """A tune walked along one path or several; every stop and every joint stands in it once."""

    title: str
    stops: tuple[Stop, ...]
    joints: tuple[Joint, ...]

    @property
    def stages(self) -> int:
        """How many stages it has."""
        return 1 + max((each.stage for each in (*self.stops, *self.joints)), default=0)


def walk_cards(walk: Walk, finder: ShapeFinder, focus: Focus, stage: int = 0) -> tuple[list[Card], dict[str, str]]:
    """The cards of a walk within a focus, and the reason for what does not fit, by prompt.

    A chord that fits at none of its stops is asked on the first of the core sets where it does.
    stage: of the first cards; the walk's own stages follow it.
    """
    cards: list[Card] = []
    refused: dict[str, str] = {}

    def keep(prompt: str, make: Callable[[], Card]) -> bool:
        try:
            cards.append(make())
        except NotPlayableError as error:
            refused[prompt] = str(error)
            return False
        return True

    def ask(stop: Stop) -> bool:
        how = {"stage": stage + stop.stage, "weight": stop.weight, "context": stop.where}
        return keep(
            f"{stop.chord.name}, strings {stop.strings}",
            lambda: arpeggio_card(finder, stop.chord, stop.strings, **how),
        )

    if not focus.prompts or "name" in focus.prompts:
        at_home: dict[tuple[int, str], bool] = {}
        stops = [stop for stop in walk.stops if _wanted(stop, focus)]
        for stop in stops:
            at_home[_sound(stop.chord)] = ask(stop) or at_home.get(_sound(stop.chord), False)
        for stop in stops:
            elsewhere = (replace(stop, strings=strings) for strings in core_sets(finder.tuning))
            if not at_home[_sound(stop.chord)]:
                at_home[_sound(stop.chord)] = any(_wanted(other, focus) and ask(other) for other in elsewhere)
    if not focus.prompts or TRANSITION in focus.prompts:
        for joint in walk.joints:
            before, after = joint.before, joint.after
            if not (_wanted(before, focus) and _wanted(after, focus)):
                continue
            how = {"stage": stage + joint.stage, "weight": joint.weight, "context": joint.where}
            keep(
                f"{before.chord.name} to {after.chord.name}, strings {before.strings} to {after.strings}",
                lambda b=before, a=after, how=how: transition_card(
                    finder, b.chord, b.strings, a.chord, a.strings, **how
                ),
            )
    return cards, refused


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
