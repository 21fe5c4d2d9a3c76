"""Card ids and skills are what they were: a log names cards by them, for as long as it is kept."""

from __future__ import annotations

import pytest

from drills.neck.tuning import read_tunings
from tests.cards.card_digests import KEPT, Digest, deck_names, digests, kept, tune_names, write


@pytest.mark.parametrize("tuning", read_tunings())
def test_every_shipped_deck_has_the_ids_and_skills_it_had(tuning):
    """The digests of an earlier version, over every deck and tune on each shipped tuning."""
    before = kept()
    for today in digests(deck_names() + tune_names(), tuning):
        assert str(today) == str(before[today.deck, tuning])


def test_no_deck_and_no_tuning_that_was_shipped_is_gone():
    """What is kept covers exactly what is shipped: every deck and every tune on every tuning."""
    names = deck_names() + tune_names()
    assert kept().keys() == {(name, tuning) for name in names for tuning in read_tunings()}
    assert kept()["first", "standard"].cards == 144


def test_kept_digests_are_not_written_over_unasked(tmp_path):
    """Writing refuses where a file is, until it is told to replace it."""
    path = tmp_path / "digests.txt"
    first, second = Digest("first", "standard", 1, 0, "aa"), Digest("first", "standard", 2, 0, "bb")
    write(path, [first], replace=False)
    with pytest.raises(FileExistsError, match="--replace writes over them"):
        write(path, [second], replace=False)
    assert Digest.parse(path.read_text(encoding="utf-8").splitlines()[-1]) == first
    write(path, [second], replace=True)
    assert Digest.parse(path.read_text(encoding="utf-8").splitlines()[-1]) == second


def test_a_digest_line_reads_back_as_written():
    """Each kept line is the text of one digest."""
    lines = [line for line in KEPT.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    assert [str(Digest.parse(line)) for line in lines] == lines
