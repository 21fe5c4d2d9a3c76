"""A player who does not know a card says so with one key, and no other key changes a grade given before."""

from __future__ import annotations

from dataclasses import replace

import pytest

from drills.configuration.diagram_style import DiagramStyle
from drills.session.card_screens import grade_lines
from drills.session.key_bindings import HELP, LOOK_REST_S
from drills.session.screens import screen
from scheduler.grade import Grade


def at_a_prompt(sitting, after=(), **options):
    """A sitting at a prompt that has rested, some cards graded before."""
    one = sitting(**options)
    one.start()
    for key in after:
        one.play(key)
    one.through_lessons()
    assert one.state.phase.value == "prompt"
    return one


@pytest.mark.parametrize("key", ["left", "l"])
def test_one_key_shows_the_answer_and_is_looked(sitting, key):
    """Reveal and grade in one press: the card in hand is Looked, at the time of the press; the grade before stays."""
    one = at_a_prompt(sitting, after="c")
    card = one.state.card
    one.press(key, seconds=4)
    assert one.state.phase.value == "repeat"
    before, last = one.firsts()
    assert before.grade is Grade.CLEAN
    assert (last.card, last.grade, last.seconds) == (card.id, Grade.LOOKED, 4.0)
    assert last.spent == 4.0


def test_it_is_undone_as_any_grade(sitting):
    """u takes it out of the log and the memory and asks for the grade again."""
    one = at_a_prompt(sitting)
    before, memory, card = list(one.log.reviews()), one.drill.planner.snapshot(), one.state.card
    one.press("l")
    one.press("u")
    assert list(one.log.reviews()) == before
    assert one.drill.planner.snapshot() == memory
    assert one.state.phase.value == "answer"
    assert one.state.card is card


@pytest.mark.parametrize("key", ["left", "l"])
def test_a_doubled_press_never_fails_the_next_card(sitting, key):
    """A placement goes from a miss straight to the next prompt: there the key rests for 700 ms, and works after it."""
    one = at_a_prompt(sitting, kind="placement")
    one.press("enter", seconds=3)
    one.press(key, seconds=1)
    assert one.state.phase.value == "prompt"
    one.press(key, seconds=LOOK_REST_S - 0.05)
    assert len(one.firsts()) == 1
    one.press(key, seconds=LOOK_REST_S)
    assert [review.grade for review in one.firsts()] == [Grade.LOOKED, Grade.LOOKED]


def test_where_an_answer_is_typed_it_is_text_or_nothing(sitting):
    """l is a letter of the answer, Left does nothing."""
    one = at_a_prompt(sitting, deck="away")
    assert one.state.typing
    one.press("left", "l", seconds=3)
    assert one.state.phase.value == "prompt"
    assert one.state.typed == "l"
    assert one.firsts() == []


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("", "There is no grade to raise yet."),
        ("f", "Found it stays: only Looked and Clean are raised."),
        ("t", "In time stays: only Looked and Clean are raised."),
        ("c", "raised to In time."),
        ("l", "raised to Found it."),
    ],
)
def test_page_up_alone_raises_and_says_what_it_did(sitting, given, said):
    """On every prompt it says what became of the last grade, or why nothing did."""
    one = at_a_prompt(sitting, after=given)
    grades = [review.grade for review in one.firsts()]
    one.press("pageup", seconds=3)
    assert one.state.note.endswith(said)
    raised = said.startswith("raised")
    assert [review.grade for review in one.firsts()] == [Grade(grade + raised) for grade in grades]
    assert one.state.phase.value == "prompt"


@pytest.mark.long
def test_the_list_of_keys_holds_every_key_that_does_something(sitting):
    """Every character of a keyboard and every named key, pressed at every moment of a session."""
    named = {
        "enter": "Enter", "right": "Right", "left": "Left", "up": "Up", "down": "Down", "pageup": "Page Up",
        "pagedown": "Page Down", " ": "Space", "escape": "Escape", "tab": "Tab", "backspace": "Backspace",
    }  # fmt: skip
    listed = {word for keys, _ in HELP for word in keys.replace(",", " ").split()}
    text = " ".join(f"{keys}: {meaning}" for keys, meaning in HELP)
    for key in [*map(chr, range(32, 127)), *named, "home", "end", "delete", "insert", "f1"]:
        if (named.get(key, "") in text and key in named) or key in listed:
            continue
        one = sitting(caution=True)
        while not one.state.over:
            before = one.state
            one.drill.press(key)
            if key.isdecimal() and key <= "9" and key > "0":
                break  # 1 to 9 choose a string set before the first card, as the list says
            same = {"last_key": before.last_key, "last_key_s": before.last_key_s, "rest_s": before.rest_s, "note": ""}
            assert _but(one.state, same) == _but(before, same), key
            one.clock.tick(60)
            one.drill.press("c" if one.state.phase.value == "answer" else "enter")


def _but(state, changes):
    return replace(state, **changes)


def test_the_grades_are_drawn_where_their_keys_lie():
    """Up stands over Down, Left and Right at the sides, each with its word; one row where there is no room."""
    for width, plain in ((78, False), (78, True), (38, False), (38, True)):
        up, middle, down = (line.text for line in grade_lines(width, 3, plain))
        assert up.strip().endswith("In time")
        assert down.strip().endswith("Found it")
        left, right = middle.index("Looked"), middle.index("Clean")
        for row in (up, down):
            text = row.strip()
            assert left + len("Looked") < row.index(text)
            assert row.index(text) + len(text) < right
        (one_row,) = grade_lines(width, 2, plain)
        assert all(grade.label in one_row.text for grade in Grade)
        assert len(one_row.text) <= width


def test_the_last_row_of_an_answer_that_is_told_is_kept_in_a_small_window(sitting):
    """The grades take three rows only where the fingers and the words under the drawing keep theirs."""
    for width, height in ((38, 14), (58, 19), (78, 23), (118, 39)):
        one = at_a_prompt(sitting)
        one.press("enter", seconds=3)
        rows = [line.text for line in screen(one.drill, DiagramStyle(), width, height)]
        assert any("finger " in row for row in rows)  # in a large window at the right of the drawing
        assert any("Looked" in row for row in rows)
        above = [row for row in rows if row.strip().endswith("In time") and "Looked" not in row]
        assert len(above) == 1 or height < 19
