"""Sentences of a session that a player reads with the guitar in hand, word for word: common practice of teachers."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.cards.prompts.bare_diagrams import name_checker
from drills.cards.prompts.hearing import quality_checker
from drills.cards.prompts.spell import spelling_checker
from drills.configuration.diagram_style import DiagramStyle
from drills.errors import AnswerError
from drills.session.key_bindings import HELP
from drills.session.plain import spoken
from drills.session.screens import screen
from drills.theory.chord import Chord
from drills.theory.note import Note
from drills.theory.quality import shipped_qualities
from drills.theory.symbol import parse_chord

TABLE = shipped_qualities()
CHORDS = st.builds(
    Chord,
    st.builds(Note, st.integers(0, 6), st.integers(-1, 1)),
    st.sampled_from([quality for quality in TABLE if quality.tier]),
)


def lines(one, width=78, height=23):
    return [line.text for line in screen(one.drill, DiagramStyle(), width, height)]


def at_prompt(sitting, **focus):
    one = sitting(**focus)
    one.start()
    one.through_lessons()
    assert one.state.phase.value == "prompt"
    return one


def test_in_time_says_what_it_means(sitting):
    """On the prompt, and in lines."""
    one = at_prompt(sitting, strings="654", quality="maj7")
    assert "In time = one note a click at 60" in lines(one)
    assert "In time = one note a click at 60." in spoken(one.drill)


def test_a_slip_is_asked_about_the_last_card(sitting):
    """With the prompt after a card that was found, the keys after the question."""
    one = at_prompt(sitting, strings="654", quality="maj7")
    one.press("enter", "f", seconds=5)
    one.through_lessons()
    asked = "What slipped last time?  1 root  2 shape  3 fingering  4 time"
    assert asked in " ".join(lines(one, 118, 39))
    assert asked.replace("?  ", "? ").replace("  ", ", ") + "." in spoken(one.drill)


def test_the_words_of_a_card_say_where_it_is_met_and_what_b_means(sitting):
    """Maj7 usually is the I or the IV chord (common practice); b is one fret lower."""
    one = at_prompt(sitting, strings="654", quality="maj7")
    one.press("enter", seconds=5)
    one.press("w")
    said = " ".join(lines(one))
    assert "Usually the I or the IV chord." in said
    assert "Degrees, b = one fret lower: 1 " in said


@pytest.mark.parametrize("quality", [quality.name for quality in TABLE if quality.tier])
def test_where_each_chord_is_met_completes_a_sentence(quality):
    """``Usually`` and what the table says are one sentence without an abbreviation or a list of signs."""
    met = TABLE.named(quality).met
    assert met.startswith(("the ", "a ", "maj7#11 within")) and ";" not in met and not met.endswith(".")


def test_a_change_of_chord_says_both_sets_in_turn(sitting):
    """``Cm7 to F7, no gap: 6-5-4, then 5-4-3``; the place of the second is the nearest root (rule D1)."""
    one = sitting(deck="transitions")
    cards = [card for card in one.material.cards.values() if card.to is not None]
    assert cards
    for card in cards:
        names = f"{card.own_chord.name} to {card.to.own_chord.name}"
        sets = (
            f"both on {card.strings}" if card.to.strings == card.strings else f"{card.strings}, then {card.to.strings}"
        )
        assert card.prompt == f"{names}, no gap: {sets}"
    assert any(card.prompt.endswith(": 6-5-4, then 5-4-3") for card in cards)


def test_found_it_is_a_note_corrected():
    """The list of keys says what was put right."""
    assert any("a note corrected" in meaning for keys, meaning in HELP if keys.startswith("Down"))


@settings(max_examples=80, deadline=None)
@given(CHORDS, st.sampled_from(["hm", "X9", "C&", "7", "h7"]))
def test_what_is_no_chord_is_answered_with_two_examples_and_never_with_the_answer(chord, typed):
    """Neither the answer's name nor its quality nor its notes under another name stand in the message."""
    with pytest.raises(AnswerError) as refused:
        name_checker(chord, TABLE)(typed)
    message = str(refused.value)
    said = message.removeprefix("Type a chord's name, such as ").partition(";")[0].split(" or ")
    examples = [parse_chord(name) for name in said]
    assert len(examples) == 2 and message.endswith("is none.")
    assert all(example.quality != chord.quality for example in examples)
    assert all(example.pitch_classes != chord.pitch_classes for example in examples)


@settings(max_examples=60, deadline=None)
@given(CHORDS)
def test_what_is_no_quality_or_no_notes_is_never_answered_with_the_answer(chord):
    """Two other qualities where one was heard; the notes of another chord where notes were asked for."""
    with pytest.raises(AnswerError) as refused:
        quality_checker(chord, TABLE)("hm")
    examples = str(refused.value).removeprefix("Type a quality, such as ").partition(";")[0].split(" or ")
    assert len(examples) == 2 and chord.quality.name not in examples
    assert all(TABLE.named(name) for name in examples)
    with pytest.raises(AnswerError) as refused:
        spelling_checker(chord, TABLE)("hm & you")
    notes = str(refused.value).removeprefix("Type the notes from the root up, such as ").partition(".")[0]
    assert {Note.parse(name).pitch_class for name in notes.split()} != set(chord.pitch_classes)
