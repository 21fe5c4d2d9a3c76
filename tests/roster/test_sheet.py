"""The numbers of a student, the order of need, and what all find hard."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from random import Random

import pytest

from drills.errors import SettingsError
from drills.roster.folder import read_folder
from drills.roster.needs import need_words, one_thing
from drills.roster.page_of_one import student_sections
from drills.roster.roster_sheet import find_student, hard_for_all, make_sheet
from drills.roster.student import student
from scheduler.statistics.counts import Count


def test_a_student_is_added_up_over_seven_and_twenty_eight_days(send, played, said, today):
    """Days, tries, slips, questions and cards set aside are those of their days, repeats left out."""
    folder = send(
        "Student 1.json",
        played("m7", "432", "lfct", 0),
        played("m7", "432", "ct", 6),
        played("m7", "432", "lf", 7, slip="root"),
        played("7", "654", "cc", 27),
        played("7", "654", "llll", 28),
        played("m7", "432", "ccc", 0, later_s=600, attempt="repeat"),
        said("thumb on top?"),
        said(None, "7", "654", 1),
    )
    one = make_sheet(read_folder(folder), today).students[0]
    assert one.name == "Student 1"
    assert (one.days_of_7, one.days_away) == (2, 0)
    assert (one.week, one.month) == (Count(4, 6), Count(6, 10))
    assert one.places == {("6-5-4", "7"): Count(2, 2), ("4-3-2", "m7"): Count(4, 8)}
    assert one.slips == {("4-3-2", "m7"): {"root": 2}}
    assert one.grades == {"Looked": 2, "Found it": 2, "Clean": 4, "In time": 2}
    assert one.rested == 1
    assert [(q.card, q.text) for q in one.questions] == [("Cm7, strings 4-3-2", "thumb on top?")]
    assert one.minutes_of_7 == pytest.approx((4 + 2 + 3) * 0.5)


def test_a_card_missed_and_asked_again_four_times_counts_once(send, played, today):
    """Its first try of the day is the miss; the four clean answers after it the same day are no first tries."""
    folder = send("a.json", played("m7", "432", "lcccc", 1, one_card=True))
    one = make_sheet(read_folder(folder), today).students[0]
    assert (one.week, one.month) == (Count(0, 1), Count(0, 1))
    assert one.places == {("4-3-2", "m7"): Count(0, 1)}


def test_shapes_are_new_only_in_the_week_they_are_met(send, played, today):
    """A form practised before the last seven days is not new, however often it comes."""
    folder = send("a.json", played("m7", "432", "c", 8), played("m7", "432", "c", 1), played("7", "432", "c", 1))
    assert make_sheet(read_folder(folder), today).students[0].new_shapes == 1


def test_what_a_wrong_clock_put_after_today_is_not_counted(send, played, today):
    """A review of tomorrow changes no number of today."""
    folder = send("a.json", played("m7", "432", "cc", 1), played("m7", "432", "llll", -1))
    one = make_sheet(read_folder(folder), today).students[0]
    assert (one.month, one.days_of_7) == (Count(2, 2), 1)


def test_material_met_and_left_is_avoided_only_by_who_played(send, played, today):
    """Two weeks without a place count as avoiding it when something else was played meanwhile."""
    send("plays.json", played("7", "654", "c", 14), played("m7", "432", "c", 2))
    folder = send("away.json", played("7", "654", "c", 20))
    sheet = make_sheet(read_folder(folder), today)
    assert find_student(sheet, "Plays").avoided == (("6-5-4", "7"),)
    assert find_student(sheet, "away").avoided == ()


def test_released_material_never_met_is_named(send, played, today):
    """What the teacher's deck holds and the log does not is unmet, in the order of the deck."""
    folder = send("a.json", played("m7", "432", "c", 2))
    released = [("4-3-2", "m7"), ("5-4-3", "7"), ("4-3-2", "m7b5")]
    assert make_sheet(read_folder(folder), today, released={"a": tuple(released)}).students[0].unmet == tuple(
        released[1:]
    )


