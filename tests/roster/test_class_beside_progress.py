"""A class's sheet beside each student's own progress: no figure and no claim contradicts another."""

import copy

import pytest

from tests.roster.class_beside_progress import a_class, beside, differences


@pytest.fixture(scope="module")
def both(tmp_path_factory):
    """Two students, one who lacks the roots of a string and one who lacks a form, on the sheet and by themselves."""
    room = tmp_path_factory.mktemp("class")
    return list(beside(room / "class", a_class(room / "class", 2, 300, 7000), room).values())


def test_the_sheet_and_every_student_s_own_progress_agree(both):
    """Counts of a week and of four, days, minutes, seconds, grades, slips, claims, and the figures of the cause counted
    again from progress; `python -m tests.roster.class_beside_progress` does the same for twenty."""
    assert [differences(one) for one in both] == [[], []]
    assert all("where it is needed" in " ".join(one.row.split()) for one in both)


@pytest.mark.parametrize("part", ["row", "page", "progress"])
def test_a_figure_that_differs_is_seen(both, part):
    """One clean try more on either side is named."""
    other = copy.copy(both[0])
    clean = other.told["week"]["clean"]
    text = getattr(other, part)
    setattr(other, part, text.replace(f"{clean} of", f"{clean + 1} of").replace("7 of 7", "6 of 7"))
    assert getattr(other, part) != text
    assert differences(other)
