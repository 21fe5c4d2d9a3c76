"""Keys that are modes: their notes, signatures and chords against music21, and how they are written."""

import music21
import pytest

from drills.cards.deck import find_deck, read_deck
from drills.cards.focus import parse_focus
from drills.cards.material import gather
from drills.errors import TheoryError
from drills.neck.neck import Neck
from drills.theory.key import Key, parse_degree, parse_drilled_key, parse_key, raised_seventh
from drills.theory.mode import MODAL
from drills.theory.note import Note
from drills.theory.quality import shipped_qualities

TONICS = ("C", "Db", "D", "Eb", "E", "F", "F#", "Gb", "G", "Ab", "A", "Bb", "B")
CLASSES = {
    "Dorian": music21.scale.DorianScale, "Phrygian": music21.scale.PhrygianScale, "Lydian": music21.scale.LydianScale,
    "Mixolydian": music21.scale.MixolydianScale, "natural minor": music21.scale.MinorScale,
    "Locrian": music21.scale.LocrianScale,
}  # fmt: skip


@pytest.mark.parametrize("scale", MODAL)
@pytest.mark.parametrize("tonic", TONICS)
def test_notes_and_signature_are_music21s(tonic, scale):
    """The seven notes of the scale by music21, and as many sharps or flats as those notes have."""
    try:
        key = Key(Note.parse(tonic), scale)
    except TheoryError:
        return  # more than seven sharps or flats
    theirs = CLASSES[scale](tonic.replace("b", "-")).getPitches()[:7]
    assert [note.name for note in key.notes] == [pitch.name.replace("-", "b") for pitch in theirs]
    assert sum(note.alter for note in key.notes) == key.signature


@pytest.mark.parametrize("scale", MODAL)
def test_chords_and_modes_are_those_of_the_major_key_of_the_same_notes(scale):
    """A modal key's chords and modes are its relative major's, begun on another degree."""
    key = Key(Note.parse("D"), scale)
    names = {note.name for note in key.notes}
    parent = next(each for each in map(Key, map(Note.parse, TONICS)) if {note.name for note in each.notes} == names)
    shift = [note.name for note in parent.notes].index("D")
    for degree in range(1, 8):
        there = (degree - 1 + shift) % 7 + 1
        assert key.chord(degree) == parent.chord(there)
        assert key.mode(degree) == parent.mode(there)


@pytest.mark.parametrize("text", ["A natural minor", "D Dorian", "bb lydian", "F# Locrian", "e phrygian"])
def test_a_modal_key_is_read_from_its_name(text):
    """Read, named and read again, alone and in a degree, it is the same key."""
    key = parse_key(text)
    assert parse_key(key.name) == key
    assert parse_degree(f"{key.roman(1)} of {key.name}") == (key, 1)


def test_a_plain_minor_that_is_drilled_is_the_natural_one_and_says_so():
    """C minor asks Cm7, not CmMaj7; the raised seventh's chords are named beside it; what is read on a page of changes,
    or in a card's id, keeps its meaning (common practice)."""
    key = parse_drilled_key("C minor")
    assert [str(chord) for chord in key.chords()] == ["Cm7", "Dm7b5", "Ebmaj7", "Fm7", "Gm7", "Abmaj7", "Bb7"]
    assert [chord.name for chord in raised_seventh(key)] == ["CmMaj7", "Ebmaj7#5", "G7", "Bdim7"]
    assert parse_drilled_key("C harmonic minor") == parse_key("C minor")
    assert raised_seventh(parse_key("C")) == ()


def test_a_card_of_a_modal_key_has_an_id_that_reads_back():
    """The key in a card's id is read back to the key, and the chord on its degree is the card's."""
    deck = read_deck(find_deck("keys", None))
    focus = parse_focus(shipped_qualities(), key="D Dorian,A natural minor", strings="654")
    material = gather(deck, Neck(), focus=focus)
    assert len(material.cards) == 14
    for card in material.cards.values():
        name, _, degree = card.kind.removeprefix("degree-").rpartition("-")
        key, number = parse_degree(f"{degree} of {name.replace('-', ' ')}")
        assert key == card.key and key.chord(number) == card.chord


def test_triads_of_a_key_are_asked_by_naming_triads():
    """A key with triads named gives its own chords of three notes: in C three major, three minor, one diminished."""
    deck = read_deck(find_deck("triads", None))
    focus = parse_focus(shipped_qualities(), key="C", quality="maj,m,dim")
    names = {card.own_chord.name for card in gather(deck, Neck(), focus=focus).cards.values()}
    assert names == {"C", "Dm", "Em", "F", "G", "Am", "Bdim"}