def test_who_needs_the_teacher_comes_first(send, played, said, today):
    """Questions and empty weeks lead, then the least certain to play clean; 2 stands before 10."""
    send("Student 10.json", played("m7", "432", "c" * 20, 1))
    send("Student 2.json", played("m7", "432", "c" * 20, 1))
    send("Student 3.json", played("m7", "432", "l" * 14 + "c" * 6, 1))
    send("Student 4.json", played("m7", "432", "c" * 30, 9))
    folder = send("Student 5.json", played("m7", "432", "c" * 19 + "f", 1), said("which finger?"))
    sheet = make_sheet(read_folder(folder), today)
    assert [one.name for one in sheet.students] == [
        "Student 5", "Student 4", "Student 3", "Student 2", "Student 10"
    ]  # fmt: skip


def test_why_a_student_stands_there_is_told_in_a_range(send, played, today):
    """The range of the counts that the order goes by, in the words of `progress`."""
    folder = send("Student 1.json", played("m7", "432", "llllllcccccccc", 1))
    (one,) = make_sheet(read_folder(folder), today).students
    assert need_words(one) == "8 of 14 clean, so 33 to 79 in 100"


def test_a_card_to_hear_bears_its_practice_day(send, played, today):
    """Played at half past midnight it counts for the evening before, as everything on the sheet does."""
    folder = send("Student 1.json", played("m7", "432", "c", 1, later_s=6.5 * 3600))
    (one,) = make_sheet(read_folder(folder), today).students
    assert [high.day for high in one.high] == [today - timedelta(days=1)]
    late_riser = replace(
        log := read_folder(folder).logs["Student 1"], days={log.state.reviews[0].id: today.toordinal()}
    )
    assert [high.day for high in student("Student 1", late_riser, today).high] == [today]  # by the student's own hour


def test_an_old_question_is_listed_and_moves_nobody_up(send, played, said, today):
    """drills/RULES.md, F3: sorted by who needs the teacher; a question leads for the week in which it was asked."""
    send("asked.json", played("m7", "432", "c" * 20, 1), said("which finger?", days_ago=7))
    send("weak.json", played("m7", "432", "l" * 14 + "c" * 6, 1))
    folder = send("asks.json", played("m7", "432", "c" * 20, 1), said("which finger?", days_ago=6))
    students = make_sheet(read_folder(folder), today).students
    assert [one.name for one in students] == ["asks", "weak", "asked"]
    assert [q.text for q in students[2].questions] == ["which finger?"]


def test_the_one_thing_names_place_count_and_slip(send, played, today):
    """The place to watch with the slip named most; with as few tries as a lesson has, nothing is singled out."""

    def history(times):
        return (
            played("m7b5", "432", "cc" * times, 1),
            played("m7b5", "432", "llff" * times, 1, skip=2 * times, slip="root"),
            played("m7b5", "432", "l" * times, 1, skip=6 * times, slip="time"),
            played("7", "654", "cccccl" * times, 1),
        )  # fmt: skip

    one = make_sheet(read_folder(send("a.json", *history(8))), today).students[0]
    assert one_thing(one) == "m7b5 on 4-3-2, clean 16 of 56; mostly finding the root, 32 of 40 named"
    few = make_sheet(read_folder(send("a.json", *history(1))), today).students[0]
    assert one_thing(few) == "nothing stands out"


@pytest.mark.parametrize(
    ("grades", "days_ago", "expected"),
    [
        ("c" * 40, 1, "hear five cards: nearly all are graded Clean or In time, 40 of 40"),
        ("c" * 30, 9, "begin again: last played 9 days ago"),
        ("lll", 1, "too few tries to say"),
        ("", 1, "nothing played yet"),
        ("c" * 10, 1, "nothing stands out"),
        ("c" * 38 + "l", 1, "nothing stands out"),
    ],
)
def test_the_one_thing_claims_no_more_than_the_tries(send, played, today, grades, days_ago, expected):
    """Grades too good are to be heard; three tries say nothing."""
    folder = send("a.json", played("m7", "432", grades, days_ago))
    assert one_thing(make_sheet(read_folder(folder), today).students[0]) == expected


