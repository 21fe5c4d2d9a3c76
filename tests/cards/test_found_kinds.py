"""Prompts about where things lie: all places, chord tones, wrong notes, empty grids, positions, the same place.

Frets are worked out here from MIDI numbers of the open strings, or are the rules': checks G11, G14 and G15 and
the example "one position, seven chords" of section B5.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.cards.kinds import KINDS, kind_of
from drills.cards.prompts.bare_diagrams import shape_checker
from drills.cards.prompts.notes import places_of
from drills.cards.prompts.places import ABOVE, BELOW, FRETS, POSITION_FRETS, in_position, near
from drills.errors import AnswerError, NotPlayableError
from drills.neck.neck import Neck
from drills.neck.strings import StringSet
from drills.neck.tuning import read_tunings
from drills.shapes.finder import ShapeFinder
from drills.theory.interval import Interval
from drills.theory.key import parse_key
from drills.theory.note import Note
from drills.theory.symbol import parse_chord

sys.path.insert(0, str(Path(__file__).parent))
from prompt_cards import asked, cards_of, right

OPEN_MIDI = {6: 40, 5: 45, 4: 50, 3: 55, 2: 59, 1: 64}
FINDER = ShapeFinder(Neck())
PLACES = cards_of("places")
WHOLE_NECK = cards_of("places", strings="654321")
TONES = cards_of("tone", deck="fourteen")
FIXES = cards_of("fix", deck="fourteen")
GRIDS = cards_of("grid", deck="fourteen")
NEAR = cards_of("near", deck="fourteen")
POSITIONS = cards_of("position", deck="fourteen")


def read(text):
    """Places written as the rules write them: ``Eb(6/11) Eb(5/6)``."""
    return [(int(string), int(fret)) for string, fret in re.findall(r"\((\d+)/(\d+)\)", text)]


def typed(places):
    return " ".join(f"{string}/{fret}" for string, fret in places)


# ---- all places


def test_every_eb_and_every_e():
    """drills/RULES.md, G11: six places of Eb and eight of E at frets 0 to 12."""
    everywhere = StringSet((6, 5, 4, 3, 2, 1))
    eb = read("Eb(6/11) Eb(5/6) Eb(4/1) Eb(3/8) Eb(2/4) Eb(1/11)")
    e = read("E(6/0) E(6/12) E(5/7) E(4/2) E(3/9) E(2/5) E(1/0) E(1/12)")
    assert list(places_of(FINDER, Note.parse("Eb"), everywhere)) == eb
    assert list(places_of(FINDER, Note.parse("D#"), everywhere)) == eb
    assert list(places_of(FINDER, Note.parse("E"), everywhere)) == e
    for note, places in (("Eb", eb), ("E", e)):
        question = asked(WHOLE_NECK, f"E2A2D3G3B3E4/-/{note}/-/654321/places")
        assert right(question, typed(places)) and right(question, typed(places[::-1]))
        assert not right(question, typed(places[1:]))
        assert not right(question, typed([*places, (6, 5)]))


@given(st.sampled_from(sorted(PLACES.cards)), st.data())
def test_all_places_are_those_that_sound_the_note(card_id, data):
    """Exactly the places whose MIDI number has the pitch class; one more fret twelve higher does no harm."""
    _, _, root, _, strings, _ = card_id.split("/")
    wanted = Note.parse(root).pitch_class
    places = [(int(s), f) for s in strings for f in range(13) if (OPEN_MIDI[int(s)] + f) % 12 == wanted]
    question = asked(PLACES, card_id)
    assert right(question, typed(data.draw(st.permutations(places))))
    string, fret = data.draw(st.sampled_from(places))
    assert right(question, typed([*places, (string, fret + 12)]))
    assert not right(question, typed([place for place in places if place != (string, fret)]) or "6/24")
    assert not right(question, typed([*places, (string, fret + 1)]))


def test_all_places_say_how_many_were_found():
    """ "Count found of count there" (rule B6)."""
    line = asked(PLACES, "E2A2D3G3B3E4/-/Eb/-/654/places").check("6/11 4/1").line
    assert line == "2 of 3 found; Eb is at 6/11 5/6 4/1."


# ---- one chord tone


@pytest.mark.parametrize(
    ("card", "prompt", "frets"),
    [
        ("Bb/7/3/tone-3", "3rd of Bb7, on string 3: which fret?", (7,)),
        ("A/m7/2/tone-b7", "b7 of Am7, on string 2: which fret?", (8,)),
        ("B/m7b5/4/tone-b5", "b5 of Bm7b5, on string 4: which fret?", (3, 15)),
    ],
)
def test_one_chord_tone(card, prompt, frets):
    """Rule G14: D(3/7), G(2/8), F(4/3), and F(4/15) is right too."""
    question = asked(TONES, f"E2A2D3G3B3E4/-/{card}")
    assert TONES.cards[f"E2A2D3G3B3E4/-/{card}"].prompt == prompt
    assert all(right(question, str(fret)) for fret in frets)
    assert not right(question, str(frets[0] + 1))


@given(st.sampled_from(sorted(TONES.cards)), st.integers(0, 24))
def test_a_chord_tone_is_right_where_it_sounds(card_id, fret):
    """The degree counted in semitones above the root, at every fret of the string."""
    _, _, root, _, string, kind = card_id.split("/")
    wanted = Note.parse(root).pitch_class + Interval.from_degree(kind.removeprefix("tone-")).semitones
    assert right(asked(TONES, card_id), str(fret)) is ((OPEN_MIDI[int(string)] + fret - wanted) % 12 == 0)


# ---- one wrong note


@given(st.sampled_from(sorted(FIXES.cards)), st.integers(0, 10**6))
def test_the_wrong_note_is_wrong_and_the_only_one(card_id, seed):
    """All places but one are the shape's; that one is a fret off, outside the chord, on the neck, and alone there."""
    question = asked(FIXES, card_id, seed)
    shape, chord = question.shapes[0], FIXES.cards[card_id].chord
    spots = [(spot.string, spot.fret) for spot in question.before.spots]
    true = [(note.string, note.fret) for note in shape.notes]
    off = [(shown, meant) for shown, meant in zip(spots, true, strict=True) if shown != meant]
    assert len(off) == 1 and len(set(spots)) == len(spots)
    (wrong, meant) = off[0]
    assert wrong[0] == meant[0] and abs(wrong[1] - meant[1]) == 1 and 0 <= wrong[1] <= FINDER.neck.highest
    assert (OPEN_MIDI[wrong[0]] + wrong[1]) % 12 not in chord.pitch_classes
    assert all((OPEN_MIDI[s] + f) % 12 in chord.pitch_classes for s, f in spots if (s, f) != wrong)
    assert right(question, typed([wrong])) and right(question, typed([wrong, meant]))
    assert not any(right(question, typed([place])) for place in spots if place != wrong)
    assert not right(question, typed([wrong, (meant[0], meant[1] + 2)]))
    assert [spot.root for spot in question.before.spots].count(True) == 1


