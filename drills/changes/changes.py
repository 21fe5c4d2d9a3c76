"""Changes as values: slots in bars, bars in sections, and the bars in the order they are played.

The text form (a ``.changes`` file, or the same text on the command line):

    title: Slow blues               name: value, one to a line
    key: F                          the key of the whole, if you want to say it
    metre: 4/4                      4/4 when not said
    tempo: 96                       quarter notes a minute
    feel: swing                     or straight
    form: A A B A                   order of the sections, as written when not said

    [A]                             a section and its label
    |: F7 | Bb7 | F7 | % |          bars between |, % is the bar before once more
    |1. C7 | F7 :|2. C7 F7 | C7 |   first and second endings, :| x3 for three times
    [B] key: Bb                     key and metre may change with a section
    metre: 3/4                      or on a line between bars
    | Cm7 . F7 | Bbmaj7*2 G7*1 |    two beats and one, in two ways
    | Dm7{Aeolian} | G7{V of C minor} | N.C. |

- A bar stands on one line; the end of a line is a bar line too. ``;`` is the end of a
  line, so that a whole file can be typed on a command line.
- Chords of a bar share it evenly; ``.`` (or ``/``) holds the chord for one more share, so
  ``Cm7 . . F7`` in 4/4 is three beats and one. ``*`` gives a length in beats instead,
  ``*1.5`` or ``*3/2``; chords of that bar without one share what is left.
- A text without any bar line is one bar per chord: ``Cm7 F7 Bbmaj7``.
- ``{...}`` after a chord is the player's own choice of mode: a mode's name, or the
  chord's place in a key.
- ``:|`` goes back to ``|:``, or to the start of its section when there is none.
- ``[]`` opens a section without a label; ``key: none`` takes back a stated key.
- After a section's label, key and metre are those of the head of the file again.
- ``#`` after a space, or at the start of a line, begins a remark.
- A slash chord is written without spaces: ``C7/E``.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from drills.errors import ChangesError
from drills.theory.chord import Chord
from drills.theory.key import Key

__all__ = ["NO_CHORD", "WITHOUT_CHORDS", "Bar", "Changes", "Metre", "Section", "Slot", "WrittenBar"]

WITHOUT_CHORDS = "the changes hold no chord; write some, such as | Cm7 | F7 |"
"""What is said where a page has bars but nothing to play over."""

NO_CHORD = "N.C."
"""What is written and shown where no chord sounds."""

_UNITS = (1, 2, 4, 8, 16, 32)


@dataclass(frozen=True, slots=True)
class Metre:
    """How many beats a bar has, 1 to 64, and which part of a whole note each is; 4/4 is ``Metre(4, 4)``.

    Raises ChangesError when the beats are out of range or the unit is not 1, 2, 4, 8, 16 or 32.
    """

    beats: int = 4
    unit: int = 4

    def __post_init__(self) -> None:
        if not 1 <= self.beats <= 64 or self.unit not in _UNITS:
            raise ChangesError(f"metre {self.beats}/{self.unit}: expected such as 4/4, 3/4 or 6/8 (1 to 64 beats)")

    @property
    def quarters(self) -> Fraction:
        """Length of a bar in quarter notes."""
        return Fraction(4 * self.beats, self.unit)

    def __str__(self) -> str:
        return f"{self.beats}/{self.unit}"


@dataclass(frozen=True, slots=True)
class Slot:
    """One chord in a bar.

    beat: where it starts, 1 is the first beat. beats: how long it lasts; both in
        beats of the bar's metre.
    chord: what sounds, an extended symbol reduced to its seventh chord with the
        rest as tensions, or None for no chord.
    text: the symbol as written. mode: the player's own choice, as written, or "".
    line, column: place in the text, 1-based, 0 when there is none; not compared.
    """

    beat: Fraction
    beats: Fraction
    chord: Chord | None
    text: str
    mode: str = ""
    line: int = field(default=0, compare=False)
    column: int = field(default=0, compare=False)

    @property
    def sounding(self) -> Chord:
        """The chord of a slot known to have one; raises ValueError where there is no chord."""
        if self.chord is None:
            raise ValueError(f"beat {self.beat}: there is no chord here")
        return self.chord


@dataclass(frozen=True, slots=True)
class WrittenBar:
    """A bar as written.

    opens: whether a repeat begins here. closes: how many times in all what the
        repeat holds is played, 0 when no repeat ends here.
    endings: the passes this bar begins an ending for, e.g. ``(1,)``.
    key: as stated at this place, or None. line: in the text, not compared.
    """

    slots: tuple[Slot, ...]
    metre: Metre
    key: Key | None = None
    opens: bool = False
    closes: int = 0
    endings: tuple[int, ...] = ()
    line: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class Section:
    """Bars under one label (``""`` when there is none)."""

    label: str
    bars: tuple[WrittenBar, ...]


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar in playing order.

    number: 1, 2, 3 ... as played, from 0 where the page begins with a pickup. section: the label.
    written: index of the section and of the bar in it, so that a played bar leads back to its place on the page.
    """

    number: int
    section: str
    written: tuple[int, int]
    metre: Metre
    key: Key | None
    chords: tuple[Slot, ...]


@dataclass(frozen=True, slots=True)
class Changes:
    """A page of changes.

    form: labels in playing order, empty for the sections as written, once each.
    key, metre: of the head. tempo: quarter notes a minute, or None.
    feel: ``swing``, ``straight`` or "". remarks: what the reader should be told;
        not compared.
    before, after: of an excerpt, the bars of the page before and after it, by which it is heard; not compared.
    bars: every bar in playing order, repeats and endings written out.

    Raises ChangesError when a repeat, an ending or the form makes no sense.
    """

    title: str
    sections: tuple[Section, ...]
    form: tuple[str, ...] = ()
    key: Key | None = None
    metre: Metre = Metre()
    tempo: float | None = None
    feel: str = ""
    remarks: tuple[str, ...] = field(default=(), compare=False)
    before: tuple[Bar, ...] = field(default=(), repr=False, compare=False)
    after: tuple[Bar, ...] = field(default=(), repr=False, compare=False)
    bars: tuple[Bar, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        from drills.changes.playing_order import played_bars  # the values come first, what is done with them after

        object.__setattr__(self, "bars", played_bars(self.sections, self.form, whole=not self.before))

    @property
    def slots(self) -> tuple[tuple[Bar, Slot], ...]:
        """Every chord in playing order, with its bar."""
        return tuple((bar, slot) for bar in self.bars for slot in bar.chords)
