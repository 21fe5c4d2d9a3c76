"""Prompts by ear: heard when asked, again on a key, at the reveal; left out, and said so once, where nothing sounds."""

from __future__ import annotations

from sittings import Listener

from drills.configuration.diagram_style import DiagramStyle
from drills.session.screens import screen
from drills.session.session_state import Phase

NARROW = {"strings": "654", "quality": "maj7,m7"}


def shown(one):
    return "\n".join(line.text for line in screen(one.drill, DiagramStyle(), 80, 24))


def opened(sitting, prompt, **options):
    one = sitting(prompt=prompt, listener=Listener(), **NARROW, **options)
    one.start()
    one.through_lessons()
    return one


def test_an_ear_prompt_sounds_when_asked_and_again_on_a_key(sitting):
    """Chord and arpeggio sound with the prompt; Down lets them sound again; the name is not on the screen."""
    one = opened(sitting, "ear")
    name = one.state.card.chord.name
    heard = ("parts", f"grip {name}", f"arpeggio {name}")
    assert one.drill.listener.asked[-1] == heard
    assert name not in shown(one) and "Which quality" in shown(one).replace("which", "Which")
    one.press("down")
    assert one.drill.listener.asked[-1] == heard and one.state.phase is Phase.PROMPT
    one.press(*one.state.card.quality, "enter")
    assert one.state.verdict.line == f"Right: {name}."
    assert one.drill.listener.asked[-1] == ("stop",)


def test_a_first_sound_is_a_lesson(sitting):
    """A quality never heard is named and heard before it is asked."""
    one = sitting(prompt="ear", listener=Listener(), **NARROW)
    one.start()
    assert one.state.phase is Phase.LESSON
    assert f"A new sound: {one.state.card.quality}" in shown(one)
    assert one.drill.listener.asked[-1] == ("hear", one.state.card.chord.name)


def test_inner_hearing_shows_the_grip_and_sounds_the_arpeggio_at_the_reveal(sitting):
    """The grip is drawn and struck with the prompt, the arpeggio sounds with the answer, the player grades."""
    one = opened(sitting, "inner")
    name = one.state.card.chord.name
    assert one.drill.listener.asked[-1] == ("parts", f"grip {name}")
    assert not one.state.typing and "[1]" in shown(one)
    one.press("enter")
    assert one.state.phase is Phase.ANSWER
    assert one.drill.listener.asked[-1] == ("parts", f"arpeggio {name}")
    one.press("c")
    assert len(one.firsts()) == 1


def test_without_sound_ear_prompts_are_left_out_and_the_reason_is_said_once(sitting):
    """Only what can be asked in silence is asked; the first page says what is missing, no later one does."""
    one = sitting(prompt="ear,inner", **NARROW)
    assert "Sound is off: 24 prompts to be answered by ear are left out." in shown(one)
    one.start()
    assert "left out" not in shown(one)
    for _ in range(12):
        one.play()
        assert one.state.card is None or one.state.card.kind == "inner"


def test_a_machine_that_turns_out_silent_goes_on_without_ear_prompts(sitting):
    """When the first try at sounding fails, the prompt nobody heard gives way to another, ungraded."""
    one = opened(sitting, "ear,inner")
    while one.state.card.kind != "ear":
        one.press("enter", "c")
        one.through_lessons()
    graded = len(one.state.given)
    one.drill.listener.silent, one.drill.listener.news = True, "No way to play sound was found."
    one.drill.tick()
    assert one.state.card is None or one.state.card.kind == "inner"
    assert len(one.state.given) == graded


def test_nothing_but_ear_prompts_and_no_sound_ends_at_once_with_the_reason(sitting):
    """There is nothing to ask, and the page says why."""
    one = sitting(prompt="ear", **NARROW)
    assert "left out" in shown(one)
    one.press("enter")
    assert one.state.phase is Phase.END and one.state.given == ()


def test_the_reason_stands_on_the_page_with_the_plan(sitting):
    """On the very first start too, and it is gone after it."""
    one = sitting(prompt="ear,inner", caution=True, **NARROW)
    assert one.state.phase is Phase.START and "left out" in shown(one)
    one.press("enter")
    assert "left out" not in shown(one)
