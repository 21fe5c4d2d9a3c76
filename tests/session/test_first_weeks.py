"""Two days of one simulated player break no absolute rule, and the check finds every break that is planted."""

from __future__ import annotations

import pytest

from tests.session.first_weeks import PLAYERS, RULES, Day, Shown, breaks, play_days
from tests.session.weeks_in_terminal import play_weeks

ABSOLUTE = [rule for rule, kind in RULES.items() if kind == "absolute"]


def test_two_days_break_no_absolute_rule(tmp_path):
    """The slow player meets cards, misses some, and each rule holds (drills/RULES.md, B8)."""
    days = play_days(PLAYERS["slow"], 2, tmp_path)
    assert [len(day.shown) > 15 for day in days] == [True, True]
    assert any(one.key == "l" for day in days for one in day.shown)
    found = breaks(days)
    assert {rule: found[rule] for rule in ABSOLUTE} == dict.fromkeys(ABSOLUTE, 0)
    assert found["a second set of strings on day one"] == 0


@pytest.mark.long
def test_a_day_in_a_terminal_is_read_off_its_screens(tmp_path):
    """The program in a pseudo-terminal: what was read agrees with its log (else playing fails), and holds the rules."""
    [day] = play_weeks("slow", 1, tmp_path, told=lambda _: None)
    assert len(day.shown) > 15
    assert [line for line in day.said if line.startswith("At the end: 2 new shapes and 4 new roots met.")]
    assert {rule: breaks([day])[rule] for rule in ABSOLUTE} == dict.fromkeys(ABSOLUTE, 0)
    assert sum(day.kept.values()) > 20


def shown(number, lesson=False, form="form:a", fret=7, strings="6-5-4", reach=70.0, lowest=5):
    return Shown(
        f"card {number}", "C", strings, lesson, "" if lesson else "c", (form, f"root:{number}"), (f"root:{number}",),
        fret, lowest, reach,
    )  # fmt: skip


LESSON = [shown(0, lesson=True), shown(0)]
PLANTED = {
    "a root twice running at one place": [*LESSON, shown(1), shown(2)._replace(apart=("root:1",))],
    "more than two new shapes in a session": [shown(n, form=f"form:{n}", lesson=True) for n in range(3)],
    "more than four new roots in a session": [*LESSON, *(shown(n) for n in range(1, 5))],
    "a card asked again before two others": [*LESSON, shown(1), shown(0)],
    "five cards twice in one order": [*LESSON, *(shown(n % 5) for n in range(1, 10))],
    "asked before a lesson showed the shape": [*LESSON, shown(1, form="form:b")],
    "lessons running: two on day one, three later": [shown(0, lesson=True), shown(1, lesson=True)],
    "a shape's first three questions off frets 5 to 10": [*LESSON, shown(1, fret=4)],
    "a stretch over 100 mm in the first fortnight": [*LESSON, shown(1, reach=101.0)],
    "a second set of strings on day one": [*LESSON, shown(1, strings="5-4-3")],
    "an open string or frets 1 to 3 in the first ten days": [*LESSON, shown(1, lowest=0)],
    "one quality twice running on one set": [*LESSON, shown(1)],
}


@pytest.mark.parametrize("rule", PLANTED)
def test_a_planted_break_is_found(rule):
    """One day that breaks the rule once."""
    assert breaks([Day(0, PLANTED[rule], [], None, None)])[rule] == 1


def test_a_lesson_and_its_own_question_break_nothing():
    """The question on what a lesson showed follows it at the same root."""
    assert not +breaks([Day(0, LESSON, [], None, None)])


def test_a_session_that_begins_with_something_new_is_found_from_the_second_day_on():
    """The first day cannot begin otherwise."""
    days = [Day(0, LESSON, [], None, None), Day(1, [shown(1)], [], None, None)]
    assert breaks(days)["a session begun with a card not met before"] == 1
