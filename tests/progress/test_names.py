"""Cards and skills in a musician's words, for every deck there is; ids are never shown."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from drills.cards.deck import read_deck
from drills.cards.focus import parse_focus
from drills.cards.kinds import PROMPT_KINDS
from drills.cards.material import gather
from drills.neck.neck import Neck
from drills.progress.card_parts import card_parts, place_of
from drills.progress.skill_names import form_names, skill_name
from drills.theory.quality import shipped_qualities

DECKS = sorted(path.stem for path in (Path(__file__).resolve().parents[2] / "decks").glob("*.toml"))
OF_AN_ID = re.compile(r"[:/@_]|\d\+\d|\binv\d|\bfrom\d|drop\d|\bgrip-|\bscale-|\barpeggio-")


@cache
def cards_of(deck: str):
    """The cards of a shipped deck, in every kind of prompt it can be asked in."""
    path = Path(__file__).resolve().parents[2] / "decks" / f"{deck}.toml"
    focus = parse_focus(shipped_qualities(), prompt=",".join(kind for kind in PROMPT_KINDS if kind != "transition"))
    asked = gather(read_deck(path), Neck()), gather(read_deck(path), Neck(), focus=focus)
    return [card for material in asked for card in material.cards.values()]


@pytest.mark.parametrize("deck", DECKS)
def test_no_id_is_shown(deck):
    """Every skill and every card of a deck has a name without a trace of its id; two skills share one only where it
    ends with the layout, played on no set that would tell them apart."""
    cards = cards_of(deck)
    forms = form_names((card.id, card.skills) for card in cards)
    names = {skill: skill_name(skill, forms) for card in cards for skill in card.skills}
    apart = [name for name in names.values() if not re.search(r", [1-9](-[1-9])+$", name)]
    assert apart and len(set(apart)) == len(apart)
    for name in (*names.values(), *(card_parts(card.id).call for card in cards)):
        assert not OF_AN_ID.search(name), name


@pytest.mark.parametrize(
    ("card", "words", "place"),
    [
        ("E2A2D3G3B3E4/arpeggio/F#/m7b5/543/name", "F#m7b5, strings 5-4-3", ("5-4-3", "m7b5")),
        ("E2A2D3G3B3E4/arpeggio/C/m7/543/degree-Bb-ii", "ii of Bb, strings 5-4-3", ("5-4-3", "m7")),
        ("E2A2D3G3B3E4/grip-drop2-inv1/C/maj7/5432/name", "Cmaj7, drop 2 grip, 3rd in the bass, strings 5-4-3-2",
         ("5-4-3-2", "maj7")),
        ("E2A2D3G3B3E4/scale-dorian/D/m7/543/diagram",
         "Dm7, Dorian scale, strings 5-4-3, named from its diagram", None),
        ("E2A2D3G3B3E4/-/Gb/-/4/note", "Gb, string 4, found on the neck", None),
        ("E2A2D3G3B3E4/-/C/m7b5/-/spell", "Cm7b5, spelt", None),
        ("E2A2D3G3B3E4/-/C/m7b5/-/spell-Db-vii", "Cm7b5, spelt Db vii", None),
        ("E2A2D3G3B3E4/arpeggio/C/maj7/-/near-3", "Cmaj7, near fret 3", None),
        ("E2A2D3G3B3E4/arpeggio/C/maj7/-/position-5", "Cmaj7, in frets 5 to 8", None),
        ("E2A2D3G3B3E4/-/C/maj7/4/tone-3", "Cmaj7, string 4, its 3", None),
        ("E2A2D3G3B3E4/arpeggio/C/maj7/654/ear", "Cmaj7, strings 6-5-4, named by ear", None),
        ("E2A2D3G3B3E4/arpeggio/C/m7/654/transition-F-7-543", "Cm7 to F7, strings 6-5-4 to 5-4-3", None),
    ],
)  # fmt: skip
def test_a_card_is_called_as_a_musician_would(card, words, place):
    """A card's call and its place, from its id alone."""
    assert card_parts(card).call == words
    assert place_of(card) == place


@pytest.mark.parametrize("kind", ["{0.__class__}-x", "position-" + 5000 * "9", "near-{}", "-", "odd-{x!r}"])
def test_anybodys_id_has_a_call(kind):
    """A log may come from anywhere: a kind that is no kind is called by its own letters."""
    assert card_parts(f"t/arpeggio/C/m7/543/{kind}").call.startswith("Cm7, strings 5-4-3, ")
