"""What a session says of itself as it goes: the plan, what a card and a page ask."""

from __future__ import annotations

from drills.cards.card import Card
from drills.cards.kinds import kind_of
from drills.cards.sore_hand import stretch_words
from drills.neck.strings import parse_strings
from drills.session.drill import Drill
from drills.session.heard_take import seconds_left
from drills.session.key_bindings import SLIP_KEYS
from drills.session.opening import weakest
from drills.session.player_history import missed_words
from drills.session.session_state import DAILY, PLACEMENT, ROUND, SAMPLE, Phase, SessionState

__all__ = [
    "BEFORE_YOU_START",
    "LISTENING",
    "MICROPHONE_ON",
    "NOT_TIMED",
    "SLIPPED_BEFORE",
    "STOPPED",
    "STOP_AND_ASK",
    "VOTING",
    "again_words",
    "care_lines",
    "caution_lines",
    "focus_words",
    "heard_words",
    "in_time_words",
    "listening_words",
    "many",
    "music_keys",
    "music_words",
    "paused_words",
    "plan_line",
    "said_of",
    "silence_words",
    "slips_of",
    "unfit_words",
    "warm_up_words",
    "yesterday_words",
]  # fmt: skip


STOPPED = "Two minutes without a key: the clock stopped by itself, and the time away does not count."
"""Said when a card was left alone."""


LISTENING = (
    "The microphone is on. It hears notes, not strings or frets, and proposes a grade; your key decides. "
    "Tried on simulated playing only."
)
"""Said once, before the first card of a session that listens."""

VOTING = "Two of three engines have to agree on a note."
"""Said with it where the trained models are installed."""

NOT_TIMED = "Whether in time I cannot tell before neckwork tuner --clicks has measured this device."
"""Said where the round trip of the device is not known, or differs from start to start."""

HANDS_FREE = (
    "Hands free: play and wait. The answer comes by itself, after three seconds silence takes the grade, and a grade "
    "key overrules it."
)
"""Said once, before the first card of a session that goes on by what is heard."""

OFFER_HANDS_FREE = (
    "Of your last 20 grades 18 or more were those proposed: neckwork session --hands-free goes on without a key."
)
"""Said before the first card to a player whose grades mostly are those proposed."""

MICROPHONE_ON = "The microphone is on."
"""Stands on every page while it is."""

BEFORE_YOU_START = "Before you start"
"""The head of the cautions."""

STOP_AND_ASK = "Sharp pain, numbness, tingling, weakness: stop, and see a doctor or a hand therapist."
"""The first caution, before the first session and when a hand hurts (drills/RULES.md, E)."""


def many(count: int, noun: str) -> str:
    """A count and its noun: ``1 card``, ``2 cards``."""
    return f"{count} {noun}{'s' * (count != 1)}"


def plan_line(drill: Drill) -> str:
    """The likely session in one line."""
    state, planner, cards = drill.state, drill.planner, drill.material.cards
    minutes = state.limit_s / 60
    long = f"{minutes:g} minute{'s' * (minutes != 1)}"
    if state.kind == PLACEMENT:
        return f"Up to {long} of sampled cards, to find out what you know. Nothing is taught."
    if state.kind == ROUND:
        return "One round, each root once, in order. Graded once per card as usual."
    if state.kind == SAMPLE:
        return "A blind sample: cards drawn by chance from what is thought firm, each once and cold."
    new = {s for card in drill.preview for s in planner.new_skills(card)}
    forms = {s: cards[card].quality for card in drill.preview for s in planner.new_skills(card) if s[:5] == "form:"}
    roots = sum(skill.startswith("root:") for skill in new)
    parts = [f"about {many(len(drill.preview), 'card')}"]
    if state.only:
        parts.append("nothing new" if state.only == "reviews" else f"only {parse_strings(state.only).name}")
    if forms:
        parts.append(f"{many(len(forms), 'new shape')} ({', '.join(sorted(set(forms.values())))})")
    if roots:
        parts.append(many(roots, "new root"))
    return f"{long}, {', '.join(parts)}."


def yesterday_words(drill: Drill) -> str:
    """What was missed yesterday, before a daily session, or ``""``."""
    state = drill.state
    return missed_words(drill.history.tries(state.given)) if state.kind == DAILY else ""


def unfit_words(drill: Drill) -> str:
    """How many cards the neck cannot take, and where each is named with its reason; ``""`` for none."""
    count = len(drill.material.left_out)
    if not count:
        return ""
    verb, which = ("does", "it") if count == 1 else ("do", "them")
    fit = f"{many(count, 'card')} {verb} not fit this neck"
    return f"{fit}; neckwork cards, given the same deck and options, names {which}."


