"""A session over a tune: what is asked, where it comes, what is said at the end, and the changes to play over."""

from __future__ import annotations

import io

import mido
import pytest
from sittings import Clock, Listener

from drills.cards.material import gather
from drills.changes.changes_source import changes_from
from drills.configuration.diagram_style import DiagramStyle
from drills.neck.neck import Neck
from drills.session.ending import end_lines
from drills.session.plain import spoken
from drills.session.screens import screen
from drills.session.session_tune import Tune
from drills.sound.midi import midi_bytes
from drills.tunes.tune_deck import tune_deck, tune_reader

BLUES = "blues-in-f"


def tune_sitting(sitting, changes=BLUES, starts=(5,), **options):
    page = changes_from(changes)
    material = gather(tune_deck(changes, starts=starts, title=page.title), Neck(), tune_reader=tune_reader())
    return sitting(material=material, tune=Tune(page, **options.pop("said", {})), **options)


def text(drill, width=80, height=24):
    return "\n".join(line.text for line in screen(drill, DiagramStyle(), width, height))


def test_string_sets_are_offered_from_the_lowest(sitting):
    """The path of G19 comes to 5-4-3, 4-3-2 and then 6-5-4; offered are 6-5-4 first, by string."""
    assert tune_sitting(sitting).state.sets == ("654", "543", "432")


def to_transition(one):
    """Plays until a transition is asked."""
    for _ in range(60):
        one.through_lessons()
        if one.state.card is None or one.state.card.to is not None:
            break
        one.play()
    assert one.state.phase.value == "prompt"
    return one.state.card


def test_the_first_day_of_a_tune(sitting):
    """Shapes and roots as lessons within their limits, joints of chords that are met, every card with its bars."""
    one = tune_sitting(sitting)
    one.start()
    while one.play() is not None:
        pass
    asked = [one.drill.material.cards[card] for card in one.shown]
    assert {card.to is not None for card in asked} == {True, False}
    assert all(card.context.startswith("bar") for card in asked)
    met = {skill for card in asked for skill in card.skills}
    assert sum(skill.startswith("form:") for skill in met) <= 2
    assert sum(skill.startswith("root:") for skill in met) <= 4
    played = {(card.chord, card.strings) for card in asked if card.to is None}
    assert all({(c.chord, c.strings), (c.to.chord, c.to.strings)} <= played for c in asked if c.to is not None)


@pytest.mark.parametrize(("width", "height"), [(80, 24), (40, 15), (132, 43)])
def test_a_transition_on_the_screen(sitting, width, height):
    """Both chords and both sets, the bars; then both shapes and the four grades, nothing cut."""
    one = tune_sitting(sitting)
    one.start()
    card = to_transition(one)
    asked = " ".join(text(one.drill, width, height).split())
    assert card.detail in asked and card.context in asked and "Play both, to the nearest root, then Enter" in asked
    one.press("enter", seconds=5)
    shown = text(one.drill, width, height)
    assert len(shown.splitlines()) <= height
    for chord in (card.chord.name, card.to.chord.name):
        assert f"{chord}, strings" in shown
    assert "Looked" in shown and "In time" in shown


def test_a_transition_in_words(sitting):
    """The screen reader hears both chords, the bars, and both shapes note by note."""
    one = tune_sitting(sitting)
    one.start()
    card = to_transition(one)
    assert card.context in " ".join(spoken(one.drill))
    one.press("enter", seconds=5)
    said = " ".join(spoken(one.drill))
    assert said.count("root, finger") >= 2 and said.count("position") == 2


def test_a_transition_is_heard_as_one(sitting):
    """The sound key plays the first shape and then the second."""
    listener = Listener()
    one = tune_sitting(sitting, listener=listener)
    one.start()
    card = to_transition(one)
    one.press("enter", "s", seconds=5)
    assert listener.asked[-1] == ("transition", card.chord.name, card.to.chord.name)


def test_the_end_names_the_joint_that_is_not_there_yet_and_the_stages(sitting):
    """After enough tries the joint that surely is not there yet, and where the ten stages stand."""
    clock = Clock()
    for _ in range(6):
        one = tune_sitting(sitting, "| Cm7 | F7 | Bbmaj7 |", (6,), clock=clock, said={"stages": "Stage 2 is open."})
        one.start()
        while not one.state.over:
            one.through_lessons()  # the grade is for the card that follows them
            hard = one.state.card is not None and one.state.card.call == "F7 to Bbmaj7"
            if one.play("l" if hard else "c") is None:
                break
        one.press("enter", seconds=60)
        clock.tick(86_400 - 700)
    said = end_lines(one.drill)
    weak = next(line for line in said if line.startswith("Not yet: going from"))
    assert "going from 7 to maj7, 1 string up, same fret, 0 of" in weak and "F7 to Bbmaj7, bars 2 to 3" in weak
    assert "Stage 2 is open." in said


def test_the_forecast_stands_on_the_first_page(sitting):
    """What will come clean by the day is said before the session, on the screen and aloud."""
    one = tune_sitting(sitting, said={"forecast": "By Sat 2026-03-07, about 3 of 17."})
    assert "By Sat 2026-03-07, about 3 of 17." in text(one.drill)
    assert "By Sat 2026-03-07, about 3 of 17." in spoken(one.drill)


def test_the_musical_minute_is_the_tune(sitting):
    """Whole choruses at the card's tempo, read back with mido: twelve bars of four at 60 after one of count-in."""
    listener = Listener()
    one = tune_sitting(sitting, listener=listener)
    one.start()
    while one.play() is not None:
        pass
    assert one.state.phase.value == "music"
    assert "k the tune with a click" in text(one.drill) and "over Twelve-bar blues in F" in text(one.drill)
    assert any("k the tune with a click" in line for line in spoken(one.drill))
    one.press("k")
    name, title, score = listener.asked[-1]
    assert (name, title) == ("tune", "Twelve-bar blues in F")
    played = mido.MidiFile(file=io.BytesIO(midi_bytes(score)))
    assert played.length == pytest.approx(13 * 4, abs=3)


def test_a_score_may_be_made_where_nobody_waits():
    """A function given to the player is called on its own thread, and what goes wrong there is said, not raised."""
    import threading

    from drills.sound.playback import Playback

    made = []

    def make():
        made.append(threading.current_thread().name)
        raise ValueError("no such chord")

    with Playback(find=list) as player:
        player.play(make)
        assert player.wait(5)
        assert made == ["sound"] and "no such chord" in player.take_notice()
