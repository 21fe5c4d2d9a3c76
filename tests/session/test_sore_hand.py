"""A hand that hurts stops the session; what stretched it is left out until it is brought back (drills/RULES.md, E)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sittings import gathered

from drills.cards.kinds import kind_of
from drills.cards.sore_hand import SORE_SUBJECT, SoreStretch, left_out_for, sore_ticket, stretch_of, stretches_in
from drills.configuration.diagram_style import DiagramStyle
from drills.session.ending import end_lines
from drills.session.plain import spoken
from drills.session.screens import screen
from drills.session.session_sentences import STOP_AND_ASK
from drills.session.session_state import Phase
from scheduler.log.events import Ticket

SOME = {"strings": "654,432", "quality": "maj7,m7"}


def at_a_card(sitting, **options):
    """A sitting with one grade given and the next card in hand."""
    one = sitting(**(SOME | options))
    one.start()
    one.play("c")
    assert one.state.card is not None
    return one


def tickets(one):
    """What the log says of the hand, oldest first."""
    bodies = [event.body for event in one.log.events()]
    return [body for body in bodies if isinstance(body, Ticket) and body.subject.startswith(SORE_SUBJECT)]


def reach(one, card) -> float:
    return one.material.answer(card).reach_mm


def test_the_session_stops_with_the_caution_and_the_log_keeps_it(sitting):
    """One key, no question asked; the grades stay, and no other ten is offered."""
    one = at_a_card(sitting)
    card, before = one.state.card, list(one.log.reviews())
    one.press("!")
    assert one.state.phase is Phase.END
    assert not one.state.offer
    assert list(one.log.reviews()) == before
    shape = one.material.answer(card)
    assert tickets(one) == [Ticket(f"hurt:{shape.signature}", f"{shape.reach_mm:.1f} {shape.name} on {shape.strings}")]
    said = " ".join(end_lines(one.drill))
    assert STOP_AND_ASK in said
    assert "a doctor or a hand therapist" in said
    assert "Next: when nothing hurts." in said
    assert "minute's rest" not in " ".join(spoken(one.drill))


def test_the_form_and_all_that_reaches_as_far_is_left_out_the_next_day(sitting):
    """Every card that stays reaches less; every card that is left out is of the form or reaches as far."""
    first = at_a_card(sitting)
    card = first.state.card
    first.press("!")
    later = sitting(clock=first.clock, **SOME)
    out = left_out_for(later.material, stretches_in(later.log.standing().tickets))
    form, limit = first.material.answer(card).signature, reach(first, card)
    for one in later.material.cards.values():
        wide = later.material.answer(one).signature == form or reach(later, one) >= limit - 0.05
        assert (one.id in out) == wide
    assert card.id in out
    assert 0 < len(out) < len(later.material.cards)


def test_the_rest_of_the_day_leaves_it_out_too(sitting):
    """The planner's own rules hold it from the moment of the key."""
    one = at_a_card(sitting)
    card = one.state.card
    one.press("!")
    assert not one.drill.planner.rules.allows(card.id)
    assert one.drill.left_out_for_it == sum(not one.drill.planner.rules.allows(card) for card in one.material.cards)


def test_a_wrong_key_is_taken_back(sitting):
    """u on that page brings everything back, and only then takes back a grade."""
    one = at_a_card(sitting)
    one.press("!", "u")
    assert one.state.phase is Phase.END
    assert not one.state.hurts
    assert stretches_in(one.log.standing().tickets) == ()
    assert all(map(one.drill.planner.rules.allows, one.material.cards))
    assert len(one.firsts()) == 1
    one.press("u")
    assert one.firsts() == []


def test_it_works_at_every_moment(sitting):
    """On every page of a session, paused, under the list of keys, and while a doubled key would rest."""
    for presses in ((), ("enter",), ("enter", "enter"), ("enter", "enter", "p"), ("enter", "enter", "h")):
        one = sitting(caution=True, **SOME)
        one.press(*presses, seconds=0.01)
        one.press("!", seconds=0.01)
        assert (one.state.phase, one.state.hurts) == (Phase.END, True), presses
        assert one.state.paused_s is None
        assert STOP_AND_ASK in " ".join(spoken(one.drill))


def test_before_anything_was_played_nothing_is_left_out(sitting):
    """It is still written down that the hand hurt."""
    one = sitting(**SOME)
    one.press("!")
    assert [ticket.value for ticket in tickets(one)] == [None]
    assert all(map(one.drill.planner.rules.allows, one.material.cards))
    assert "Left out" not in " ".join(end_lines(one.drill))


def test_while_an_answer_is_typed_the_sign_is_no_text(sitting):
    """No answer holds it; a card answered away from the guitar stretched nothing, and none of them is left out."""
    one = sitting(deck="away")
    one.start()
    one.through_lessons()
    assert one.state.typing
    one.press("!")
    assert one.state.hurts
    assert one.drill.left_out_for_it == 0


@pytest.mark.parametrize("size", [(38, 14), (58, 19), (78, 23)])
def test_in_every_window_the_caution_and_the_way_back_stand_whole(sitting, size):
    """Counts go before a word of it does."""
    one = at_a_card(sitting)
    one.press("!")
    shown = " ".join(line.text for line in screen(one.drill, DiagramStyle(), *size))
    assert STOP_AND_ASK in shown
    assert "neckwork wake hand brings it back." in shown
    assert "Enter leaves." in shown


@pytest.mark.parametrize("deck", ["first", "transitions", "finding", "away", "ear"])
def test_what_needs_no_hand_stays(deck):
    """However small the reach, cards away from the guitar and single notes are never left out; the rest all are."""
    material = gathered(deck)
    out = left_out_for(material, (SoreStretch("any", 0.1, ""),))
    for card in material.cards.values():
        if kind_of(card.kind).away:
            assert card.id not in out
        elif stretch_of(material, card) is not None:
            assert (card.id in out) == (stretch_of(material, card).reach_mm >= 0.1)


@given(st.text(max_size=12), st.text(max_size=20))
def test_what_a_strange_log_says_of_a_hand_is_passed_over(name, value):
    """A log may be anyone's: only a positive number of millimetres is a reach."""
    for stretch in stretches_in({SORE_SUBJECT + name: value, "seen:caution": "90 x"}):
        assert stretch.reach_mm > 0
        assert stretch.signature == name


@given(st.floats(0.1, 400), st.text("abc1+.-/", min_size=1, max_size=20))
def test_a_stretch_survives_the_log(reach_mm, signature):
    """Its ticket reads back as it was, to a tenth of a millimetre."""
    stretch = SoreStretch(signature, round(reach_mm, 1), "Cm7 on 5-4-3")
    assert stretches_in(dict([sore_ticket(stretch)])) == (stretch,)
