"""Lines for a screen reader: signs and Roman numerals in words it cannot mistake (common practice)."""

from __future__ import annotations

import pytest

from drills.diagrams.speech import say_chord


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("Bbm7b5", "B flat minor seven flat five"),
        ("F#m7, strings 5-4-3", "F sharp minor seven, strings 5-4-3"),
        ("ii of Bb, strings 6-5-4", "degree 2 of B flat, strings 6-5-4"),
        ("Cmaj7, strings 6-5-4, position VII", "C major seven, strings 6-5-4, position 7"),
        ("C7, or V of F, in frets 5 to 8", "C seven, or degree 5 of F, in frets 5 to 8"),
        ("b7 of Am7 on string 2", "flat 7 of A minor seven on string 2"),
        ("If I play E, say so.", "If I play E, say so."),
    ],
)
def test_a_line_is_said_as_musicians_say_it(written, said):
    """Chords and degrees spelled out, Roman numerals as numbers, plain words left alone."""
    assert say_chord(written) == said