def caution_lines(state: SessionState) -> list[str]:
    """What is said once, before the first card; how to warm up is said under it where a warm-up follows."""
    load = "Count these minutes with all else your hand does."
    if not state.warm_up_s:
        load = f"Warm up on easy shapes high on the neck. {load}"
    teacher = "Your teacher's word on technique goes before this tool's."
    return [STOP_AND_ASK, load, f"Keep sound at speech level. {teacher}"]


def care_lines(drill: Drill) -> list[str]:
    """What a player whose hand hurts is told: to rest, whom to ask, and what is left out until it is brought back."""
    lines = ["Stopped. Let the hand rest now; everything graded is kept.", STOP_AND_ASK]
    if drill.stretch is not None:
        count, of = drill.left_out_for_it, len(drill.material.cards)
        lines.append(
            f"Left out: {stretch_words(drill.stretch)} ({count} of {many(of, 'card')}). "
            "When nothing hurts, neckwork wake hand brings it back."
        )
    return lines


def focus_words(state: SessionState) -> str:
    """The keys that narrow today's plan, or ``""``."""
    if state.kind != DAILY:
        return ""
    sets = [f"{number} {parse_strings(strings).name}" for number, strings in enumerate(state.sets, 1)]
    return "Only: " + "  ".join(["v nothing new", *sets])


def paused_words(state: SessionState) -> str:
    """Why the clock stands still, and what goes on."""
    return f"{STOPPED if state.gone else 'Paused.'} Any key goes on."


def again_words(card: Card) -> str:
    """What is to be done after a miss."""
    away = kind_of(card.kind).away
    return "Look at it, then say it twice with your eyes shut." if away else "Play it right twice, slowly."


def said_of(state: SessionState) -> tuple[str, ...]:
    """The answer in lines; a lesson that shows a shape does not answer what is only asked later."""
    question = state.question_asked
    if state.phase is Phase.LESSON and question.check is not None and question.shapes:
        return ()
    verdict = state.verdict.line if state.verdict else ""
    return tuple(text for text in question.said if text.rstrip(".") not in verdict)  # said once is enough


def listening_words(drill: Drill) -> str:
    """What is said once of the microphone before the first card, or ``""``."""
    if drill.ears is None or not drill.ears.listening:
        return ""
    said = [LISTENING]
    if drill.ears.votes:
        said.append(VOTING)
    if drill.ears.hands_free:
        said.append(HANDS_FREE)
    elif drill.ears.offer:
        said.append(OFFER_HANDS_FREE)
    return " ".join(said)


def heard_words(state: SessionState) -> list[str]:
    """What was heard of the card in hand: the proposal, and the notes that were not right, in one paragraph."""
    heard = state.heard
    return [" ".join((heard.line, *heard.notes))] if heard is not None else []


def silence_words(drill: Drill) -> str:
    """What silence does with the proposal on show, and in how many seconds; ``""`` where a key decides."""
    heard = drill.state.heard
    if drill.ears is None or not drill.ears.hands_free or heard is None or heard.grade is None:
        return ""
    left = seconds_left(heard, drill.now_s())
    return f"Silence takes {heard.grade.label}: {left} s" if left else ""


def slips_of(card: Card) -> str:
    """The keys for the causes of a miss that can be told apart at a card, or ``""``."""
    slips = kind_of(card.kind).slips
    return "  ".join(f"{key} {slip}" for key, slip in SLIP_KEYS.items() if slip in slips)


SLIPPED_BEFORE = "What slipped last time?"
"""Asked with the prompt that follows a card found with a slip."""


def in_time_words(tempo: float) -> str:
    """What the highest grade means at a card. tempo: beats a minute."""
    return f"In time = one note a click at {tempo:g}"


def warm_up_words(drill: Drill) -> str:
    """What the warm-up asks: an easy shape that is known, or before any is, whatever the player likes."""
    what = "one easy shape" if drill.warm_up() is not None else "something easy of your own"
    how = "slowly, high on the neck. Least pressure, loose thumb, breathe"
    return f"{drill.state.warm_up_s:.0f} seconds: {what}, {how}."


def music_words(drill: Drill) -> str:
    """What the musical minute asks."""
    card = weakest(drill.state) or drill.state.card_in_hand
    what = f"{card.own_chord.name} on {card.set_name}"
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
