"""Prompts that take a typed answer: letters are text, a machine judges, the player may overrule."""

from __future__ import annotations

from drills.session.plain import spoken
from drills.session.state import Verdict
from drills.session.terminal import run_lines
from scheduler.grade import Grade

NARROW = {"strings": "654", "quality": "maj7"}


def judge(card, typed, seconds):
    right = typed.lower() == card.chord.name.lower()
    quick = seconds < 10
    grade = Grade.IN_TIME if right and quick else Grade.CLEAN if right else Grade.LOOKED
    return Verdict(grade, f"{card.chord.name}: {'right' if right else 'not ' + typed}.")


def typing(sitting, **options):
    one = sitting(typed=lambda _: True, check=judge, **NARROW, **options)
    one.start()
    one.through_lessons()
    assert one.state.typing
    return one


def test_letters_are_text_and_enter_hands_in(sitting):
    """q, u, n and the digits are typed, not obeyed; Backspace takes one back; Enter takes the verdict."""
    one = typing(sitting)
    name = one.state.card.chord.name
    one.press(*"qun1", *["backspace"] * 4, seconds=0.1)
    one.press(*name, "enter", seconds=0.1)
    assert one.state.verdict == Verdict(Grade.IN_TIME, f"{name}: right.")
    one.press("enter")
    assert [review.grade for review in one.firsts()] == [Grade.IN_TIME]


def test_a_double_letter_is_not_a_held_key(sitting):
    """The same letter twice within a moment is two letters."""
    one = typing(sitting)
    one.press(*"ff", seconds=0.05)
    assert one.state.typed == "ff"


def test_the_player_overrules_with_one_key(sitting):
    """Whatever the machine thought, a grade key says otherwise."""
    one = typing(sitting)
    one.press(*"X9", "enter")
    assert one.state.verdict.grade is Grade.LOOKED
    assert "not X9" in spoken(one.drill)[0]
    one.press("f")
    assert [review.grade for review in one.firsts()] == [Grade.FOUND]


def test_with_nothing_typed_the_player_grades(sitting):
    """An empty answer is an ordinary reveal: pedals alone can play these prompts too."""
    one = typing(sitting)
    one.press("pagedown")
    assert one.state.verdict is None
    one.press("pagedown")
    assert [review.grade for review in one.firsts()] == [Grade.CLEAN]


def test_tab_passes_and_escape_stops(sitting):
    """The two keys that are never text."""
    one = typing(sitting)
    first = one.state.card
    one.press(*"ab", "tab")
    one.through_lessons()
    assert one.state.card is not first
    assert one.state.typed == ""
    one.press("escape")
    assert one.state.phase.value in ("end", "done")


def test_typed_answers_work_in_lines(sitting):
    """In spoken lines the whole line is the answer, Enter takes the verdict, and quit still stops."""
    one = typing(sitting)
    lines = iter([one.state.card.chord.name, "", "", "", "quit", "", ""])

    def read():
        one.clock.tick(3)
        try:
            return next(lines)
        except StopIteration:
            raise EOFError from None

    said = []
    run_lines(one.drill, read, said.append)
    assert any(line.endswith(": right.") for line in said)
    assert len(one.firsts()) >= 1
