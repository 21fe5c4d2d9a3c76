"""Hypothesis strategies for every kind of value the tests draw."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from fractions import Fraction
from random import Random

from hypothesis import strategies as st

from drills.cards.slips import SLIPS
from drills.changes.changes import NO_CHORD, Changes, Metre, Section, Slot, WrittenBar
from drills.neck.tuning import NamedTuning, read_tunings
from drills.theory.chord import Chord
from drills.theory.interval import Interval
from drills.theory.key import Key
from drills.theory.mode import PARENTS, Mode, modes
from drills.theory.note import NATURAL_SEMITONES, Note, Pitch
from drills.theory.quality import Quality, shipped_qualities
from drills.theory.symbol import parse_chord
from scheduler.grade import Grade
from scheduler.log.events import STAMP_STEP_US, Event, Flag, Lock, Meet, Rest, Slip, Ticket, Undo, Wake, Witness, as_us
from scheduler.review import Review
from tests.signatures import signature_keys

USUAL_ROOTS = tuple(["C", "C#", "Db", "D", "D#", "Eb", "E", "F", "F#", "Gb", "G", "G#", "Ab", "A", "A#", "Bb", "B"])
"""The 17 roots in use when no key forces another."""

ALL_KEYS = tuple(key for parent in PARENTS for key in signature_keys(parent))
"""The 45 keys: three parent scales in fifteen signatures."""

# ---- theory


def notes(most: int = 3) -> st.SearchStrategy[Note]:
    """Note names with up to `most` accidentals."""
    return st.builds(Note, st.integers(0, 6), st.integers(-most, most))


def printed(note: Note) -> str:
    """A note's name with printed accidentals, e.g. ``B♭`` or ``F𝄪``."""
    signs = {"b": "♭", "bb": "𝄫", "bbb": "𝄫♭", "#": "♯", "##": "𝄪", "###": "𝄪♯", "": ""}
    return note.name[0] + signs[note.name[1:]]


def usual_roots() -> st.SearchStrategy[Note]:
    """The 17 usual roots."""
    return st.sampled_from([Note.parse(name) for name in USUAL_ROOTS])


def pitches(most: int = 3) -> st.SearchStrategy[Pitch]:
    """Spelled pitches in octaves -1 to 9."""
    return st.builds(Pitch, notes(most), st.integers(-1, 9))


def intervals(most_steps: int = 15, most_change: int = 3) -> st.SearchStrategy[Interval]:
    """Spelled intervals upward or downward, up to triply augmented or diminished."""

    def build(steps: int, change: int, down: bool) -> Interval:
        octaves, step = divmod(steps, 7)
        up = Interval(steps, 12 * octaves + NATURAL_SEMITONES[step] + change)
        return -up if down else up

    return st.builds(build, st.integers(0, most_steps), st.integers(-most_change, most_change), st.booleans())


def qualities() -> st.SearchStrategy[Quality]:
    """The shipped qualities."""
    return st.sampled_from(list(shipped_qualities()))


def chords() -> st.SearchStrategy[Chord]:
    """Shipped qualities on the 17 usual roots."""
    return st.builds(Chord, usual_roots(), qualities())


def keys() -> st.SearchStrategy[Key]:
    """All 45 keys."""
    return st.sampled_from(ALL_KEYS)


def mode_values() -> st.SearchStrategy[Mode]:
    """The 21 modes and the other scales."""
    return st.sampled_from(list(modes().values()))


# ---- neck


def tunings() -> st.SearchStrategy[NamedTuning]:
    """The shipped tunings, each with its usual scale length."""
    return st.sampled_from(list(read_tunings().values()))


# ---- tunes

USUAL_METRES = ((4, 4), (3, 4), (2, 4), (5, 4), (6, 8), (7, 8), (12, 8), (2, 2))
WRITTEN_SUFFIXES = ("", "m", "7", "maj7", "m7", "m7b5", "dim7", "m6", "mMaj7", "6", "7sus4", "7#5")
EXTENDED_SUFFIXES = ("9", "13", "7alt", "7b9", "m9")
"""Symbols as players write them, extended and altered ones included."""


