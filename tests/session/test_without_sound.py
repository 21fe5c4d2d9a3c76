"""Where nothing can be heard no key for sound is offered, on no page and in no line; where it can, it is."""

from __future__ import annotations

import pytest
from sittings import Listener

from drills.configuration.diagram_style import DiagramStyle
from drills.session.plain import spoken
from drills.session.screens import screen
from drills.session.session_state import Phase

OFFERS = ("s hear", "k click", "k for the click", "s drone", "with a click", "(s)", "s: hear", "k: count-in")
"""How the keys that let something be heard are offered."""


def offers(drill) -> set[str]:
    """What of `OFFERS` the page of the moment holds, drawn large, drawn small and spoken."""
    pages = [screen(drill, DiagramStyle(), width, height) for width, height in ((78, 23), (130, 42), (38, 14))]
    said = [line.text for page in pages for line in page] + spoken(drill)
    return {offer for offer in OFFERS for text in said if offer in text}


def walk(one) -> tuple[set[str], set[Phase]]:
    """What is offered from the first page to the last, and the phases gone through."""
    found, phases = set(), set()
    for _ in range(400):
        phases.add(one.state.phase)
        found |= offers(one.drill)
        one.press("h")
        found |= offers(one.drill)
        one.press("x")
        if one.state.phase is Phase.END:
            break
        one.press("l" if one.state.phase is Phase.ANSWER else "enter", seconds=10)
    return found, phases


@pytest.mark.parametrize("prompt", ["name", "inner"])
@pytest.mark.parametrize("silent", [None, True], ids=["sound off", "no player"])
def test_no_key_for_sound_is_offered_in_silence(sitting, silent, prompt):
    """Caution, plan, lessons, prompts, answers, repeats, musical minute, end, and the list of keys on each."""
    listener = None
    if silent:
        listener = Listener()
        listener.silent = True
    one = sitting(listener=listener, strings="543", quality="maj7,m7", prompt=prompt)
    found, phases = walk(one)
    assert {Phase.LESSON, Phase.PROMPT, Phase.ANSWER, Phase.REPEAT, Phase.END} <= phases
    assert (Phase.MUSIC in phases) == (prompt == "name")  # what is sung has no musical minute
    assert found == set()


def test_away_from_the_guitar_a_new_sound_is_sung_not_played(sitting):
    """What is asked away from the guitar (decks/README.md, kinds of prompt) never tells the player to play."""
    one = sitting(strings="543", quality="maj7", prompt="inner")
    one.start()
    assert one.state.phase is Phase.LESSON
    (asked,) = [line for line in spoken(one.drill) if "new sound" in line]
    assert "Sing it" in asked and "Play" not in asked


def test_keys_for_sound_are_offered_where_it_can_be_heard(sitting):
    """Every one of them, in a session with lessons, a tempo, a sound to learn and a musical minute."""
    found = set()
    for prompt in ("name", "inner"):
        found |= walk(sitting(listener=Listener(), strings="543", quality="maj7,m7", prompt=prompt))[0]
    assert found == set(OFFERS)


def test_keys_for_sound_go_when_the_machine_turns_out_silent(sitting):
    """The first try fails: from the next drawing on they are not offered."""
    one = sitting(listener=Listener(), strings="543", quality="maj7", prompt="name")
    one.start()
    assert "s hear" in offers(one.drill)
    one.drill.listener.silent, one.drill.listener.news = True, "No sound: no player."
    one.drill.tick()
    assert offers(one.drill) == set()


@pytest.mark.parametrize(("forward", "back"), [("pagedown", "pageup"), ("right", "left")])
def test_two_keys_go_through_warm_up_and_musical_minute(sitting, forward, back):
    """Ten minutes with two keys: every phase of a second day is left by one of them."""
    one = sitting(caution=True, strings="543", quality="maj7,m7")
    for day in range(2):
        if day:
            one.clock.tick(86_400)
            one = sitting(clock=one.clock, strings="543", quality="maj7,m7")
        phases, tries = set(), 0
        while one.state.phase is not Phase.DONE and tries < 500:
            tries += 1
            phases.add(one.state.phase)
            one.press(back if one.state.phase is Phase.ANSWER and tries % 3 == 0 else forward, seconds=9)
        assert one.state.phase is Phase.DONE
        assert {Phase.WARM_UP, Phase.PROMPT, Phase.ANSWER, Phase.REPEAT, Phase.MUSIC, Phase.END} <= phases
