"""Vocabulary as cards: the figures of drills/RULES.md, D6, on every chord of every key, in the arpeggio's own place."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.cards.deck import list_decks, read_deck
from drills.errors import NotPlayableError
from drills.harmony.chord_timeline import Tones
from drills.lines.vocabulary import UNITS, unit_figures
from drills.neck.neck import Neck
from drills.neck.strings import core_sets
from drills.paper.pack import shape_score
from drills.shapes.figure_tones import figure_tones, notes_together
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import ARPEGGIO, FIGURES, Form, parse_form, usual_form
from drills.shapes.tones import scale_tones
from drills.theory.chord import Chord
from drills.theory.key import KEYS_BY_FOURTHS, parse_key
from drills.theory.mode import mode_named, modes
from drills.theory.quality import shipped_qualities
from drills.theory.symbol import parse_chord
from tests.cards.prompt_cards import asked, cards_of
from tests.strategies import USUAL_ROOTS

FINDER = ShapeFinder(Neck())
LONG = ShapeFinder(Neck(top_fret=22))
FOUR_NOTES = [quality for quality in shipped_qualities() if len(quality.intervals) == 4 and quality.modes]


def names(symbol: str, form: str, mode: str = "") -> str:
    """The notes of a figure over a chord on 6-5-4, in the order played."""
    chord = parse_chord(symbol)
    shape = LONG.find(chord, usual_form(form, mode or chord.quality.modes[0]), core_sets(LONG.tuning)[0])
    return " ".join(note.pitch.note.name for note in shape.notes)


@pytest.mark.parametrize(
    ("symbol", "form", "notes"),
    [
        ("Cm7", "enclosures", "D B C F D Eb A F# G C A Bb"),
        ("Cm7", "approaches", "B C D Eb F# G A Bb B C C Bb A G F Eb D C"),
        ("C7", "passing", "C E G Bb C B Bb G"),
        ("Cmaj7", "cells", "C D E G E F G B"),
        ("Cmaj7", "ninths", "E G B D C B G E"),
        ("Cm7b5", "ninths", "Eb Gb Bb Db C Bb Gb Eb"),
        ("C7", "guides", "D# E A Bb C Bb F E"),
    ],
)
def test_a_figure_is_what_the_rule_says(symbol: str, form: str, notes: str) -> None:
    """Rule D6, written out by hand for one chord each (common practice)."""
    assert names(symbol, form) == notes


def test_the_note_above_is_the_modes() -> None:
    """The iii of a key has the flat second above its root, the ii the plain one."""
    assert names("Dm7", "enclosures", "Phrygian").split()[0] == "Eb"
    assert names("Dm7", "enclosures", "Dorian").split()[0] == "E"


@given(st.sampled_from(list(FIGURES)), st.sampled_from(FOUR_NOTES), st.sampled_from(USUAL_ROOTS))
def test_every_unit_of_a_card_is_a_figure_of_the_lines(word: str, quality, root: str) -> None:
    """What a card asks and what a line takes in are one thing, though the two are made by different code."""
    chord, mode = parse_chord(root + quality.symbol), quality.modes[0]
    try:
        tones = figure_tones(quality, usual_form(word, mode))
    except NotPlayableError:
        steps = {tone.steps for tone in scale_tones(quality, Form("scale", closed=False, mode=mode), 1)}
        assert steps != set(range(7)) if word == "cells" else quality.intervals[-1].semitones != 10
        assert word in ("cells", "passing")
        return
    size = notes_together(usual_form(word, mode))
    known = {
        tuple(key - place for key in figure)
        for figure in unit_figures(word, Tones(chord, mode_named(mode)), 60 + chord.root.pitch_class)
        for place in [60 + chord.root.pitch_class]
    }
    keys = [tone.semitones for tone in tones]
    units = [tuple(keys[at : at + size]) for at in range(0, len(keys), size)]
    if word == "passing":
        units = [tuple(keys[4:7])]  # what goes before is the arpeggio up to where it passes
    if word == "ninths":
        assert units[1] == (12, units[0][2], units[0][1], units[0][0])
        units = units[:1]
    assert {tuple(key % 12 for key in unit) for unit in units} <= {tuple(key % 12 for key in unit) for unit in known}
    assert units


@pytest.mark.parametrize("word", FIGURES)
@pytest.mark.parametrize("key_name", KEYS_BY_FOURTHS)
def test_every_chord_of_every_key_has_its_figure_on_every_set(key_name: str, word: str) -> None:
    """Where the arpeggio lies with a fret to spare, so does the figure, its chord tones where the arpeggio has them."""
    key = parse_key(key_name)
    found = 0
    for degree, chord in enumerate(key.chords(), 1):
        if word == "passing" and chord.quality.intervals[-1].semitones != 10:
            continue
        form = usual_form(word, key.mode(degree).name)
        for strings in core_sets(LONG.tuning):
            arpeggio = LONG.find(chord, ARPEGGIO, strings)
            if arpeggio.lowest_fret < 2:
                continue
            shape = LONG.find(chord, form, strings)
            found += 1
            root = arpeggio.notes[0]
            lowest = shape.chord.root.pitch_class
            own = {note.midi: (note.string, note.fret) for note in arpeggio.notes}
            tones = figure_tones(chord.quality, form)
            assert [note.midi - root.midi for note in shape.notes] == [tone.semitones for tone in tones]
            assert root.midi % 12 == lowest
            assert {note.string for note in shape.notes} <= set(strings.numbers)
            for note in shape.notes:
                assert own.get(note.midi, (note.string, note.fret)) == (note.string, note.fret)
                assert 0 <= note.finger <= 4 and LONG.tuning.midi(note.string, note.fret) == note.midi
    assert found >= 7


def test_ids_of_figures_read_back() -> None:
    """An id names figure and mode, and stays what it is: logs are kept for years."""
    for word in FIGURES:
        for mode in modes():
            form = usual_form(word, mode)
            assert parse_form(form.id) == form
    assert usual_form("enclosures", "Dorian").id == "enclosures-dorian"
    assert usual_form("passing", "Dorian").id == "passing"
    material = cards_of("name", "vocabulary", strings="654", quality="m7", root="C", form="enclosures")
    (card,) = material.cards.values()
    assert card.id == "E2A2D3G3B3E4/enclosures-dorian/C/m7/654/name"
    assert card.prompt == "Cm7, enclosures, Dorian, strings 6-5-4"
    assert asked(material, card.id).said == ("Enclosures, Dorian: D B C, F D Eb, A F# G, C A Bb.",)


@pytest.mark.parametrize("wrong", ["enclosures-", "enclosures-major", "passing-dorian", "guides-dorian-down"])
def test_what_is_no_figure_is_refused(wrong: str) -> None:
    """A figure has a mode, passing notes have none, and there is no way down of them."""
    with pytest.raises(Exception, match="expected such as"):
        parse_form(wrong)


def test_the_words_of_cards_and_lines_are_the_same() -> None:
    """What a deck, a stage and an etude line call a figure."""
    assert tuple(FIGURES) == tuple(unit.word for unit in UNITS)


def test_figures_are_asked_where_a_deck_names_them() -> None:
    """No other deck holds one: what a player practised stays what it was."""
    holding = {
        path.stem for path in list_decks(None) for block in read_deck(path).blocks if set(block.forms) & set(FIGURES)
    }
    assert holding == {"vocabulary"}
    by_degree = cards_of("degree", key="Bb", strings="543", form="enclosures").cards.values()
    assert [card.call for card in by_degree] == [
        f"{numeral} of Bb" for numeral in ("I", "ii", "iii", "IV", "V", "vi", "vii")
    ]
    assert [card.own_form.mode for card in by_degree][:3] == ["Ionian", "Dorian", "Phrygian"]


@pytest.mark.parametrize("kind", ["diagram", "unmarked", "fix", "grid"])
def test_a_diagram_does_not_ask_a_figure(kind: str) -> None:
    """Its places do not tell the order in which they are played: it is left out with that reason."""
    material = cards_of(kind, "vocabulary", strings="654", quality="m7", root="C", form="cells")
    assert not material.cards
    assert "asked by name" in material.left_out[0].reason


def test_a_figure_is_played_once_and_an_arpeggio_there_and_back() -> None:
    """In sound and in seconds: eight notes of a cell are eight, five of an arpeggio nine (rule B6)."""
    chord, strings = parse_chord("Cm7"), core_sets(FINDER.tuning)[0]
    cells = FINDER.find(chord, Form("figure", mode="Dorian", figure="cells"), strings)
    assert [tone.midi for tone in shape_score(cells).tones] == [note.midi for note in cells.notes]
    assert len(shape_score(FINDER.find(chord, ARPEGGIO, strings)).tones) == 9
    (card,) = cards_of("name", "vocabulary", strings="654", quality="m7", root="C", form="cells").cards.values()
    (plain,) = cards_of("name", strings="654", quality="m7", root="C").cards.values()
    assert card.seconds == plain.seconds - 1


def test_a_note_outside_the_chord_has_no_telling_tone() -> None:
    """B in Cm7 leads to C: a drawing does not mark it as the seventh."""
    from drills.diagrams.grid import grid_of

    shape = FINDER.find(Chord(*_c_minor_seven()), usual_form("enclosures", "Dorian"), core_sets(FINDER.tuning)[0])
    marks = {mark.label: mark.tone for mark in grid_of(shape, 6).marks}
    assert marks["7"] == "" and marks["b7"] == "seventh" and marks["b3"] == "third"
    assert len(grid_of(shape, 6, "fingers").marks) == len({(note.string, note.fret) for note in shape.notes})


def _c_minor_seven():
    chord = parse_chord("Cm7")
    return chord.root, chord.quality