SIGNED_KEYS = tuple(key for key in ALL_KEYS if key.parent != "melodic minor")
"""Major and plain minor keys, as a page of changes states them."""


def _bar_of_slots(rng: Random, metre: Metre) -> tuple[Slot, ...]:
    """One to four chords that fill a bar in halves of a beat."""
    halves = 2 * metre.beats
    cuts = sorted(rng.sample(range(1, halves), rng.randint(0, min(3, halves - 1))))
    slots = []
    for start, end in zip([0, *cuts], [*cuts, halves], strict=True):
        text = rng.choice(USUAL_ROOTS) + rng.choice(WRITTEN_SUFFIXES + EXTENDED_SUFFIXES)
        text += rng.choice(("", "", "", "/" + rng.choice(USUAL_ROOTS)))
        chord = None if rng.random() < 0.1 else parse_chord(text, reduce=True)
        mode = rng.choice(("", "", "", "Dorian", "altered")) if chord else ""
        beat, beats = 1 + Fraction(start, 2), Fraction(end - start, 2)
        slots.append(Slot(beat, beats, chord, text if chord else NO_CHORD, mode))
    return tuple(slots)


def _section(rng: Random, label: str, key: Key | None, metre: Metre) -> Section:
    """One to eight bars, perhaps changing key and metre, perhaps with a repeat and two endings."""
    bars = []
    for _ in range(rng.randint(1, 8)):
        if rng.random() < 0.15:
            key, metre = rng.choice((None, *SIGNED_KEYS)), Metre(*rng.choice(USUAL_METRES))
        bars.append(WrittenBar(_bar_of_slots(rng, metre), metre, key))
    shape, last = rng.choice(("plain", "repeat", "endings")), len(bars) - 1
    if shape == "repeat":
        first = rng.randint(0, last)
        bars[first] = replace(bars[first], opens=True)
        bars[last] = replace(bars[last], closes=rng.randint(2, 4))
    elif shape == "endings" and last >= 2:
        bars[0] = replace(bars[0], opens=True)
        bars[last - 1] = replace(bars[last - 1], endings=(1,), closes=2)
        bars[last] = replace(bars[last], endings=(2,))
    return Section(label, tuple(bars))


def _page(seed: int) -> Changes:
    rng = Random(seed)
    key, metre = rng.choice((None, *SIGNED_KEYS)), Metre(*rng.choice(USUAL_METRES))
    labels = [letter + rng.choice(("", " part", "2")) for letter in "ABC"[: rng.randint(1, 3)]]
    if len(labels) == 1 and rng.random() < 0.5:
        labels = [""]
    written = tuple(_section(rng, label, key, metre) for label in labels)
    form = tuple(rng.choices(labels, k=rng.randint(0, 5))) if all(labels) else ()
    tempo, feel = rng.choice((None, 60.0, 92.5, 200.0)), rng.choice(("", "swing", "straight"))
    return Changes(rng.choice(("", "A page", "Blues no. 2")), written, form, key, metre, tempo, feel)


def pages_of_changes() -> st.SearchStrategy[Changes]:
    """Changes of one to three sections, with or without a stated key, a tempo, a feel and a form.

    Drawn by seed: a page has hundreds of parts, and drawing each would cost more than the test.
    """
    return st.integers(0, 10**9).map(_page)


def progressions(most: int = 7) -> st.SearchStrategy[str]:
    """Up to `most` chords of the first four qualities, one bar each."""
    symbol = st.builds("{}{}".format, st.sampled_from(USUAL_ROOTS), st.sampled_from(("maj7", "m7", "7", "m7b5")))
    return st.lists(symbol, min_size=1, max_size=most).map(" ".join)


# ---- logs

LOG_START = datetime(2024, 1, 1, 18, 0, tzinfo=UTC)
LOG_IDS = ("aaaa0000", "bbbb1111", "cccc2222")
"""Ids of three machines' logs."""