def test_another_wrong_note_comes_up_another_time():
    """The same card does not always hide the same note, so that it cannot be learned by heart."""
    card = "E2A2D3G3B3E4/arpeggio/C/maj7/654/fix"
    assert len({asked(FIXES, card, seed).before.spots for seed in range(40)}) >= 4


# ---- an empty grid


@given(st.sampled_from(sorted(GRIDS.cards)), st.data())
def test_a_grid_takes_the_shape_and_its_other_layouts(card_id, data):
    """In any order, with or without the octave, also as another layout that a hand can play; a moved note is wrong."""
    card, question = GRIDS.cards[card_id], asked(GRIDS, card_id)
    layouts = [question.shapes[0], *GRIDS.alternates(card)]
    shape = data.draw(st.sampled_from(layouts))
    places = [(note.string, note.fret) for note in shape.notes]
    assert right(question, typed(data.draw(st.permutations(places))))
    assert right(question, typed(places[:-1]))
    at = data.draw(st.integers(0, len(places) - 1))
    string, fret = places[at]
    moved = [*places[:at], (string, fret + data.draw(st.sampled_from([1, 2, 3]))), *places[at + 1 :]]
    assert not right(question, typed(moved))
    assert not right(question, typed(places[1:]))


def test_a_grid_shows_nothing_and_a_fret_more_on_either_side():
    """Its edges do not give the shape away."""
    question = asked(GRIDS, "E2A2D3G3B3E4/arpeggio/C/maj7/654/grid")
    assert question.before.spots == () and question.before.frets == (6, 11)


