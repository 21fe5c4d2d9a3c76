"""Transitions: ids, skills and prompts of cards that go from one chord to the next.

Places and the joint ii-V-I at one fret are drills/RULES.md, G18; the rest is what an id and a skill
must be for logs of years.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.cards.material import gather
from drills.cards.prompts.transition import arpeggio_card, joint_skill, transition_card
from drills.errors import NotPlayableError
from drills.neck.neck import Neck
from drills.neck.strings import parse_strings
from drills.progress.card_parts import card_parts, kind_of_card, place_of
from drills.progress.skill_names import form_names, skill_name
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import ARPEGGIO
from drills.theory.chord import Chord
from drills.theory.note import Note
from drills.theory.quality import shipped_qualities

TABLE = shipped_qualities()
FINDER = ShapeFinder(Neck())
SETS = ("654", "543", "432")
SEVENTHS = ("maj7", "m7", "7", "m7b5", "dim7", "m6")


def chord(root, quality):
    return Chord(Note.parse(root), TABLE.named(quality))


def transition(before, strings, after, after_strings, **options):
    return transition_card(FINDER, before, parse_strings(strings), after, parse_strings(after_strings), **options)


def test_two_to_five_at_one_fret():
    """Rule G18: from C(6/8) to F(5/8), one string toward the first, same fret."""
    card = transition(chord("C", "m7"), "654", chord("F", "7"), "543", weight=2.0, context="bars 1 to 2")
    assert card.id == "E2A2D3G3B3E4/arpeggio/C/m7/654/transition-F-7-543"
    assert card.prompt == "Cm7 to F7, no gap: 6-5-4, then 5-4-3"
    assert card.skills[-1] == "joint:m7-7:1,0"
    first, second = (FINDER.find(each.chord, ARPEGGIO, each.strings) for each in (card, card.to))
    assert (first.root.string, first.root.fret, second.root.string, second.root.fret) == (6, 8, 5, 8)
    assert (card.weight, card.context, card.seconds) == (2.0, "bars 1 to 2", 18.0)


def test_a_transition_shares_its_skills_with_the_cards_of_its_chords():
    """Form and root skills are those of the two ordinary cards; only the joint is its own."""
    card = transition(chord("C", "m7"), "654", chord("F", "7"), "543")
    ordinary = [
        arpeggio_card(FINDER, chord("C", "m7"), parse_strings("654")),
        arpeggio_card(FINDER, chord("F", "7"), parse_strings("543")),
    ]
    shared = {s for each in ordinary for s in each.skills if not s.startswith("spell:")}
    assert set(card.skills) - shared == {"joint:m7-7:1,0"} and shared <= set(card.skills)
    assert card.to.id == ordinary[1].id == "E2A2D3G3B3E4/arpeggio/F/7/543/name"


def test_the_same_form_and_the_same_root_count_once():
    """C7 to F7 on like sets uses one form; Cmaj7 to Cm7 on one set uses one root."""
    fourth = transition(chord("C", "7"), "654", chord("F", "7"), "543")
    assert sum(skill.startswith("form:") for skill in fourth.skills) == 1
    there = transition(chord("C", "maj7"), "654", chord("C", "m7"), "654")
    assert sum(skill.startswith("root:") for skill in there.skills) == 1 and there.skills[-1] == "joint:maj7-m7:0,0"
    assert there.prompt.endswith("no gap: both on 6-5-4")


@given(
    st.sampled_from(SEVENTHS), st.sampled_from(SEVENTHS), st.sampled_from(SETS), st.sampled_from(SETS),
    st.integers(0, 11), st.integers(0, 11), st.integers(1, 11),
)  # fmt: skip
def test_the_joint_is_one_in_every_key(one, other, strings, after, root, onward, up):
    """Along the same strings, by the same fret move, the skill is the same whatever the key, and never else."""
    roots = [Note.parse(name) for name in ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")]

    def shapes(by):
        return [
            FINDER.find(Chord(roots[(at + by) % 12], TABLE.named(quality)), ARPEGGIO, parse_strings(on))
            for at, quality, on in ((root, one, strings), (onward, other, after))
        ]

    here, there = shapes(0), shapes(up)
    moves = [pair[1].root.fret - pair[0].root.fret for pair in (here, there)]
    assert (joint_skill(*here) == joint_skill(*there)) == (moves[0] == moves[1])


def test_a_transition_whose_shape_does_not_fit_is_refused_with_the_reason():
    """Rule G10: Em7 on 6-5-4 needs fret 15."""
    finder = ShapeFinder(Neck(top_fret=14))
    with pytest.raises(NotPlayableError, match="needs fret 15"):
        transition_card(finder, chord("A", "7"), parse_strings("543"), chord("E", "m7"), parse_strings("654"))


def test_progress_reads_a_transition_from_its_id():
    """It is a kind of its own, stands in no cell of set and quality, and gives no form a second name."""
    card = transition(chord("C", "m7"), "654", chord("F", "7"), "543")
    assert kind_of_card(card.id) == "transition" and place_of(card.id) is None
    assert card_parts(card.id).call == "Cm7 to F7, strings 6-5-4 to 5-4-3"
    same = transition(chord("C", "maj7"), "654", chord("C", "m7"), "654")
    assert card_parts(same.id).call == "Cmaj7 to Cm7, strings 6-5-4"
    assert skill_name(card.skills[-1], {}) == "going from m7 to 7, 1 string up, same fret"
    assert skill_name("joint:7-m7:-1,-2", {}) == "going from 7 to m7, 1 string down, 2 frets down"
    assert form_names([(card.id, card.skills)]) == {
        card.skills[0]: "m7 shape on 6-5-4", card.skills[1]: "7 shape on 5-4-3"
    }  # fmt: skip


def test_a_deck_with_changes_needs_someone_to_read_them():
    """`gather` says so instead of leaving the tune out in silence."""
    from drills.cards.deck import Block, Deck
    from drills.errors import DeckError

    with pytest.raises(DeckError, match="names changes"):
        gather(Deck("tune", "Tune", blocks=(Block(changes="| C7 |"),)), Neck())