def test_what_nearly_all_play_worse_than_their_rest_is_hard_for_the_class(send, played, today):
    """Six of six below by their own rest are more than chance (1 of 64); five of six (7 of 64) are not."""
    for number in range(6):
        hard = "lllcc" if number else "lllll"
        folder = send(f"{number}.json", played("7", "654", "lccccc", 1), played("m7b5", "432", hard, 1))
    shared = make_sheet(read_folder(folder), today).shared
    assert (shared.place, shared.below, shared.tried, shared.count) == (("4-3-2", "m7b5"), 6, 6, Count(10, 30))
    assert shared.words == (
        "Hard for the class: m7b5 on 4-3-2, 10 of 30 clean; all 6 who tried it play it clean less often than the rest "
        "of what they play."
    )
    send("0.json", played("7", "654", "lccccc", 1), played("m7b5", "432", "ccccc", 1))
    assert make_sheet(read_folder(folder), today).shared is None
    send("0.json", played("7", "654", "lccccc", 1), played("m7b5", "432", "llll", 1))  # four tries say nothing
    assert make_sheet(read_folder(folder), today).shared is None


def test_no_place_is_hard_for_a_class_to_which_all_are_alike():
    """Of classes of twenty whose chance is .6 at each of nine places 5 in 100 at most name one."""
    rng = Random(1710)
    named = 0
    for _ in range(400):
        students = [
            {(on, q): Count(sum(rng.random() < 0.6 for _ in range(8)), 8) for on in "abc" for q in "xyz"}
            for _ in range(20)
        ]
        named += hard_for_all(students) is not None
    assert named <= 20


def test_one_student_alone_makes_nothing_common(send, played, today):
    """What a single student finds hard is not called hard for all."""
    folder = send("a.json", played("7", "654", "llllll", 1))
    assert make_sheet(read_folder(folder), today).shared is None


def test_an_unknown_student_is_answered_with_those_there_are(send, played, today):
    """The error repeats the name asked for and lists the folder's."""
    folder = send("Student 1.json", played("7", "654", "l", 1))
    with pytest.raises(SettingsError, match=r"'Student 9': no such file.*Student 1"):
        find_student(make_sheet(read_folder(folder), today), "Student 9")


def test_a_student_page_stays_one_page(send, played, today):
    """Forty places released and never met are named a line a string set."""
    folder = send("a.json", played("m7", "432", "c", 0))
    released = [(strings, f"q{n}") for strings in ("6-5-4", "5-4-3") for n in range(20)]
    one = make_sheet(read_folder(folder), today, released={"a": tuple(released)}).students[0]
    sections = dict(student_sections(one, today))
    assert len(sections["Released and not met"]) == 2
    assert sections["Released and not met"][1].startswith("5-4-3: q0, q1, ")
    assert sections["This week"][0] == "Days played: 1 of 7 (0 minutes); last played: today"
    minute = dict(student_sections(replace(one, minutes_of_7=1.2), today))["This week"][0]
    assert minute == "Days played: 1 of 7 (1 minute); last played: today"


def test_a_student_page_says_what_there_is_and_nothing_else(send, played, said, today):
    """Headings without anything under them are left out; the cards to hear are drawn once a day."""
    folder = send("a.json", played("m7b5", "432", "lllcc", 1, slip="shape"), said("why?", "m7b5"))
    one = make_sheet(read_folder(folder), today).students[0]
    sections = dict(student_sections(one, today))
    assert sections["Slips named in 28 days"] == ["m7b5 on 4-3-2: remembering the shape 5"]
    assert sections["What the counts say"] == [
        "Nothing stands out: no place and no roots are surely below the rest since 13 May."
    ]
    assert sections["Questions"] == ["Cm7b5, strings 4-3-2: why?"]
    assert sorted(sections["To hear: 2 that the student graded high"]) == [
        "Bbm7b5, strings 4-3-2: Clean on 13 May; heard: ________",
        "Dm7b5, strings 4-3-2: Clean on 13 May; heard: ________",
    ]
    assert "Set aside by the student" not in sections
    assert student_sections(one, today) == student_sections(one, today)
