"""The cause of a student's misses: simulated students with one planted cause, and classes without any."""

from __future__ import annotations

from dataclasses import replace

import pytest

from drills.progress.player_causes import cause_groups
from tests.roster.planted_causes import cause_named, class_with_a_gap, falsely_named_roster, practised

STUDENTS = 20


@pytest.mark.parametrize(("kind", "least"), [("roots", 15), ("spelling", 14)])
def test_a_planted_cause_is_named_right(kind, least):
    """The small share of planted_causes.md that runs each time; of twenty, as many as its table lets expect and two
    fewer."""
    right = 0
    for seed in range(STUDENTS):
        reviews, planted = practised(seed, kind)
        cause = cause_named(reviews)
        right += cause is not None and planted in cause.groups
    assert right >= least


def test_nobody_of_a_class_without_a_cause_is_named():
    """Two classes of twenty, in one of which the cards differ by themselves."""
    assert not falsely_named_roster(1)
    assert not falsely_named_roster(2, spread=0.5)


def test_a_group_holds_those_who_lack_it_and_nobody_else():
    """Three of six lack the roots of one string: they make the one group."""
    lacking, names, groups = class_with_a_gap(3, lacking=3, others=3)
    assert len(names) == 6
    assert [set(group.names) for group in groups] == [lacking]


def test_the_root_is_the_cause_where_the_misses_stand_at_one_quality_and_their_slips_say_root():
    """Of a student who misses m7 everywhere and names the root each time no shape is made the cause."""
    reviews, _ = practised(3, "spelling", 400)
    named = [one if one.grade.clean else replace(one, slip="root") for one in reviews]
    cause = cause_named(named)
    assert cause.kind == "slip" and cause.slip == "root"
    missed = sum(not one.grade.clean for one in named)
    assert cause.line == f"finding the root, as {missed} of {missed} slips named say"


def test_skills_tell_the_groups():
    """String with its open pitch, form, quality or mode of a spelling, and changes of chord."""
    skills = ("root:Bb@10B1", "form:arpeggio/0+0.1-1", "spell:Bbm7b5", "spell:F#-dorian", "joint:m7-7:1,0", "ear:m7")
    assert cause_groups(skills) == {
        ("roots", "10B1"), ("form", "form:arpeggio/0+0.1-1"), ("spelling", "m7b5"), ("spelling", "dorian"),
        ("time", ""),
    }  # fmt: skip
