"""The groups of cards of which something may be claimed: places on the neck, and roots by part of a string."""

from __future__ import annotations

from collections.abc import Collection, Hashable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from drills.progress.card_parts import place_of
from drills.progress.skill_names import root_spot, string_half
from scheduler.statistics.claims import ClaimWord, Families, Judgement, judge
from scheduler.statistics.counts import Count
from scheduler.statistics.recent_tries import CardTries, RecentTries

__all__ = ["NO_CLAIMS", "PLACES", "ROOTS", "PlayerClaims", "families_of", "group_name", "groups_of", "judged"]

PLACES = "places"
"""Family of groups (string set as shown, quality)."""

ROOTS = "roots"
"""Family of groups (string number, whether above fret 7)."""

Group = tuple[str, str] | tuple[int, bool]
"""A place, or roots on a part of a string."""

_WORDS = ("unmet", "forming", "fading", "firm")


def families_of(tries: RecentTries) -> Families:
    """First tries of each group by practice day, the groups in the order of their names."""
    found: dict[str, dict[Group, dict[int, Count]]] = {PLACES: {}, ROOTS: {}}
    for card, own in tries.cards.items():
        for family, group in groups_of(card, own.skills):
            days = found[family].setdefault(group, {})
            for day, count in own.days.items():
                days[day] = days.get(day, Count()) + count
    return {family: dict(sorted(groups.items())) for family, groups in found.items()}


def groups_of(card: str, skills: Iterable[str]) -> set[tuple[str, Group]]:
    """The groups a card belongs to, each with its family. card: its id."""
    found: set[tuple[str, Group]] = {(ROOTS, spot.half) for skill in skills if (spot := root_spot(skill)) is not None}
    if (place := place_of(card)) is not None:
        found.add((PLACES, place))
    return found


@dataclass(frozen=True, slots=True)
class PlayerClaims:
    """What may be claimed of a player. since: first practice day that counts. period: first of the running period."""

    judgement: Judgement
    since: date
    period: date

    @property
    def watched(self) -> list[tuple[str, str]]:
        """The places to watch, string set and quality, the one with the lowest share first."""
        return self.places(ClaimWord.WEAKEST, ClaimWord.TO_WATCH)

    @property
    def not_yet(self) -> list[tuple[str, str]]:
        """The places that are surely not there yet, the one with the lowest share first."""
        return self.places(ClaimWord.NOT_YET)

    def places(self, *words: ClaimWord) -> list[tuple[str, str]]:
        """The places of which one of some words is claimed, the one with the lowest share first."""
        found = [
            (claim.count.clean / claim.count.tries, claim.group)
            for claim in self.judgement.claims
            if claim.family == PLACES and claim.word in words
        ]
        return [place for _, place in sorted(found) if isinstance(place, tuple)]

    def count_of(self, place: tuple[str, str]) -> Count:
        """The count by which something is claimed of a place; empty where nothing is."""
        found = (claim.count for claim in self.judgement.claims if (claim.family, claim.group) == (PLACES, place))
        return next(found, Count())

    def about(self, groups: Collection[tuple[str, Hashable]]) -> PlayerClaims:
        """What of it is about some groups, each with its family. What is missing is left out."""
        claims = tuple(claim for claim in self.judgement.claims if (claim.family, claim.group) in groups)
        return replace(self, judgement=Judgement(claims))


NO_CLAIMS = PlayerClaims(Judgement(), date.min, date.min)
"""Of a player who has not begun nothing is claimed."""


def judged(tries: RecentTries, words: Mapping[str, str] | None = None) -> PlayerClaims:
    """What may be claimed. words: the memory's word for each skill, when it was asked."""
    judgement = judge(families_of(tries), tries.period, _place_words(tries.cards, words or {}))
    return PlayerClaims(judgement, date.fromordinal(tries.begins), date.fromordinal(tries.period))


def _place_words(cards: Mapping[str, CardTries], words: Mapping[str, str]) -> dict[tuple[str, Hashable], str]:
    """The memory's word for a place: the least of those for the shapes that were tried there."""
    found: dict[tuple[str, Hashable], str] = {}
    for card, own in cards.items():
        place = place_of(card)
        for skill in own.skills if place is not None else ():
            word = words.get(skill, "")
            if skill.startswith("form:") and word in _WORDS:
                found[PLACES, place] = min(word, found.get((PLACES, place), word), key=_WORDS.index)
    return found


def group_name(family: str, group: Hashable) -> str:
    """A group in words: ``m7b5 on 4-3-2``, ``roots on string 4 above fret 7``."""
    match family, group:
        case "places", (str(strings), str(quality)):
            return f"{quality} on {strings}"
        case "roots", (int(string), bool(above)):
            return string_half((string, above))
    return str(group)