def test_right_notes_that_no_hand_reaches_are_not_a_shape():
    """All five notes on two strings lie within the right pitches and beyond any hand."""
    check = shape_checker(FINDER.find(parse_chord("Cmaj7"), GRIDS.cards["E2A2D3G3B3E4/arpeggio/C/maj7/654/grid"].form,
                                      StringSet((6, 5, 4))), FINDER)  # fmt: skip
    assert check("6/8 5/7 5/10 4/9 4/10").right
    assert not check("6/8 6/12 6/15 5/14 5/15").right


# ---- near a fret, in a position, on every set


@given(st.sampled_from(sorted(NEAR.cards)))
def test_near_a_fret_every_answer_lies_there(card_id):
    """All frets within two below and four above the one named; each is the chord from its root, and none is missing."""
    card, shapes = NEAR.cards[card_id], asked(NEAR, card_id).shapes
    fret = int(card.kind.removeprefix("near-"))
    assert shapes
    for shape in shapes:
        assert fret - BELOW <= min(shape.frets) and max(shape.frets) <= fret + ABOVE
        assert [note.pitch.note for note in shape.notes[:-1]] == list(card.chord.notes)
    for strings in ("654", "543", "432"):
        usual = FINDER.find(card.chord, shapes[0].form, StringSet(tuple(map(int, strings))))
        inside = fret - BELOW <= min(usual.frets) and max(usual.frets) <= fret + ABOVE
        assert inside == (usual.notes in [shape.notes for shape in shapes])


def test_gm7_near_fret_5():
    """G(6/3) Bb(6/6) D(5/5) F(4/3) G(4/5) and G(4/5) Bb(4/8) D(3/7) F(2/6) G(2/8), computed from the open strings."""
    found = {typed((note.string, note.fret) for note in shape.notes) for shape in near(parse_chord("Gm7"), 5, FINDER)}
    assert found == {"6/3 6/6 5/5 4/3 4/5", "4/5 4/8 3/7 2/6 2/8"}


@given(st.sampled_from(sorted(POSITIONS.cards)))
def test_in_a_position_no_note_lies_outside_it(card_id):
    """Four neighbouring frets hold the whole chord, root first and lowest, rising by its intervals."""
    card = POSITIONS.cards[card_id]
    fret = int(card.kind.removeprefix("position-"))
    for shape in asked(POSITIONS, card_id).shapes:
        assert all(fret <= note.fret < fret + POSITION_FRETS for note in shape.notes)
        sounding = [OPEN_MIDI[note.string] + note.fret for note in shape.notes]
        assert [midi - sounding[0] for midi in sounding] == list(card.chord.quality.semitones)
        assert sounding[0] % 12 == card.chord.root.pitch_class


def test_c7_in_frets_5_to_8():
    """Rule B6, P11: "frets 5-8, play V7 of F" = C(6/8) E(5/7) G(4/5) Bb(4/8)."""
    cards = cards_of("position", deck="keys", key="F", quality="7")
    card = cards.cards["E2A2D3G3B3E4/arpeggio/C/7/-/position-5-F-V"]
    assert card.prompt == "V of F, in frets 5 to 8, without moving the hand"
    question = asked(cards, card.id)
    assert [(note.string, note.fret) for note in question.shapes[0].notes] == read("C(6/8) E(5/7) G(4/5) Bb(4/8)")
    assert question.said[0] == "V of F is C7."


ONE_POSITION = """
C(6/8) E(5/7) G(5/10) B(4/9)
D(6/10) F(5/8) A(4/7) C(4/10)
E(5/7) G(5/10) B(4/9) D(3/7)
F(5/8) A(4/7) C(4/10) E(3/9)
G(5/10) B(4/9) D(3/7) F(3/10)
A(4/7) C(4/10) E(3/9) G(2/8)
B(4/9) D(3/7) F(3/10) A(2/10)
"""


def test_one_position_seven_chords():
    """Rule B5: the seven chords of C at frets 7 to 10, the hand never moving."""
    key = parse_key("C")
    for degree, row in enumerate(ONE_POSITION.strip().splitlines(), 1):
        found = [
            [(note.string, note.fret) for note in shape.notes] for shape in in_position(key.chord(degree), 7, FINDER)
        ]
        assert read(row) in found


