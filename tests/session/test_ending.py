"""What a session says at its end: counts, and claims only from enough tries (drills/RULES.md, F4, common practice)."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest
from sittings import START, Listener, gathered

from drills.configuration.diagram_style import DiagramStyle
from drills.neck.neck import Neck
from drills.progress.progress_sentences import sentences
from drills.progress.report_of_log import read_report
from drills.session.ending import end_lines, next_words
from drills.session.plain import spoken
from drills.session.screens import screen
from drills.session.session_state import Given, Phase
from scheduler.days.ask_of_day import Ask
from scheduler.grade import Grade
from scheduler.review import Review

CLAIMS = {"Weakest", "To watch", "Stronger", "Firm", "Going well", "Not yet", "Best today"}
NARROW = {"strings": "543", "quality": "maj7,m7"}


def ended(one) -> list[str]:
    """The end's lines, wherever the session stands."""
    if one.state.phase.value == "music":
        one.press("enter")
    if not one.state.over:
        one.press("q")
    return end_lines(one.drill)


def of(lines, head) -> str:
    """The line that begins so, or ``""``."""
    return next((line for line in lines if line.startswith(head)), "")


def test_a_few_tries_are_counted_and_nothing_is_claimed_of_them(sitting):
    """After one clean card and one miss no place is called better, worse or to be watched."""
    one = sitting(**NARROW)
    one.start()
    one.play("c")
    one.play("f")
    lines = ended(one)
    assert lines[0] == "2 cards played, first try clean 1 of 2 (self-reported)."
    assert not [line for line in lines if line.partition(":")[0] in CLAIMS]


def test_a_card_asked_again_is_counted_as_come_back_right_later(sitting):
    """The first try stays the miss it was; the clean answer later that day is counted apart."""
    first = sitting(strings="543", quality="maj7")
    first.start()
    first.play("c")
    ended(first)
    first.clock.tick(86_400)
    one = sitting(clock=first.clock, strings="543", quality="maj7")
    one.start()
    missed = one.play("f")
    while one.play("c") is not missed:
        assert not one.state.over
    lines = ended(one)
    assert [given.card for given in one.state.given].count(missed) == 2
    assert "; 1 of 1 came back right later" in lines[0]
    assert ", first try clean 1 of 2; " in lines[0]


def filled(log, *tries):
    """A log with first tries: each a card, how many days ago, whether clean."""
    for number, (card, ago, clean) in enumerate(tries):
        at = START - timedelta(days=ago, seconds=-number)
        grade = Grade.CLEAN if clean else Grade.FOUND
        log.record(Review(card.id, grade, at, 5.0, skills=card.skills, id=f"before-{number}"))


def test_what_is_claimed_at_the_end_is_what_progress_claims_of_what_was_played(sitting):
    """Twelve missed cards of m7 on 5-4-3 on five days, twelve clean ones of maj7: the end names the one, with both
    counts, when it was played, and says the very sentence of the progress page."""
    one = sitting(**NARROW, minutes=5)
    cards = one.material.cards.values()
    filled(one.log, *((card, ago, card.quality == "maj7") for ago in range(6, 1, -1) for card in cards))
    lines = sentences(read_report(one.log, one.clock(), 4.0))
    for quality in ("m7", "maj7"):
        card = next(card for card in cards if card.quality == quality)
        one.drill.state = replace(one.state, given=(Given(card, Grade.CLEAN, "r1", 5.0, 15.0),), phase=Phase.END)
        said = of(end_lines(one.drill), "Weakest: ")
        assert said == (
            "Weakest: m7 on 5-4-3, 0 of 60 clean since 24 February; elsewhere 60 of 60." * (quality == "m7")
        )
        assert not said or said in lines


def test_equal_things_are_compared_in_one_line_whichever_way_they_went(sitting):
    """Eight cards of m7 tried in both weeks: 3 of 8, then 6 of 8. A card of one week only is no equal thing, and four
    of a kind are too few."""
    one = sitting(**NARROW)
    m7 = [card for card in one.material.cards.values() if card.quality == "m7"][:9]
    maj7 = [card for card in one.material.cards.values() if card.quality == "maj7"][:4]
    filled(
        one.log, *((card, 9, number < 3) for number, card in enumerate(m7[:8])),
        *((card, 3, number < 6) for number, card in enumerate(m7[:8])), (m7[8], 2, False),
        *((card, ago, True) for ago in (10, 4) for card in maj7),
    )  # fmt: skip
    given = tuple(Given(card, Grade.CLEAN, f"r{n}", 5.0, 15.0) for n, card in enumerate((m7[0], maj7[0])))
    one.drill.state = replace(one.state, given=given, phase=Phase.END)
    assert "m7: 3 of 8 last week, 6 of 8 this week, the same cards." in end_lines(one.drill)
    one.drill.state = replace(one.state, given=given[1:], phase=Phase.END)
    assert "last week" not in " ".join(end_lines(one.drill))


def test_the_start_says_what_was_missed_yesterday_and_only_then(sitting):
    """Two are named and the rest counted; a clean day, and a miss of the day before yesterday, leave nothing to say."""
    one = sitting(**NARROW)
    cards = [card for card in one.material.cards.values() if card.quality == "m7"][:4]
    filled(one.log, *((card, 1, False) for card in cards[:3]), (cards[3], 1, True), (cards[3], 2, False))
    fresh = sitting(**NARROW)
    said = [line for line in spoken(fresh.drill) if line.startswith("Yesterday")]
    drawn = " ".join(line.text for line in screen(fresh.drill, DiagramStyle(), 78, 23))
    names = [f"{card.chord.name}, strings 5-4-3" for card in cards[:2]]
    assert f"Yesterday you missed {names[0]}; {names[1]}; and 1 more." in drawn and len(said) == 1
    fresh.clock.tick(86_400)
    assert not [line for line in spoken(sitting(clock=fresh.clock, **NARROW).drill) if line.startswith("Yesterday")]


