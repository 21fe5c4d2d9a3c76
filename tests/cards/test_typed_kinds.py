"""Prompts a machine can check: every right answer and its enharmonic twins are taken, wrong ones are not.

Right answers are worked out here from MIDI numbers of the open strings (E2 A2 D3 G3 B3 E4 are 40 45 50 55 59 64),
by music21 and by pychord, and from drills/RULES.md, G12 to G14.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.cards.kinds import KINDS
from drills.cards.prompts.bare_diagrams import name_checker
from drills.errors import AnswerError
from drills.theory.symbol import parse_chord

sys.path.insert(0, str(Path(__file__).parent))
from prompt_cards import TABLE, asked, cards_of, right

OPEN_MIDI = {6: 40, 5: 45, 4: 50, 3: 55, 2: 59, 1: 64}
SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}

NOTES = cards_of("note")
DIAGRAMS = cards_of("diagram", deck="fourteen")
SPELLINGS = cards_of("spell", deck="everything")
DEGREES = cards_of("spell", deck="keys")


def pitch_class(name):
    return (SEMITONES[name[0]] + name.count("#") - name[1:].count("b")) % 12


def twins(name):
    """Every name with up to two accidentals for the same sound."""
    names = [letter + sign for letter in SEMITONES for sign in ("", "b", "#", "bb", "##")]
    return [one for one in names if pitch_class(one) == pitch_class(name)]


# ---- a note on a string


def test_a_note_is_asked_on_every_root_string_once_with_the_root_skill_of_the_played_card():
    """Rule 0.3: 36 root locations; "Gb on string 4" trains what a Gb arpeggio on 4-3-2 trains."""
    assert len(NOTES.cards) == 36
    card = NOTES.cards["E2A2D3G3B3E4/-/Gb/-/4/note"]
    assert card.prompt == "Gb, on string 4: which fret?"
    played = next(c for c in cards_of("name").cards.values() if c.strings.id == "432" and c.chord.root.pitch_class == 6)
    assert set(card.skills) == {skill for skill in played.skills if skill.startswith("root:")}


@given(st.sampled_from(sorted(NOTES.cards)), st.integers(0, 24), st.sampled_from(["{}", "fret {}", " {} "]))
def test_a_fret_is_right_where_the_note_sounds(card_id, fret, written):
    """At any fret of the string whose MIDI number has the note's pitch class, twelve higher too; nowhere else."""
    _, _, root, _, string, _ = card_id.split("/")
    sounds = (OPEN_MIDI[int(string)] + fret) % 12 == pitch_class(root)
    assert right(asked(NOTES, card_id), written.format(fret)) is sounds


# ---- a diagram


@given(st.sampled_from(sorted(DIAGRAMS.cards)), st.data())
def test_a_marked_diagram_has_one_chord_under_every_name(card_id, data):
    """Every spelling of the root with every accepted symbol is right; another root or quality is not."""
    question = asked(DIAGRAMS, card_id)
    _, _, root, quality, _, _ = card_id.split("/")
    symbol = data.draw(st.sampled_from(TABLE.named(quality).symbols))
    name = data.draw(st.sampled_from([twin for twin in twins(root) if "##" not in twin and "bb" not in twin]))
    assert right(question, name + symbol)
    other = data.draw(st.sampled_from([one for one in TABLE if one.name != quality]))
    assert not right(question, name + other.symbol)
    away = data.draw(st.sampled_from([letter for letter in SEMITONES if pitch_class(letter) != pitch_class(root)]))
    assert not right(question, away + symbol)


@given(st.sampled_from(sorted(DIAGRAMS.cards)))
def test_a_diagram_shows_the_places_and_marks_only_roots(card_id):
    """What is drawn sounds the chord and nothing else, and exactly its roots are marked."""
    question = asked(DIAGRAMS, card_id)
    chord = DIAGRAMS.cards[card_id].chord
    for spot in question.before.spots:
        sounding = (OPEN_MIDI[spot.string] + spot.fret) % 12
        assert sounding in chord.pitch_classes
        assert spot.root is (sounding == chord.root.pitch_class)
        assert spot.label == ("R" if spot.root else "o")