def test_what_no_position_holds_is_refused_with_the_reason():
    """E7 from E(5/7) and G#(4/6) would need B(4/9) or B(3/4): not in frets 5 to 8."""
    with pytest.raises(NotPlayableError, match="E7 does not lie in frets 5 to 8"):
        in_position(parse_chord("E7"), 5, FINDER)


# ---- the same place


def test_the_same_place():
    """Rule G15: grip and D Dorian at the frets of Dm7 on 5-4-3; the arpeggio's notes are in the mode."""
    cards = cards_of("same-place")
    question = asked(cards, "E2A2D3G3B3E4/arpeggio/D/m7/543/same-place")
    arpeggio, mode = question.shapes
    assert [(n.string, n.fret) for n in question.before.shape.notes] == read("D(5/5) A(4/7) C(3/5) F(2/6)")
    assert [(n.string, n.fret) for n in arpeggio.notes] == read("D(5/5) F(5/8) A(4/7) C(3/5) D(3/7)")
    assert [(n.string, n.fret) for n in mode.notes] == read("D(5/5) E(5/7) F(5/8) G(4/5) A(4/7) B(3/4) C(3/5) D(3/7)")
    assert {(n.string, n.fret) for n in arpeggio.notes} <= {(n.string, n.fret) for n in mode.notes}
    form, root, spell, scale = cards.cards["E2A2D3G3B3E4/arpeggio/D/m7/543/same-place"].skills
    assert (root, spell) == ("root:D@5A2", "spell:Dm7") and form.startswith("form:arpeggio/")
    assert scale.startswith("form:scale-dorian/")


# ---- everywhere


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "transition"])
def test_a_kind_has_its_own_ids_and_moves_with_its_roots(kind):
    """Every id ends in its kind and is none of another's; every root has its cards, wherever the neck has room."""
    found = cards_of(kind)
    assert found.cards and all(kind_of(card.kind).name == kind for card in found.cards.values())
    assert all(card.id.rsplit("/", 1)[1] == card.kind for card in found.cards.values())
    assert {Note.parse(card.id.split("/")[2]).pitch_class for card in found.cards.values()} == set(range(12))
    assert all(card.seconds == KINDS[kind].seconds for card in found.cards.values())
    assert not found.left_out


@pytest.mark.parametrize("tuning", sorted(read_tunings()))
@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "transition"])
def test_every_kind_asks_or_says_why_not_on_every_instrument(kind, tuning):
    """On each shipped tuning every card has a question whose answer is on the neck; what does not fit has a reason."""
    neck = Neck(read_tunings()[tuning].tuning, scale_mm=read_tunings()[tuning].scale_mm)
    found = cards_of(kind, neck=neck, quality="m7,7")
    for card in found.cards.values():
        question = found.question(card, Random(1))
        for shape in question.shapes:
            assert all(0 <= note.fret <= neck.highest for note in shape.notes)
            assert all(note.pitch.midi == neck.sounding.midi(note.string, note.fret) for note in shape.notes)
    assert all(left.reason for left in found.left_out)
    assert found.cards or found.left_out or kind in ("near", "position")


@given(
    st.sampled_from([kind for kind in KINDS if KINDS[kind].typed]),
    st.text(st.sampled_from("0123456789/ ,CDb#m7fretopen"), max_size=30),
)
def test_any_text_is_judged_or_refused(kind, text):
    """Whatever is typed, a check answers or raises AnswerError, never anything else."""
    material = {"places": PLACES, "tone": TONES, "fix": FIXES, "grid": GRIDS}.get(kind)
    if material is None:
        return
    try:
        checked = asked(material, next(iter(material.cards))).check(text)
    except AnswerError as error:
        assert "such as" in str(error) or "There is no" in str(error)
    else:
        assert checked.line


def test_positions_and_near_frets_are_those_with_dots():
    """Named frets are 3, 5, 7 and 9 (common practice: the inlays of most necks)."""
    assert FRETS == (3, 5, 7, 9)
    assert {card.kind for card in NEAR.cards.values()} == {f"near-{fret}" for fret in FRETS}
