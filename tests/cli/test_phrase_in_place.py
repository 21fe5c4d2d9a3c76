"""A phrase in the place of a shape (drills/RULES.md, B5): inside its frets, and by the hard rules of lines."""

from __future__ import annotations

import json
import re
from random import Random

import pytest

from drills.lines.checker import check_line
from drills.lines.phrase_in_place import phrase_in_place, phrase_words
from drills.lines.place_question import question_of
from drills.neck.neck import Neck
from drills.neck.strings import parse_strings
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import ARPEGGIO
from drills.shapes.same_place import mode_over
from drills.theory.symbol import parse_chord
from tests.cards.prompt_cards import cards_of

FINDER = ShapeFinder(Neck())


@pytest.mark.parametrize("strings", ["654", "543", "432"])
@pytest.mark.parametrize("quality", ["maj7", "m7", "7", "m7b5"])
def test_a_phrase_stays_in_the_frets_of_arpeggio_and_mode(quality, strings):
    """On the sets and qualities of the first deck, in four keys: a phrase, notes of the chord's mode only, inside the
    frets of arpeggio and mode (or four frets where they are fewer), no hard rule broken; the same each time."""
    for root in ("C", "Eb", "F#", "A"):
        shape = FINDER.find(parse_chord(root + quality), ARPEGGIO, parse_strings(strings))
        mode = mode_over(FINDER, shape)
        frets = [note.fret for each in (shape, mode) if each for note in each.notes if note.fret]
        line = phrase_in_place(FINDER, shape)
        assert line is not None and len(line.notes) >= 4
        low, high = min(frets), max(max(frets), min(frets) + 3)
        assert all(low <= note.fret <= high for note in line.notes)
        assert check_line(line, frets=(low, high)) == ()
        assert line == phrase_in_place(FINDER, shape)
        if mode:
            own = {note.pitch.midi % 12 for note in mode.notes}
            assert all(note.midi % 12 in own for note in line.notes)


def test_the_commands_show_and_sound_it(neckwork, tmp_path):
    """As tablature, in words, as data, and after the sound of the place; other forms are refused."""
    drawn = neckwork("shape", "Cm7", "--strings", "543", "--phrase")
    assert drawn.code == 0 and "A phrase over Cm7 in the same place" in drawn.out and " 6 |" in drawn.out
    said = neckwork("shape", "Cm7", "--strings", "543", "--phrase", "--plain").out
    assert "bar 1, Cm7:" in said
    (found,) = json.loads(neckwork("shape", "Cm7", "--strings", "543", "--phrase", "--json").out)
    assert found["phrase"]["notes"] and "phrase" not in json.loads(neckwork("shape", "Cm7", "--strings", "543",
                                                                            "--json").out)[0]  # fmt: skip
    refused = neckwork("shape", "Cm7", "--form", "grip", "--phrase")
    assert refused.code != 0 and "--phrase goes with arpeggios" in refused.err
    sizes = []
    for more in ((), ("--phrase",)):
        song = tmp_path / f"{len(more)}.mid"
        assert neckwork("hear", "Cm7", "--strings", "543", "--midi", str(song), *more).code == 0
        sizes.append(len(song.read_bytes()))
    assert sizes[1] > sizes[0] + 30


def test_the_prompt_of_the_same_place_answers_with_a_phrase():
    """The answer lists a line of the search, beat by beat, in the mode of the card; other kinds are as they were."""
    cards = cards_of("same-place", strings="543", key="Bb")
    for card in cards.cards.values():
        question = question_of(cards, card, Random(0))
        arpeggio, mode = question.shapes
        line = phrase_in_place(cards.finder, arpeggio, mode_name=mode.form.mode)
        assert question.said[-1] == f"A phrase, beat by beat: {phrase_words(line)}."
        own = {note.midi % 12 for note in mode.notes}
        assert all(note.midi % 12 in own for note in line.notes) and check_line(line) == ()
    plain = cards_of("name", strings="543", key="Bb")
    for card in plain.cards.values():
        assert question_of(plain, card, Random(0)) == plain.question(card, Random(0))


def test_a_phrase_in_words_counts_its_beats():
    """Notes under the beat they are struck in; a bar that begins anew after a semicolon."""
    shape = FINDER.find(parse_chord("Cm7"), ARPEGGIO, parse_strings("543"))
    line = phrase_in_place(FINDER, shape)
    names = [note.pitch.note.name for note in line.notes]
    words = phrase_words(line, places=False)
    assert [part for part in re.split(r"[ ,;]+", words) if not part.isdigit()] == names
    assert words.split()[0] == str(int(line.notes[0].beat))
    assert [note.place for note in line.notes] == re.findall(r"[A-G][#b]*\(\d/\d+\)", phrase_words(line))


def test_a_handout_of_places_shows_a_phrase(neckwork, tmp_path):
    """Four drawings a chord with --phrase, three without; the other layouts refuse it."""
    plain = neckwork("handout", "place", "Cm7", "F7", "--strings", "543").out
    more = neckwork("handout", "place", "Cm7", "F7", "--strings", "543", "--phrase").out
    assert "phrase" not in plain and more.count("Cm7, phrase") == 1 == more.count("F7, phrase")
    page = tmp_path / "places.svg"
    assert neckwork("handout", "place", "Cm7", "--strings", "543", "--phrase", "-o", str(page)).code == 0
    assert page.read_text(encoding="utf-8").count("phrase") >= 1
    refused = neckwork("handout", "key", "--phrase")
    assert refused.code != 0 and "place shows it" in refused.err
