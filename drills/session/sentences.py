"""What a session says of itself: the plan before, the honest words at the end."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date, datetime

from drills.cards.card import Card
from drills.cards.kinds import kind_of
from drills.neck.strings import parse_strings
from drills.session.drill import Drill
from drills.session.keys import SLIP_KEYS
from drills.session.lessons import met_words
from drills.session.opening import placed, weakest
from drills.session.state import DAILY, PLACEMENT, ROUND, SAMPLE, Given, Phase, State
from scheduler.grade import Grade
from scheduler.intervals import wilson

__all__ = [
    "again_words", "end_lines", "focus_words", "music_keys", "music_words", "next_words", "plan_line", "said_of",
    "slips_of",
    "warm_up_words",
]  # fmt: skip

FEW_TRIES = 5
"""Under so many tries only counts are said, and nothing is drawn from them (handbook F4)."""

SPOT_CHECK = 20
"""So many top grades in a row call for another pair of ears (handbook B7)."""


def _many(count: int, noun: str) -> str:
    return f"{count} {noun}{'s' * (count != 1)}"


def plan_line(drill: Drill) -> str:
    """The likely session in one line."""
    state, planner, cards = drill.state, drill.planner, drill.material.cards
    minutes = state.limit_s / 60
    if state.kind == PLACEMENT:
        return f"Up to {minutes:g} minutes of sampled cards, to find out what you know. Nothing is taught."
    if state.kind == ROUND:
        return "One round, each root once, in order. Graded once per card as usual."
    if state.kind == SAMPLE:
        return "A blind sample: cards drawn by chance from what is thought firm, each once and cold."
    new = {s for card in drill.preview for s in planner.new_skills(card)}
    forms = {
        cards[card].quality
        for card in drill.preview
        if any(s.startswith("form:") for s in planner.new_skills(card))
    }
    roots = sum(skill.startswith("root:") for skill in new)
    parts = [f"about {_many(len(drill.preview), 'card')}"]
    if state.only:
        parts.append("only reviews" if state.only == "reviews" else f"only {parse_strings(state.only).name}")
    if forms:
        parts.append(f"new shape{'s' * (len(forms) > 1)}: {', '.join(sorted(forms))}")
    if roots:
        parts.append(_many(roots, "new root"))
    return f"{minutes:g} minutes, {', '.join(parts)}."


def focus_words(state: State) -> str:
    """The keys that narrow today's plan, or ``""``."""
    if state.kind != DAILY:
        return ""
    sets = [f"{number} {parse_strings(strings).name}" for number, strings in enumerate(state.sets, 1)]
    return "Only: " + "  ".join(["v reviews", *sets])


def again_words(card: Card) -> str:
    """What is to be done after a miss."""
    away = kind_of(card.kind).away
    return "Look at it, then say it twice with your eyes shut." if away else "Play it right twice, slowly."


def said_of(state: State) -> tuple[str, ...]:
    """The answer in lines; a lesson that shows a shape does not answer what is only asked later."""
    question = state.question
    if state.phase is Phase.LESSON and question.check is not None and question.shapes:
        return ()
    verdict = state.verdict.line if state.verdict else ""
    return tuple(text for text in question.said if text.rstrip(".") not in verdict)  # said once is enough


def slips_of(card: Card) -> str:
    """The keys for the causes of a miss that can be told apart at a card, or ``""``."""
    slips = kind_of(card.kind).slips
    return "  ".join(f"{key} {slip}" for key, slip in SLIP_KEYS.items() if slip in slips)


def warm_up_words(state: State) -> str:
    """What the warm-up asks."""
    how = "one easy shape, slowly, high on the neck. Least pressure, loose thumb, breathe"
    return f"{state.warm_up_s:.0f} seconds: {how}."


def music_words(drill: Drill) -> str:
    """What the musical minute asks."""
    card = weakest(drill.state)
    what = f"{card.chord.name} on {card.set_name}"
    if drill.tune is not None:
        heard = " (k)" if drill.audible else ""
        return f"{drill.state.music_s:.0f} seconds over {drill.tune.title}{heard}, or with {what}: chord tones first."
    return f"{drill.state.music_s:.0f} seconds with {what}: slow phrases, chord tones first."