def test_where_nothing_was_asked_nothing_more_is_offered(sitting):
    """All is by ear and the sound fails at the first try: the end, why, and no other ten minutes."""
    listener = Listener()
    one = sitting(listener=listener, strings="543", quality="maj7", prompt="ear")
    assert one.drill.nothing_to_ask == ""
    one.start()
    listener.silent, listener.news = True, "No sound: no player."
    one.drill.tick()
    while not one.state.over:
        one.press("enter")
    assert not one.state.given and not one.state.offer
    assert "another ten" not in " ".join(spoken(one.drill))


@pytest.mark.parametrize("rest", [False, True])
def test_a_sitting_with_nothing_to_ask_says_why_before_it_begins(sitting, rest):
    """Only prompts by ear in silence, or every card rested."""
    if not rest:
        one = sitting(strings="543", quality="maj7", prompt="ear,ear-play")
        assert "answered by ear" in one.drill.nothing_to_ask
        return
    first = sitting(strings="543", quality="maj7", root="C")
    for card in gathered(strings="543", quality="maj7", root="C").cards:
        first.log.rest(card, first.clock())
    assert "neckwork wake" in sitting(strings="543", quality="maj7", root="C").drill.nothing_to_ask


def test_what_was_said_of_a_card_does_not_stand_under_the_counts(sitting):
    """A grade is taken back and the session left: the end says nothing of a grade to give again."""
    one = sitting(strings="543", quality="maj7")
    one.start()
    one.through_lessons()
    for _ in range(2):
        one.play("c")
    one.press("u")
    assert "Taken back" in " ".join(spoken(one.drill))
    one.press("q")
    assert one.state.phase is Phase.END and one.state.given
    assert "Taken back" not in " ".join(spoken(one.drill))


@pytest.mark.parametrize("root, said", [("B,C", "1 card does not fit"), ("B,C,Db", "2 cards do not fit"), ("B", "")])
def test_what_does_not_fit_is_said_before_the_first_card_drawn_and_spoken(sitting, root, said):
    """On a neck of 12 frets: D3 and B3 put maj7 on 4-3-2 from B at frets 8 to 12, from C to 13, from Db to 14."""
    one = sitting(strings="432", quality="maj7", root=root, neck=Neck(top_fret=12))
    drawn = " ".join(line.text for line in screen(one.drill, DiagramStyle(), 78, 23))
    for page in (drawn, " ".join(spoken(one.drill))):
        assert ("not fit this neck" in page) == bool(said) and said in page


@pytest.mark.parametrize("minutes, said", [(1.0, "1 minute, "), (2.0, "2 minutes, "), (0.5, "0.5 minutes, ")])
def test_one_minute_is_said_in_the_singular(sitting, minutes, said):
    """English grammar: the singular for exactly one."""
    one = sitting(strings="543", quality="maj7", minutes=minutes)
    assert any(line.startswith(said) for line in spoken(one.drill))


def test_new_sounds_are_counted_too(sitting):
    """A session of nothing but new sounds says so."""
    one = sitting(listener=Listener(), strings="543", quality="maj7,m7", prompt="ear")
    one.start()
    while one.state.met("ear") < 2:
        one.play()
    assert "2 new sounds met." in " ".join(ended(one))


def test_keys_pressed_without_playing_do_not_fill_the_plan(sitting):
    """A known card takes 8 seconds (rule A2, WP5): ten minutes hold at most 75, however fast the keys came."""
    one = sitting(strings="654,543,432")
    one.start()
    for _ in range(120):
        if one.state.over or one.state.phase.value == "music":
            break
        one.press("enter", seconds=0.5)
        if one.state.phase.value == "answer":
            one.press("t", seconds=0.5)
    assert len(one.state.given) > 50
    one.clock.tick(86_400)
    assert 40 < len(sitting(clock=one.clock).drill.preview) <= 75


def test_a_card_asked_again_in_a_sitting_is_no_new_first_try(sitting):
    """However often a card is asked in a sitting, it has at most one first try, and none on its lesson's day."""
    one = sitting(**NARROW)
    one.start()
    for key in "lclclclclc":
        one.play(key)
    asks = one.drill.asks_of_session()
    assert len(asks) == len(one.state.given) and len({given.card.id for given in one.state.given}) < len(asks)
    lessons = {review.card for review in one.log.reviews() if review.attempt == "repeat"}
    first = [given.card.id for given, ask in zip(one.state.given, asks, strict=True) if ask is Ask.FIRST_TRY]
    assert len(first) == len(set(first))
    new = {given.card.id for given, ask in zip(one.state.given, asks, strict=True) if ask is Ask.NEW_TODAY}
    assert new <= lessons and new.isdisjoint(first)


@pytest.mark.parametrize(
    ("now", "said"),
    [
        ("2031-05-06 23:50", "tomorrow"),
        ("2031-05-07 00:10", "later today"),
        ("2031-05-05 12:00", "Wednesday"),
        ("2031-04-29 12:00", "Wednesday 7 May"),
    ],
)
def test_the_next_day_is_named_as_the_calendar_names_it(now, said):
    """After midnight the practice day goes on till four; the next one then begins on the same date."""
    assert next_words(date(2031, 5, 7), datetime.fromisoformat(now)) == said


def test_nothing_is_said_of_a_day_that_is_not_known():
    """Who practises on no fixed day plays when they like."""
    assert next_words(None, datetime(2031, 5, 7, 12)) == "when you like"
