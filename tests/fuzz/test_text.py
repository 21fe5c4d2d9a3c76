"""Text that nobody should type: the only exception is the tool's own, with one printable line."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.errors import DrillsError, SymbolError
from drills.neck.strings import parse_strings
from drills.neck.tuning import Tuning, parse_tuning
from drills.shapes.answers import named_chord
from drills.shapes.form import Form, parse_form
from drills.theory.chord import Chord
from drills.theory.interval import Interval
from drills.theory.key import Key, parse_degree, parse_key
from drills.theory.mode import Mode, mode_named
from drills.theory.note import Note, Pitch
from drills.theory.quality import shipped_qualities
from drills.theory.symbol import parse_chord
from tests import strategies as own
from tests.examples import examples

SYMBOLS = "CDEFGABHbc#♭♯𝄫𝄪♮mMajinoøΔ△°+-–()/679135 sudltx,\n\x00"

READERS = [
    (Note.parse, Note, "ABCHbg#♭♯𝄫𝄪♮x -flatshrp", 500),
    (Pitch.parse, Pitch, "ABCHbg#♭ -01239", 500),
    (Interval.parse, Interval, "PMmAd-0123456789", 500),
    (Interval.from_degree, Interval, "b#0123456789", 500),
    (parse_key, Key, "ABCDEFGHbcg#♭♯ -majorinflthpedc", 1000),
    (parse_degree, tuple, "ivIVx7mø°dabo fBCDEG#♭ minor", 1000),
    (mode_named, Mode, "dorianlycptbe #57", 300),
    (parse_tuning, Tuning, "ABCDEFGb#♭♯-0123456789 ,", 1000),
    (parse_strings, object, "6543210- \t", 500),
    (parse_form, Form, "arpegioscldnktw-from357shv123", 500),
    (shipped_qualities().named, object, "majin7dmø°Δ-b5#46", 300),
    (lambda text: named_chord(text, shipped_qualities()), tuple, "iIvV of BbCDm7altered dorian#♭", 500),
]


def one_line(error):
    """Whether an error says something, in one short line that a terminal can show."""
    message = str(error)
    return message.isprintable() and 10 < len(message) < 700


@settings(max_examples=examples(1000, 2500))
@given(
    own.odd_text(SYMBOLS) | st.builds(lambda chord, text: chord.name + text, own.chords(), own.odd_text(SYMBOLS, 6)),
    st.booleans(),
)
def test_any_chord_symbol_is_read_or_refused_in_one_line(text, reduce):
    """A symbol is read as a chord that its own name reads back to, or refused with place and suggestions that work."""
    try:
        chord = parse_chord(text, reduce=reduce)
    except SymbolError as error:
        assert one_line(error)
        assert error.text == text and 0 <= error.position <= len(text)
        assert error.suggestions and all(parse_chord(near) for near in error.suggestions)
    else:
        again = parse_chord(chord.name)
        assert isinstance(chord, Chord) and (again.root, again.quality, again.bass) == (
            chord.root,
            chord.quality,
            chord.bass,
        )
        assert not chord.tensions or reduce


@pytest.mark.parametrize(
    ("read", "kind", "alphabet", "count"), READERS, ids=lambda value: getattr(value, "__qualname__", "")
)
def test_any_text_is_read_or_refused_in_one_line(read, kind, alphabet, count):
    """Every reader of text gives a value of its kind or raises the tool's own error, in one line."""
    seen = [0]

    @settings(max_examples=count)
    @given(own.odd_text(alphabet))
    def check(text):
        seen[0] += 1
        try:
            value = read(text)
        except DrillsError as error:
            assert one_line(error)
        else:
            assert isinstance(value, kind)

    check()
    assert seen[0] >= count // 2


@pytest.mark.parametrize(
    "read", [reader[0] for reader in READERS] + [parse_chord], ids=lambda value: value.__qualname__
)
@pytest.mark.parametrize("filler", [" ", "b", "C", "ii of ", "\n", "7", "-", "minor ", "(", "♭", "i"], ids=ascii)
def test_a_very_long_text_is_refused_at_once(read, filler):
    """A hundred thousand characters are refused in one line, whatever they are, without a pause."""
    with pytest.raises(DrillsError) as refusal:
        read(filler * (100_000 // len(filler)))
    assert one_line(refusal.value)