def test_the_ambiguous_diagram():
    """Rule G12: with C marked root the answer is C6; unmarked, C6 and Am7 are both accepted."""
    chord = parse_chord("C6")
    marked, unmarked = name_checker(chord, TABLE), name_checker(chord, TABLE, root_marked=False)
    assert marked("C6").right and not marked("Am7").right
    assert unmarked("C6").right and unmarked("Am7").right and not unmarked("Em7").right


def test_an_unmarked_diagram_is_named_by_any_of_its_roots():
    """Rule G12 as it is asked: C(6/8) E(5/7) G(5/10) A(4/7) C(4/10), no root marked."""
    question = asked(cards_of("unmarked", deck="fourteen"), "E2A2D3G3B3E4/arpeggio/C/6/654/unmarked")
    assert [(spot.string, spot.fret) for spot in question.before.spots] == [(6, 8), (5, 7), (5, 10), (4, 7), (4, 10)]
    assert {spot.label for spot in question.before.spots} == {"o"}
    assert not any(spot.root for spot in question.before.spots)
    assert question.check("C6") == (True, "Right: C6.")
    assert question.check("Am7") == (True, "Right: Am7 has the notes of C6.")
    assert not question.check("Em7").right


def test_other_names_of_the_same_notes():
    """Rule B1: Cm6 = Am7b5; Cm7 = Eb6; Cdim7 = Ebdim7 = Gbdim7 = Adim7; C7b5 = Gb7b5."""
    for one, others in {
        "Cm6": ["Am7b5"], "Cm7": ["Eb6"], "Cdim7": ["Ebdim7", "Gbdim7", "Adim7"], "C7b5": ["Gb7b5"],
    }.items():  # fmt: skip
        check = name_checker(parse_chord(one), TABLE, root_marked=False)
        assert all(check(name).right for name in (one, *others))


@pytest.mark.parametrize("answer", ["C#m7", "Dbm7", "c#-7", "C# min7"])
def test_enharmonic_names_are_right_and_the_shown_one_is_spelled(answer):
    """Rule G13: C#(4/11) E(4/14) G#(3/13) B(2/12) C#(2/14)."""
    question = asked(DIAGRAMS, "E2A2D3G3B3E4/arpeggio/C#/m7/432/diagram")
    assert [(spot.string, spot.fret) for spot in question.before.spots] == [(4, 11), (4, 14), (3, 13), (2, 12), (2, 14)]
    assert question.check(answer) == (True, "Right: C#m7.")


# ---- spelling

PYCHORD = {
    "maj7": "maj7", "m7": "m7", "7": "7", "m7b5": "m7-5", "dim7": "dim7", "m6": "m6", "mMaj7": "mM7", "6": "6",
    "7sus4": "7sus4", "7#5": "7+5", "7b5": "7-5", "maj": "", "m": "m", "dim": "dim", "aug": "aug", "sus4": "sus4",
    "sus2": "sus2",
}  # fmt: skip


def test_pychords_notes_are_taken_as_right_spellings():
    """pychord names the same sounds, with its own choice of sharps and flats, for 17 qualities on twelve roots."""
    from pychord import Chord as Other

    asked_for = 0
    for card_id, card in SPELLINGS.cards.items():
        if card.chord.quality.name in PYCHORD:
            theirs = Other(card.chord.root.name + PYCHORD[card.chord.quality.name]).components()
            assert right(asked(SPELLINGS, card_id), " ".join(theirs))
            asked_for += 1
    assert asked_for == 12 * len(PYCHORD)


def test_music21_spells_what_is_told_as_the_strict_spelling():
    """music21's interval spelling of every quality equals what the answer shows, and is right without a remark."""
    from music21 import interval, pitch

    for card_id, card in SPELLINGS.cards.items():
        root = pitch.Pitch(card.chord.root.name.replace("b", "-") + "3")
        theirs = [
            root.transpose(interval.Interval(size.name)).name.replace("-", "b") for size in card.chord.quality.intervals
        ]
        question = asked(SPELLINGS, card_id)
        said = f"{card.chord.name} is {' '.join(theirs)}."
        assert question.said == (said,)
        assert question.check(" ".join(theirs)) == (True, f"Right: {said}")