def music_keys(drill: Drill) -> str:
    """What can be heard in the musical minute, and how it ends."""
    if not drill.audible:
        return "Enter goes on"
    played = "the tune" if drill.tune is not None else "two-five-one"
    return f"s drone  k {played} with a click  Enter goes on"


def next_words(day: date | None, now: datetime) -> str:
    """When a practice day is, seen from now: ``tomorrow``, ``Monday``, ``Monday 7 December``."""
    if day is None:
        return "when you like"
    ahead = (day - now.date()).days
    if ahead < 1:
        return "later today"
    if ahead == 1:
        return "tomorrow"
    return f"{day:%A}" if ahead < 7 else f"{day:%A} {day.day} {day:%B}"


def _where(given: Given) -> str:
    return given.card.place


def end_lines(drill: Drill) -> list[str]:
    """Counts, what got stronger, what to watch, when next; no reproach and no promise."""
    state, now = drill.state, drill.clock()
    given: Sequence[Given] = state.given
    met = met_words(state.met("form"), state.met("root"))
    if not given:
        return [f"{met} Asked next time." if met else "Nothing graded this time."]
    if state.kind == PLACEMENT:
        return _placed(drill)
    clean = [entry for entry in given if entry.grade >= Grade.CLEAN]
    lines = _counted(given)
    tries = Counter(_where(entry) for entry in given)
    hits = Counter(_where(entry) for entry in clean)
    best = max(hits, key=lambda where: (hits[where] / tries[where], hits[where]), default=None)
    if best is not None and 2 * hits[best] <= tries[best]:
        best = None  # half of it missed is nothing to call stronger
    if best is not None:
        lines.append(f"Stronger: {best}, {hits[best]} of {tries[best]} clean.")
    weak = [where for where in tries if hits[where] < tries[where] and where != best]
    if weak:
        worst = min(weak, key=lambda where: (hits[where] / tries[where], -tries[where]))
        slips = Counter(entry.slip for entry in given if entry.slip and _where(entry) == worst)
        cause = f"; the trouble was the {slips.most_common(1)[0][0]}" if slips else ""
        lines.append(f"To watch: {worst}, {hits[worst]} of {tries[worst]} clean{cause}.")
    if met:
        lines.append(met)
    if drill.tune is not None:
        lines += drill.tune.after(drill.material, drill.planner, now)
    played = [entry.grade for entry in given if not kind_of(entry.card.kind).away]
    if len(played) >= SPOT_CHECK and set(played[-SPOT_CHECK:]) == {Grade.IN_TIME}:
        lines.append(f"{SPOT_CHECK} In time in a row: let a teacher or a recording hear a few of them.")
    rest = " Hands off for a minute now." if not state.away else ""
    lines.append(f"Next: {next_words(drill.next_day(now), now)}.{rest}")
    return lines


def _counted(given: Sequence[Given]) -> list[str]:
    """First tries clean, what was played and what was answered away from the guitar each for itself."""
    away = [entry for entry in given if kind_of(entry.card.kind).away]
    played = [entry for entry in given if not kind_of(entry.card.kind).away]
    lines = []
    for group, words in ((played, "played, first try clean"), (away, "away from the guitar, first try right")):
        if group:
            clean = sum(entry.grade >= Grade.CLEAN for entry in group)
            lines.append(f"{_many(len(group), 'card')} {words} {clean} of {len(group)} (self-reported).")
    return lines


def _placed(drill: Drill) -> list[str]:
    """What a placement found, and how sure it is: Wilson's interval on the sample (1927), 95 in 100."""
    count, asked = len(drill.material.cards), len(drill.state.given)
    clean = sum(entry.grade >= Grade.CLEAN for entry in drill.state.given)
    lines = [f"{_many(asked, 'card')} asked, {clean} clean (self-reported)."]
    if asked < FEW_TRIES:
        return [*lines, "Too few to say more. Another placement adds to it."]
    low, high = (round(bound * count) for bound in wilson(clean, asked))
    lines.append(
        f"Of all {count} cards that makes about {round(count * clean / asked)}: "
        f"between {low} and {high}, 19 times in 20."
    )
    if placed(drill.state):
        lines.append("Sessions ask any root from now on, and teach only shapes you have not shown.")
    else:
        lines.append("Sessions go on from what was clean and teach the rest, a little each day.")
    return lines