def moments() -> st.SearchStrategy[datetime]:
    """Times of some years, to the microsecond, with local offsets from all round the world."""
    zones = st.integers(-12 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))
    after = st.integers(0, 3 * 365 * 86_400_000_000).map(lambda us: timedelta(microseconds=us))
    return st.builds(lambda gap, zone: (LOG_START + gap).astimezone(zone), after, zones)


def odd_names() -> st.SearchStrategy[str]:
    """Printable ids, with what spreadsheets and separators trip over."""
    odd = ["=1+1", "'", "''x", "-3", "+a", "@b", "a,b", 'say "x"', "a;b", " lead", "50% off", "＝x", "é♭"]
    # str.isprintable: a space, and whatever is neither a control nor a separator; drawn, not sifted out.
    printable = st.just(" ") | st.characters(exclude_categories=("C", "Z"))
    return st.sampled_from(odd) | st.text(printable, min_size=1, max_size=12)


def reviews(
    cards: st.SearchStrategy[str] | None = None, at: st.SearchStrategy[datetime] | None = None
) -> st.SearchStrategy[Review]:
    """Reviews of any kind, each with an id of its own."""
    numbers = st.floats(0, 1e6)
    return st.builds(
        Review,
        card=st.sampled_from(["a/b/c", "d", "e"]) | odd_names() if cards is None else cards,
        grade=st.sampled_from(list(Grade)),
        at=moments() if at is None else at,
        seconds=numbers,
        attempt=st.sampled_from(["first", "first", "repeat"]),
        skills=st.lists(odd_names(), max_size=3).map(tuple),
        spent=st.none() | numbers,
        session=st.none() | odd_names(),
        id=st.uuids().map(lambda one: one.hex),
        slip=st.sampled_from([None, None, *SLIPS]),
        tempo_bpm=st.none() | numbers,
        predicted=st.none() | st.floats(0, 1),
    )


def histories(most: int = 25) -> st.SearchStrategy[list[Event]]:
    """Events of three machines whose clocks disagree, undoing and naming one another's reviews."""
    return st.lists(st.tuples(st.integers(0, 2), st.integers(0, 10**9), st.integers(-90, 90)), max_size=most).map(
        _history
    )


def _history(steps: list[tuple[int, int, int]]) -> list[Event]:
    events: list[Event] = []
    stamps = dict.fromkeys(LOG_IDS, 0)
    for number, (machine, seed, skew_minutes) in enumerate(steps):
        rng = Random(seed)
        log = LOG_IDS[machine]
        at = LOG_START + timedelta(minutes=7 * number + skew_minutes, microseconds=rng.randrange(10**6))
        at = at.astimezone(timezone(timedelta(hours=machine - 1)))
        known = [event.id for event in events] or ["not-here-yet"]
        card, subject = rng.choice("pqr"), rng.choice(("form-1", "form-2"))
        slip, value, target = rng.choice((None, *SLIPS)), rng.choice((None, "2 1 4")), rng.choice(known)
        one = Review(card, rng.choice(list(Grade)), at, 3.5, skills=("form:x",), id=f"{log}-{number}")
        body = rng.choice((
            one, one, replace(one, attempt="repeat"), Undo(target), Slip(target, slip), Rest(card), Wake(card),
            Flag(card, "which finger?"), Lock(subject, value), Ticket(subject, value), Meet(card, ("form:x", "root:y")),
            Witness(target, Grade.CLEAN, "shown", "comb 1", 0.75, "48r"),
        ))  # fmt: skip
        stamps[log] = max(as_us(at), stamps[log] + STAMP_STEP_US)
        events.append(Event(f"{log}-{number}", log, stamps[log], at, body))
    return events


# ---- text that nobody should type


def odd_text(alphabet: str, most: int = 30) -> st.SearchStrategy[str]:
    """Text near the meaningful alphabet, or anything Unicode holds, lone surrogates and controls included."""
    near = st.text(st.sampled_from(alphabet), max_size=most)
    anything = st.text(st.characters(), max_size=most)
    return st.one_of(
        near,
        anything,
        st.builds(lambda a, b, c: a + b + c, near, anything, near),
        st.builds(str.__mul__, near, st.integers(0, 400)),
    )