@given(st.sampled_from(sorted(SPELLINGS.cards)), st.data())
def test_a_spelling_is_right_by_sound_and_wrong_with_one_wrong_note(card_id, data):
    """Any enharmonic names in order from the root are right; one note off, or one missing, is not."""
    question = asked(SPELLINGS, card_id)
    notes = [note.name for note in SPELLINGS.cards[card_id].chord.notes]
    answer = [data.draw(st.sampled_from(twins(name))) for name in notes]
    assert right(question, data.draw(st.sampled_from([" ", ", ", "-", " - "])).join(answer))
    at = data.draw(st.integers(0, len(notes) - 1))
    off = data.draw(st.sampled_from([letter for letter in SEMITONES if pitch_class(letter) != pitch_class(notes[at])]))
    assert not right(question, " ".join([*answer[:at], off, *answer[at + 1 :]]))
    assert not right(question, " ".join(answer[:-1]))


def test_a_degree_is_spelled_by_its_name_or_its_notes():
    """Rule G6: "vii of Db" is Cm7b5, C Eb Gb Bb; the name and its twin are right, so are the notes."""
    question = asked(DEGREES, "E2A2D3G3B3E4/-/C/m7b5/-/spell-Db-vii")
    for answer in ("Cm7b5", "C half-dim", "B#m7b5", "C Eb Gb Bb", "C D# F# A#"):
        assert right(question, answer), answer
    for answer in ("Cm7", "Dbmaj7", "C Eb G Bb"):
        assert not right(question, answer), answer
    assert len(DEGREES.cards) == 12 * 7


@pytest.mark.parametrize(
    ("prompt", "nonsense"),
    [("note", "no"), ("note", "99"), ("diagram", "H7"), ("diagram", "C?"), ("spell", "C E H"), ("spell", "C E G maj")],
)
def test_what_cannot_be_read_is_refused_with_an_example(prompt, nonsense):
    """Neither right nor wrong: the reason names what was expected."""
    material = {"note": NOTES, "diagram": DIAGRAMS, "spell": SPELLINGS}[prompt]
    with pytest.raises(AnswerError, match="such as"):
        asked(material, next(iter(material.cards))).check(nonsense)


@given(st.sampled_from(["note", "diagram", "spell"]), st.text(max_size=40))
def test_any_text_is_judged_or_refused(prompt, text):
    """Whatever is typed, a check answers or raises AnswerError, never anything else."""
    material = {"note": NOTES, "diagram": DIAGRAMS, "spell": SPELLINGS}[prompt]
    try:
        checked = asked(material, next(iter(material.cards))).check(text)
    except AnswerError as error:
        assert str(error)
    else:
        assert checked.line


def test_skills_are_those_of_the_played_cards():
    """P2 needs form and root, P12 the spelling: the same skills an arpeggio of that chord has."""
    played = cards_of("name", deck="fourteen").cards["E2A2D3G3B3E4/arpeggio/Eb/m7/543/name"]
    form, root, spell = played.skills
    assert DIAGRAMS.cards["E2A2D3G3B3E4/arpeggio/Eb/m7/543/diagram"].skills == (form, root)
    assert SPELLINGS.cards["E2A2D3G3B3E4/-/Eb/m7/-/spell"].skills == (spell,)


def test_a_note_is_named_as_the_deck_names_it():
    """Asked for as F#, it is called F#; the card is the same."""
    found = cards_of("note", root="F#", strings="432")
    assert [(card.id, card.call) for card in found.cards.values()] == [("E2A2D3G3B3E4/-/Gb/-/4/note", "F#")]


def test_the_deck_page_lists_every_kind():
    """decks/README.md has a row for each kind of prompt, with a yes where it needs no guitar."""
    readme = Path(__file__).resolve().parent.parent.parent / "decks" / "README.md"
    table = readme.read_text(encoding="utf-8").partition("## Kinds of prompt")[2].partition("##")[0]
    lines = [line for line in table.splitlines() if line.startswith("| ")]
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]
    assert {row[0]: row[2] == "yes" for row in rows[1:]} == {kind.name: kind.away for kind in KINDS.values()}
