"""A phrase in the place of a shape (drills/RULES.md, B5): inside its frets, and by the hard rules of lines."""

from __future__ import annotations

import json

import pytest

from drills.lines.checker import check_line
from drills.lines.phrase_in_place import phrase_in_place
from drills.neck.neck import Neck
from drills.neck.strings import parse_strings
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import ARPEGGIO
from drills.shapes.same_place import mode_over
from drills.theory.symbol import parse_chord

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
