"""Prompts by ear, and from one chord to the next.

Joints are checked against the rules' table of root moves (D1) and its examples; qualities by their symbols.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.cards.card import Card
from drills.theory.key import parse_key
from drills.theory.note import Note

sys.path.insert(0, str(Path(__file__).parent))
from prompt_cards import TABLE, asked, cards_of, right

EARS = cards_of("ear", deck="fourteen")
TRANSITIONS = cards_of("transition")

# Rule D1, "up a 4th": from strings 6 and 5 to the next at the same fret, from 4 to string 5, two frets down.
UP_A_FOURTH = {6: (5, 0), 5: (4, 0), 4: (5, -2)}


@given(st.sampled_from(sorted(EARS.cards)), st.data())
def test_a_quality_is_named_by_any_of_its_symbols(card_id, data):
    """The symbol alone or after any root is right, since only the quality was to be heard; another quality is not."""
    question, quality = asked(EARS, card_id), EARS.cards[card_id].chord.quality
    symbol = data.draw(st.sampled_from([one for one in quality.symbols if one]))
    root = data.draw(st.sampled_from(["", "C", "F#", "Bb"]))
    other = data.draw(st.sampled_from([one for one in TABLE if one is not quality and one.symbol]))
    assert right(question, root + symbol)
    assert not right(question, root + other.symbol)


@pytest.mark.parametrize("kind", ["ear", "ear-play", "inner"])
def test_what_is_heard_sounds_the_chord_of_the_card(kind):
    """Grip first; every key that sounds is a chord tone, and the card is about that chord's sound."""
    cards = cards_of(kind)
    for card_id, card in cards.cards.items():
        question = asked(cards, card_id)
        assert question.heard[0].form.kind == "grip"
        for shape in (*question.heard, *question.sounded):
            assert {note.midi % 12 for note in shape.notes} == card.chord.pitch_classes
        assert f"ear:{card.quality}" in card.skills
    assert bool(question.sounded) is (kind == "inner")


def test_the_name_is_not_told_before_it_is_asked():
    """The prompt of an ear card names no chord; the one to be played names its root only."""
    for card in EARS.cards.values():
        assert card.prompt == "Listen, which quality?"
    card = cards_of("ear-play").cards["E2A2D3G3B3E4/arpeggio/Bb/m7/543/ear-play"]
    assert card.prompt == "Listen: Bb, strings 5-4-3: play what you hear"


def test_transitions_go_up_a_fourth_by_the_nearest_root():
    """Each root moves as the rules' table has it, wherever the neck has room there."""
    followed = 0
    for card in TRANSITIONS.cards.values():
        before, after = asked(TRANSITIONS, card.id).shapes
        assert (after.chord.root.pitch_class - before.chord.root.pitch_class) % 12 == 5
        string, frets = UP_A_FOURTH[before.root.string]
        if 1 <= before.root.fret + frets <= 12:
            assert (after.root.string, after.root.fret) == (string, before.root.fret + frets), card.prompt
            followed += 1
    assert followed >= 100


def test_cm7_to_f7():
    """Rule D1: Cm7 C(6/8) to F7 F(5/8); the joint is one skill in every key, and forms and roots are shared."""
    card = TRANSITIONS.cards["E2A2D3G3B3E4/arpeggio/C/m7/654/transition-F-7-543"]
    assert card.prompt == "Cm7 to F7, no gap: 6-5-4, then 5-4-3"
    before, after = asked(TRANSITIONS, card.id).shapes
    assert (before.root.string, before.root.fret) == (6, 8) and (after.root.string, after.root.fret) == (5, 8)
    names = cards_of("name").cards
    c, f = names["E2A2D3G3B3E4/arpeggio/C/m7/654/name"], names["E2A2D3G3B3E4/arpeggio/F/7/543/name"]
    assert set(card.skills) == {*c.skills[:2], *f.skills[:2], "joint:m7-7:1,0"}
    other = TRANSITIONS.cards["E2A2D3G3B3E4/arpeggio/F/m7/654/transition-Bb-7-543"]
    assert "joint:m7-7:1,0" in other.skills


def test_in_a_key_a_chord_goes_to_the_keys_own():
    """ii goes to V, V to I and IV to vii: the next chord is the key's (rule D1, the diatonic cycle)."""
    found = cards_of("transition", deck="keys", key="Bb", strings="654")
    calls = {card.call for card in found.cards.values()}
    assert {"Cm7 to F7", "F7 to Bbmaj7", "Ebmaj7 to Am7b5", "Am7b5 to Dm7", "Bbmaj7 to Ebmaj7"} <= calls
    chords = {chord.name for chord in parse_key("Bb").chords()}
    assert {name for call in calls for name in call.split(" to ")} == chords


def test_transitions_move_with_their_roots():
    """The same joint in another key is the same card moved: its skills differ in the roots alone."""
    by_joint: dict[str, list[Card]] = {}
    for card in TRANSITIONS.cards.values():
        by_joint.setdefault(card.skills[-1], []).append(card)
    for joint, cards in by_joint.items():
        forms = {tuple(s for s in card.skills if s.startswith("form:")) for card in cards}
        # 6-5-4 and 5-4-3 are tuned alike, 4-3-2 is not.
        assert len(forms) <= 3, joint
    assert {Note.parse(card.id.split("/")[2]).pitch_class for card in TRANSITIONS.cards.values()} == set(range(12))
