"""What a session says of itself: the plan before, the reason for a card, the honest words at the end."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from drills.cards.skills import root_place
from drills.session.drill import Drill
from drills.session.state import Given
from scheduler.grade import Grade
from scheduler.reasons import Reasons

__all__ = ["end_lines", "plan_line", "reason_line"]


def _many(count: int, noun: str) -> str:
    return f"{count} {noun}{'s' * (count != 1)}"


def plan_line(drill: Drill) -> str:
    """The likely session in one line."""
    planner, cards = drill.planner, drill.material.cards
    minutes = drill.state.limit_s / 60
    new = {s for card in drill.preview for s in planner.new_skills(card)}
    forms = {
        cards[card].chord.quality.name
        for card in drill.preview
        if any(s.startswith("form:") for s in planner.new_skills(card))
    }
    roots = sum(skill.startswith("root:") for skill in new)
    parts = [f"about {_many(len(drill.preview), 'card')}"]
    if forms:
        parts.append(f"new shape{'s' * (len(forms) > 1)}: {', '.join(sorted(forms))}")
    if roots:
        parts.append(_many(roots, "new root"))
    return f"{minutes:g} minutes, {', '.join(parts)}."


def _skill_words(skill: str, drill: Drill) -> str:
    kind = skill.partition(":")[0]
    if kind == "root" and (place := root_place(skill)):
        return f"finding {place[0]} on string {place[1]}"
    if kind == "form":
        card = next((c for c in drill.material.cards.values() if c.skills[0] == skill), None)
        return f"the {card.chord.quality.name} shape on {card.strings}" if card else "this shape"
    return {"spell": "spelling this chord", "degree": "naming the degree"}.get(kind, "this card itself")


def reason_line(reasons: Reasons, drill: Drill) -> str:
    """One sentence on why a card came up."""
    if not reasons.parts:
        return ""
    part = max(reasons.parts, key=lambda part: part.share)
    words = _skill_words(part.skill, drill)
    if part.state.word == "unmet":
        return f"New to you: {words}."
    return f"Most to gain here: {words}."


def _where(given: Given) -> str:
    return f"{given.card.chord.quality.name} on {given.card.strings}"


def end_lines(drill: Drill) -> list[str]:
    """Counts, what got stronger, what to watch, when next; no reproach and no promise."""
    given: Sequence[Given] = drill.state.given
    if not given:
        return ["Nothing graded this time." if not drill.state.lessons else "A new shape met; it will be asked next time."]
    clean = [entry for entry in given if entry.grade >= Grade.CLEAN]
    lines = [f"{_many(len(given), 'card')} played, first try clean {len(clean)} of {len(given)} (self-reported)."]
    tries = Counter(_where(entry) for entry in given)
    hits = Counter(_where(entry) for entry in clean)
    best = None
    if hits:
        best = max(hits, key=lambda where: (hits[where] / tries[where], hits[where]))
        lines.append(f"Stronger: {best}, {hits[best]} of {tries[best]} clean.")
    weak = [where for where in tries if hits[where] < tries[where] and where != best]
    if weak:
        worst = min(weak, key=lambda where: (hits[where] / tries[where], -tries[where]))
        slips = Counter(entry.slip for entry in given if entry.slip and _where(entry) == worst)
        cause = f"; the trouble was the {slips.most_common(1)[0][0]}" if slips else ""
        lines.append(f"To watch: {worst}, {hits[worst]} of {tries[worst]} clean{cause}.")
    if drill.state.lessons:
        lines.append(f"{_many(drill.state.lessons, 'new shape')} met.")
    lines.append("Next: tomorrow. Hands off for a minute now.")
    return lines
