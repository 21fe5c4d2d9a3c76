"""Writes the end of a session: the counts, what may be claimed of what was played, and the next practice day."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from drills.cards.kinds import kind_of
from drills.session.drill import Drill
from drills.session.lessons import met_words
from drills.session.opening import placed
from drills.session.player_history import weeks_words
from drills.session.session_sentences import care_lines, many
from drills.session.session_state import PLACEMENT, Given
from scheduler.days.ask_of_day import Ask
from scheduler.grade import Grade
from scheduler.statistics.counts import FEWEST_TRIES, wilson

__all__ = ["end_lines", "next_words"]

SPOT_CHECK = 20
"""So many top grades in a row call for another pair of ears (drills/RULES.md, B7)."""


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


def end_lines(drill: Drill) -> list[str]:
    """Counts, what may be claimed, when next; no reproach and no promise.

    Of a hand that hurts first; then nothing is said of the next day but that it may wait.
    """
    if drill.state.hurts:
        return [*care_lines(drill), *_of_the_cards(drill)]
    return _of_the_cards(drill)


def _of_the_cards(drill: Drill) -> list[str]:
    state, now = drill.state, drill.clock()
    given: Sequence[Given] = state.given
    met = met_words(*map(state.met, ("form", "root", "ear")))
    if not given:
        return [f"{met} Asked next time." if met else "Nothing graded this time."]
    if state.kind == PLACEMENT:
        return _placed(drill)
    lines = [*_counted(given, drill.asks_of_session()), *_looked_back(drill)]
    if met:
        lines.append(met)
    if drill.tune is not None:
        lines += drill.tune.after(drill.material, drill.planner, now)
    played = [entry.grade for entry in given if not kind_of(entry.card.kind).away]
    if len(played) >= SPOT_CHECK and set(played[-SPOT_CHECK:]) == {Grade.IN_TIME}:
        lines.append(f"{SPOT_CHECK} In time in a row: let a teacher or a recording hear a few of them.")
    if state.hurts:
        return [*lines, "Next: when nothing hurts. No day is owed."]
    rest = " Hands off for a minute now." if not state.away else ""
    lines.append(f"Next: {next_words(drill.next_day(now), now)}.{rest}")
    return lines


def _looked_back(drill: Drill) -> list[str]:
    """Equal things week by week, and what may be claimed of what was played: often nothing."""
    from drills.progress.claim_sentences import claim_lines  # the first screen of a session need not wait for it

    given = drill.state.given
    cards = [entry.card for entry in given]
    words = weeks_words(drill.history.tries(given), cards)
    return [*([words] if words else []), *claim_lines(drill.history.claims(given, cards))]


def _counted(given: Sequence[Given], asks: Sequence[Ask]) -> list[str]:
    """First tries clean, what was played and what was answered away from the guitar each for itself.

    asks: what each grade was on its practice day. What is no first try is counted apart.
    """
    lines = []
    told = list(zip(given, asks, strict=True))
    for is_away, where, right in ((False, "played", "clean"), (True, "away from the guitar", "right")):
        group = [(entry.grade, ask) for entry, ask in told if kind_of(entry.card.kind).away is is_away]
        parts = []
        for kind, words in (
            (Ask.FIRST_TRY, f"first try {right} {{}}"),
            (Ask.AGAIN, "{} came back right later"),
            (Ask.NEW_TODAY, f"{{}} {right} of what was new today"),
        ):
            grades = [grade for grade, ask in group if ask is kind]
            if grades:
                parts.append(words.format(f"{sum(grade >= Grade.CLEAN for grade in grades)} of {len(grades)}"))
        if parts:
            lines.append(f"{many(len(group), 'card')} {where}, {'; '.join(parts)} (self-reported).")
    return lines


def _placed(drill: Drill) -> list[str]:
    """What a placement found, and how sure it is: Wilson's interval on the sample (1927), 95 in 100."""
    count, asked = len(drill.material.cards), len(drill.state.given)
    clean = sum(entry.grade >= Grade.CLEAN for entry in drill.state.given)
    lines = [f"{many(asked, 'card')} asked, {clean} clean (self-reported)."]
    if asked < FEWEST_TRIES:
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
