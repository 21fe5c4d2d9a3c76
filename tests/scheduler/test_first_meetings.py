"""The pace at which new material is met: lessons running on, and one thing at a time on a first practice day."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler import CardSpec, Grade, Planner, Review, TeachingRules
from scheduler.errors import RulesError

START = datetime(2026, 1, 5, 18, 0, tzinfo=UTC)
PACED = TeachingRules(
    in_stage_order=False, new_per_session={"form": 2, "root": 4}, shown_kinds=frozenset({"form", "root"}),
    lessons_running=(1, 2), one_at_a_time={"form": 2},
)  # fmt: skip


def deck(forms=4, roots=5, told=("root",)):
    return [
        CardSpec(f"{f}/{r}", (f"form:{f}", f"root:{r}"), apart=(f"root:{r}",), told=told)
        for f in range(forms)
        for r in range(roots)
    ]


def sit(planner, day, count, grades):
    """Plays a session as a player would see it: (what was done, card id, kinds of what was new) in order."""
    session, at, steps = f"day {day}", START + timedelta(days=day), []
    planner.begin(session, at)
    for number in range(count):
        card = planner.next(at)
        if card is None:
            break
        new = tuple(skill.partition(":")[0] for skill in planner.new_skills(card))
        shown = planner.lesson_kinds(card, at)
        grade = Grade.FOUND if shown else next(grades)
        planner.record(
            Review(card, grade, at, 4.0, "repeat" if shown else "first", planner.card(card).skills,
                   session=session, id=f"{session} {number}")
        )  # fmt: skip
        steps.append(("lesson" if shown else "asked", card, new))
        at += timedelta(seconds=25)
    return steps


def longest_run(steps):
    longest = running = 0
    for what, *_ in steps:
        running = running + 1 if what == "lesson" else 0
        longest = max(longest, running)
    return longest


@settings(max_examples=25)
@given(seed=st.integers(0, 10**6), missed=st.integers(0, 4))
def test_a_first_day_brings_one_new_thing_at_a_time(seed, missed):
    """A form shown, asked at a second root and at a third, and then the next form, whatever is gained or missed."""
    planner = Planner(deck(), seed, (), PACED)
    grades = iter([Grade.LOOKED if n % 5 < missed else Grade.CLEAN for n in range(99)])
    steps = sit(planner, 0, 14, grades)
    assert [what for what, *_ in steps[:4]] == ["lesson", "asked", "asked", "lesson"]
    assert [set(new) for *_, new in steps[:4]] == [{"form", "root"}, {"root"}, {"root"}, {"form"}]
    assert longest_run(steps) == 1
    assert sum("form" in new for *_, new in steps) == 2
    later = sit(planner, 1, 14, grades)
    assert longest_run(later) <= 2


def test_two_lessons_run_on_after_the_first_day_and_never_three():
    """Where every card needs a lesson, the rule shows: without it they would run on."""
    cards = [CardSpec(f"{n}", (f"form:{n}",)) for n in range(30)]
    free = TeachingRules(in_stage_order=False, shown_kinds=frozenset({"form"}))
    runs = {}
    for name, most in (("free", (0, 0)), ("ruled", (1, 2)), ("wider", (3, 4))):
        planner = Planner(cards, 0, (), TeachingRules(
            in_stage_order=False, shown_kinds=free.shown_kinds, lessons_running=most
        ))  # fmt: skip
        runs[name] = [longest_run(sit(planner, day, 12, iter([Grade.CLEAN] * 99))) for day in range(2)]
    assert runs["ruled"] == [1, 2]
    assert runs["wider"] == [3, 4]
    assert min(runs["free"]) > 3


def test_a_deck_of_lessons_only_is_still_asked():
    """With one card met, it is asked at once and no second lesson comes before; a deck of one card goes on too."""
    cards = [CardSpec(f"{n}", (f"ear:{n}",)) for n in range(3)]
    rules = TeachingRules(in_stage_order=False, shown_kinds=frozenset({"ear"}), lessons_running=(1, 2))
    steps = sit(Planner(cards, 0, (), rules), 0, 6, iter([Grade.CLEAN] * 9))
    assert [what for what, *_ in steps[:4]] == ["lesson", "asked", "lesson", "asked"]
    alone = sit(Planner(cards[:1], 0, (), rules), 0, 3, iter([Grade.CLEAN] * 9))
    assert [what for what, *_ in alone] == ["lesson", "asked", "asked"]


def test_what_can_be_told_is_shown_on_later_days_and_where_a_lesson_is_due_anyway():
    """On the first day a new root is told with the question; with a new form, or on another day, a lesson shows it."""
    planner = Planner(deck(), 0, (), PACED)
    assert planner.lesson_kinds("0/0", START) == ("form", "root")
    planner.record(Review("0/0", Grade.FOUND, START, 4.0, "repeat", ("form:0", "root:0"), session="s", id="a"))
    assert planner.lesson_kinds("0/1", START) == ()
    assert planner.lesson_kinds("1/0", START) == ("form",)
    assert planner.first_day(START)
    tomorrow = START + timedelta(days=1)
    assert not planner.first_day(tomorrow)
    assert planner.lesson_kinds("0/1", tomorrow) == ("root",)
    untold = Planner(deck(told=()), 0, (), PACED)
    untold.record(Review("0/0", Grade.FOUND, START, 4.0, "repeat", ("form:0", "root:0"), session="s", id="a"))
    assert untold.lesson_kinds("0/1", START) == ("root",)


@pytest.mark.parametrize("wrong", [{"lessons_running": (-1, 2)}, {"one_at_a_time": {"form": -1}}])
def test_a_number_out_of_range_is_refused_by_name(wrong):
    """The message names the field and what came."""
    with pytest.raises(RulesError, match=next(iter(wrong))):
        TeachingRules(**wrong)
