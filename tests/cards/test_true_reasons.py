"""Every reason for what is left out says what is so: a sample, judged by a computation of its own.

`python -m tests.cards.reason_judge` judges all of them; reasons.md tells what it found.
"""

from __future__ import annotations

import re

import pytest

from drills.cards.deck import list_decks, read_deck
from drills.errors import NotPlayableError
from drills.neck.neck import Neck
from drills.neck.strings import parse_strings
from drills.neck.tuning import read_tunings
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import Form
from drills.theory.symbol import parse_chord
from tests.cards.reason_judge import CARD_REASONS, judge, judge_card, kind_of_reason, left_out, refusals

DECKS = {path.stem: path for path in list_decks(None)}
SAMPLE = [
    ("standard", "grips-drop2"), ("standard", "two-octaves"), ("drop-d", "grips-triads"), ("drop-d", "pentatonics"),
    ("seven-low-a", "grips-drop3"), ("bass", "scales-three-per-string"), ("ukulele", "set-432"),
    ("ukulele-low-g", "vocabulary"), ("mandolin", "grips-triads"), ("mandolin", "other-starts"),
]  # fmt: skip


@pytest.mark.parametrize(("tuning", "deck"), SAMPLE)
def test_every_reason_of_a_deck_on_a_tuning_is_so_and_a_changed_one_is_not(tuning, deck):
    """Each is judged true, and no longer once a number in it is one more: so the judge reads every number."""
    neck = Neck(read_tunings()[tuning].tuning)
    found = list(refusals(read_deck(DECKS[deck]), neck))
    assert found
    for chord, form, strings, reason in found:
        assert judge(chord, form, strings, neck, reason), reason
        said = kind_of_reason(reason)[1]
        for name, number in said.groupdict().items():
            if name == "set" or not number.isdecimal() or (name == "string" and len(strings.numbers) == 1):
                continue
            begin, end = said.span(name)
            other = reason[:begin] + str(int(number) + 1) + reason[end:]
            assert not judge(chord, form, strings, neck, other), (reason, other)


def refusal(chord, form, strings, neck):
    """The reason why a form is not to be had, judged true."""
    with pytest.raises(NotPlayableError) as raised:
        ShapeFinder(neck).find(chord, form, strings)
    assert judge(chord, form, strings, neck, str(raised.value))
    return str(raised.value)


def test_a_grip_that_needs_an_open_string_says_so():
    """And is found where open roots are allowed; before, its bass was said not to be on the string."""
    asked = parse_chord("G#dim"), Form("grip", voicing="close"), parse_strings("654")
    told = "G#dim on 6-5-4 at fret 4 would need an open string; open_roots allows that"
    assert refusal(*asked, Neck()) == told
    assert ShapeFinder(Neck(open_roots=True)).find(*asked)


def test_a_grip_within_reach_that_no_hand_holds_is_not_said_to_be_out_of_reach():
    """Frets 7 9 5 9 lie 100 mm apart; the two at fret 9 would both be the fourth finger's, over the one at 5."""
    asked = parse_chord("Cmaj7#5"), Form("grip", voicing="drop2", inversion=1), parse_strings("5432")
    said = "four fingers do not hold frets 7 9 5 9, though 100 mm is within reach"
    assert refusal(*asked, Neck()) == f"Cmaj7#5 on 5-4-3-2 at fret 5: {said}"
    assert "at fret 5: 100 mm is beyond the reach limit of 90 mm" in refusal(*asked, Neck(reach_limit_mm=90))
    assert "no E on string 5 at frets 9 to 12" in refusal(*asked, Neck(root_frets=(9, 12)))


@pytest.mark.parametrize(("tuning", "deck"), [("bass", "finding"), ("drop-d", "finding"), ("standard", "first")])
def test_a_kind_of_prompt_has_true_reasons_of_its_own(tuning, deck):
    """What a deck names on a neck is either the shape's own reason or one of these, and it is so."""
    neck = Neck(read_tunings()[tuning].tuning)
    read = read_deck(DECKS[deck])
    of_shapes = {reason for *_, reason in refusals(read, neck)}
    own = set(left_out(read, neck)) - of_shapes
    assert all(judge_card(reason, neck) for reason in own), own
    assert all(any(re.fullmatch(pattern, reason) for pattern in CARD_REASONS.values()) for reason in own)


def test_a_reason_of_a_kind_that_is_not_so_is_seen():
    """C7 fits on three sets of a guitar, and has a grip where its arpeggio lies."""
    for reason in ("C7 fits on fewer than two string sets", "C7 on 6-5-4: no grip there", "C7 on 6-5-4: no mode there"):
        assert not judge_card(reason, Neck())
