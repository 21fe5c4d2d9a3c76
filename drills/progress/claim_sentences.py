"""The sentences that claim something of a place or of roots: every page that claims says these and no others."""

from __future__ import annotations

from datetime import date

from drills.progress.claim_groups import PlayerClaims, group_name
from scheduler.statistics.claims import Claim, ClaimWord, Judgement

__all__ = ["claim_lines", "day_name", "missing_line"]

_MOST = 3
"""So many groups are named in one sentence; the rest are counted."""

_COMPARING = (ClaimWord.WEAKEST, ClaimWord.TO_WATCH, ClaimWord.STRONGER)


def day_name(day: date) -> str:
    """``3 March``."""
    return f"{day.day} {day:%B}"


def claim_lines(claims: PlayerClaims) -> list[str]:
    """All that may be claimed, in sentences, the most useful first."""
    judgement, since = claims.judgement, claims.since
    lines = []
    for word in ClaimWord:
        found = [claim for claim in judgement.claims if claim.word is word]
        if word in _COMPARING or word is ClaimWord.DISAGREE:
            lines += [_line(claim, since, claims.period) for claim in found[:_MOST]]
        elif found := [claim for claim in found if not _said_already(claim, judgement)]:
            named = [f"{_name(claim)} ({claim.count})" for claim in found[:_MOST]]
            more = [f"and {len(found) - _MOST} more"] * (len(found) > _MOST)
            lasts = ", and the memory expects it to last" if word is ClaimWord.FIRM else ""
            lines.append(f"{_HEADS[word]}: {', '.join(named + more)} clean since {day_name(since)}{lasts}.")
    return lines


_HEADS = {
    ClaimWord.WEAKEST: "Weakest",
    ClaimWord.TO_WATCH: "To watch",
    ClaimWord.STRONGER: "Stronger",
    ClaimWord.FIRM: "Firm",
    ClaimWord.GOING_WELL: "Going well",
    ClaimWord.NOT_YET: "Not yet",
}


def _name(claim: Claim) -> str:
    return group_name(claim.family, claim.group)


def _said_already(claim: Claim, judgement: Judgement) -> bool:
    """Whether a group that is not there yet is already named as one to watch."""
    watched = {(one.family, one.group) for one in judgement.claims if one.word in _COMPARING[:2]}
    return claim.word is ClaimWord.NOT_YET and (claim.family, claim.group) in watched


def _line(claim: Claim, since: date, period: date) -> str:
    name = _name(claim)
    if claim.word is ClaimWord.DISAGREE:
        count = "not yet" if claim.memory == "firm" else "going well"
        return (
            f"{name[:1].upper()}{name[1:]}: the count says {count} ({claim.count} clean since {day_name(since)}), "
            f"the memory says {claim.memory}. They do not agree; neither is taken for the truth."
        )
    if claim.word is ClaimWord.STRONGER:
        return (
            f"Stronger: {name}, {claim.count} clean since {day_name(period)}; {claim.other} in the four weeks before."
        )
    return f"{_HEADS[claim.word]}: {name}, {claim.count} clean since {day_name(since)}; elsewhere {claim.other}."


def missing_line(claims: PlayerClaims) -> str:
    """What is missing to name a difference, or that there is none to name; ``""`` where one is named."""
    judgement = claims.judgement
    if any(claim.word in _COMPARING for claim in judgement.claims):
        return ""
    if (missing := judgement.missing) is not None:
        name = group_name(missing.family, missing.group)
        tries = f"{missing.tries} more {'try' if missing.tries == 1 else 'tries'}"
        if any(claim.word is ClaimWord.NOT_YET for claim in judgement.claims):
            # A place was named one sentence before; "nothing" would take it back.
            return f"Nothing is surely below the rest yet; {name} can be compared with it after about {tries}."
        return f"Nothing can be told apart yet; {name} can be compared with the rest after about {tries}."
    return f"Nothing stands out: no place and no roots are surely below the rest since {day_name(claims.since)}."
