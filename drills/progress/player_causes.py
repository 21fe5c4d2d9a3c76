"""The cause of a player's misses in words: roots of one string, one form, a quality's spelling, changes in time.

The player's own progress and the teacher's sheet name it from here, in one sentence.
"""

from __future__ import annotations

import re
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from drills.progress.card_parts import place_of
from drills.progress.claim_groups import PlayerClaims, groups_of
from drills.progress.skill_names import form_names
from scheduler.statistics.causes import Cause, Group, Tried, found_cause, named_mostly
from scheduler.statistics.claims import ClaimWord
from scheduler.statistics.counts import Count
from scheduler.statistics.recent_tries import FirstTry

__all__ = ["SLIP_WORDS", "CauseGroup", "PlayerCause", "cause_groups", "cause_of", "group_words"]

CauseGroup = Group
"""A kind (``roots``, ``form``, ``spelling``, ``time``) and which one of it: string and open pitch, form or quality."""

SLIP_WORDS = {
    "root": "finding the root",
    "shape": "remembering the shape",
    "fingering": "the fingering",
    "time": "keeping time",
}
"""A slip as a cause of trouble."""

_FITTING = {"roots": ("root",), "form": ("shape", "fingering"), "spelling": ("shape",), "time": ("time",)}
"""The slips that fit a cause. Who cannot spell a chord has no word of their own for it: the shape comes nearest."""

_STRING = re.compile(r"root:[^@]+@(\d{1,2})([A-G].*)")
_SPELT = re.compile(r"spell:[A-G](?:##?|bb?)?-?(.+)")


@dataclass(frozen=True, slots=True)
class PlayerCause:
    """What explains a player's misses.

    groups: what is needed where they come; several where these always came together, and none where only the slips
    tell it. words: it in words. line: it with its counts, one sentence without its full stop. inside: first tries that
    needed it. slip: what is mostly named, where only that tells it. places: the string sets and qualities of the tries
    that needed it, from the low strings up.
    """

    groups: tuple[CauseGroup, ...]
    words: str
    line: str
    inside: Count = Count()
    slip: str = ""
    places: tuple[tuple[str, str], ...] = ()

    @property
    def kind(self) -> str:
        """The first group's kind, or ``slip``."""
        return self.groups[0][0] if self.groups else "slip"

    @property
    def is_roots(self) -> bool:
        """Whether roots are the trouble, by the counts or by the slips alone."""
        return self.kind == "roots" or self.slip == "root"

    @property
    def sentence(self) -> str:
        """It as a player or a teacher reads it."""
        return f"The one thing to fix: {self.line}."

    @property
    def strings(self) -> set[int]:
        """The numbers of the strings whose roots are missing."""
        return {_number(which) for kind, which in self.groups if kind == "roots"}

    def needs(self, skills: Iterable[str]) -> bool:
        """Whether a card with these skills needs what is missing."""
        return not cause_groups(skills).isdisjoint(self.groups)


def cause_groups(skills: Iterable[str]) -> frozenset[CauseGroup]:
    """What a card with these skills needs."""
    found: set[CauseGroup] = set()
    for skill in skills:
        if match := _STRING.fullmatch(skill):
            found.add(("roots", match[1] + match[2]))
        elif skill.startswith("form:"):
            found.add(("form", skill))
        elif match := _SPELT.fullmatch(skill):
            found.add(("spelling", match[1]))
        elif skill.startswith("joint:"):
            found.add(("time", ""))
    return frozenset(found)


def group_words(group: CauseGroup, forms: Mapping[str, str]) -> str:
    """A group in words. forms: see `drills.progress.skill_names.form_names`."""
    kind, which = group
    if kind == "roots":
        return f"finding roots on string {_number(which)}"
    if kind == "form":
        return f"the {forms.get(which, 'shape of a deck not known here')}"
    if kind == "spelling":
        return f"spelling {which.replace('-', ' ')}"
    return "going from chord to chord in time"


def cause_of(tries: Sequence[FirstTry], claims: PlayerClaims) -> PlayerCause | None:
    """The cause of the misses among a player's first tries, or None where none is sure enough.

    claims: what may be claimed of the same tries. What surely goes well somewhere is no cause.
    """
    told = [Tried(one.card, cause_groups(one.skills), one.clean, one.slip) for one in tries]
    groups = sorted({group for one in told for group in one.groups})
    cause = found_cause(told, {group: _FITTING[group[0]] for group in groups})
    if cause is not None and _going_well(tries, claims).isdisjoint(cause.groups):
        forms = form_names((one.card, one.skills) for one in tries)
        words = " or ".join(group_words(group, forms) for group in cause.groups)
        return PlayerCause(cause.groups, words, _line(words, cause), cause.inside, places=_places(tries, cause.groups))
    if (mostly := named_mostly(one.slip for one in tries if one.slip and not one.clean)) is not None:
        slip, count = mostly
        words = SLIP_WORDS.get(slip, slip)
        return PlayerCause((), words, f"{words}, as {count} slips named say", slip=slip)
    return None


def _places(tries: Iterable[FirstTry], groups: Sequence[CauseGroup]) -> tuple[tuple[str, str], ...]:
    """Where the tries that need one of some groups were played."""
    found = {place_of(one.card) for one in tries if not cause_groups(one.skills).isdisjoint(groups)}
    return tuple(sorted((place for place in found if place is not None), reverse=True))


def _number(string: str) -> int:
    """The number of a string written with its open pitch, ``5A2``."""
    return int(string.partition(string.lstrip("0123456789"))[0])


def _going_well(tries: Iterable[FirstTry], claims: PlayerClaims) -> set[CauseGroup]:
    """What every card of some place, or of some part of a string, needs where that surely goes well."""
    well = {
        (claim.family, claim.group)
        for claim in claims.judgement.claims
        if claim.word in (ClaimWord.FIRM, ClaimWord.GOING_WELL)
    }
    needed: dict[tuple[str, Hashable], frozenset[CauseGroup]] = {}
    for one in tries:
        for at in groups_of(one.card, one.skills):
            if at in well:
                needed[at] = needed.get(at, cause_groups(one.skills)) & cause_groups(one.skills)
    return {group for groups in needed.values() for group in groups}


def _line(words: str, cause: Cause) -> str:
    line = f"{words}: clean {cause.inside} where it is needed, {cause.outside} elsewhere"
    return f"{line}; {cause.named} of {cause.slips} slips named there fit" if cause.slips else line
