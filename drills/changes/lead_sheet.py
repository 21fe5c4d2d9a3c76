"""Reads a MusicXML lead sheet as changes: its harmony, metre, key, repeats and rehearsal marks."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from drills.changes.changes import NO_CHORD, Changes, Metre, Section, Slot, WrittenBar
from drills.changes.chord_of_degrees import chord_of_degrees, symbol_of
from drills.changes.jumps import JUMPS, Jumps, followed, runs
from drills.changes.musicxml_file import musicxml_tree
from drills.changes.playing_order import played_bars
from drills.errors import ChangesError, LeadSheetError, SymbolError, TheoryError
from drills.safe_text import one_line
from drills.theory.chord import Chord
from drills.theory.chord_kinds import DegreeChange, degrees_of_kind
from drills.theory.interval import Interval
from drills.theory.key import Key
from drills.theory.note import LETTERS, Note
from drills.theory.symbol import parse_chord

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

__all__ = ["read_musicxml"]

_JUMP_WORDS = re.compile(
    r"(?:d\.? ?[cs]\.?|da capo|dal segno)(?: al (?:coda|fine))?\.?|to coda|fine|al fine", re.IGNORECASE
)
"""How jumps are written in words."""
_MOST_MEASURES, _MOST_LABELS = 2_000, 200
_MOST_SYMBOLS = 20_000
"""Chord symbols and their altered degrees in one part, together: ten times what the longest part read has."""

_MOST_REMARKS = _MOST_UNKNOWN = 50
_LONGEST_BEATS = 40


def read_musicxml(path: Path) -> Changes:
    """The changes of a MusicXML lead sheet, plain or compressed.

    The part with the most chord symbols is read. A bar takes the length its notes have,
    so that a pickup is a short bar. A bar without a symbol of its own carries the chord
    before it; bars before the first symbol have no chord. A transposing part is read at
    sounding pitch. Marked jumps are followed and written out. What cannot be followed (jumps that are only words,
    repeats inside repeats, chords without a third) is said in the remarks.

    Raises LeadSheetError naming the file when it holds no lead sheet.
    """
    root = musicxml_tree(path)
    if root.tag == "score-timewise":
        raise LeadSheetError(f"{path}: ordered by measure (score-timewise); export it by part (score-partwise)")
    parts = root.findall("part")
    if root.tag != "score-partwise" or not parts:
        raise LeadSheetError(f"{path}: expected a MusicXML score-partwise with a part, got <{root.tag[:40]}>")
    part = max(parts, key=lambda one: sum(1 for _ in one.iter("harmony")))
    if part.find(".//harmony") is None:
        raise LeadSheetError(f"{path}: holds no chord symbols (harmony elements); nothing to read")
    measures = part.findall("measure")
    if len(measures) > _MOST_MEASURES:
        raise LeadSheetError(f"{path}: {len(measures):,} measures; expected at most {_MOST_MEASURES:,}")
    symbols = sum(1 for _ in part.iter("harmony")) + sum(1 for _ in part.iter("degree"))
    if symbols > _MOST_SYMBOLS:
        raise LeadSheetError(f"{path}: {symbols:,} chord symbols and degrees; expected at most {_MOST_SYMBOLS:,}")
    sheet = _Sheet()
    try:
        for measure in measures:
            sheet.measure(measure)
        title = _text(root, "work/work-title") or _text(root, "movement-title") or one_line(path.stem)
        return sheet.changes(title)
    except (TheoryError, ChangesError) as error:
        raise LeadSheetError(f"{path}: {error}") from error


def _text(element: Element, path: str) -> str:
    return one_line(element.findtext(path) or "")[:200]


def _whole(text: str | None) -> int | None:
    """A whole number, or None; MusicXML allows 1.0 for alterations."""
    match = re.fullmatch(r"\s*(-?[0-9]{1,6})(?:\.0*)?\s*", text or "")
    return int(match[1]) if match else None


def _length(text: str | None) -> Fraction:
    match = re.fullmatch(r"\s*(-?[0-9]{1,9}(?:\.[0-9]{1,6})?)\s*", text or "")
    return Fraction(match[1]) if match else Fraction(0)


@dataclass
class _Sheet:
    """The part read so far."""

    bars: list[WrittenBar] = field(default_factory=list)
    labels: dict[int, str] = field(default_factory=dict)
    remarks: list[str] = field(default_factory=list)
    named: dict[str, Chord | None] = field(default_factory=dict)
    unknown: int = 0
    metre: Metre = field(default_factory=Metre)
    key: Key | None = None
    tempo: float | None = None
    divisions: Fraction = Fraction(1)
    chord: tuple[Chord | None, str] = (None, NO_CHORD)
    late: tuple[Chord | None, str] | None = None
    sounding: Interval = field(default_factory=lambda: Interval(0, 0))
    jumps: Jumps = field(default_factory=Jumps)
    words: list[tuple[int, str]] = field(default_factory=list)
    uncounted: bool = False
    """Whether the first bar is a pickup that the page does not count."""

    def measure(self, measure: Element) -> None:
        number = len(self.bars) + 1
        if not self.bars:
            self.uncounted = measure.get("implicit") == "yes" or measure.get("number") == "0"
        now = longest = Fraction(0)
        found: dict[Fraction, tuple[Chord | None, str]] = {}
        if self.late is not None:
            found[Fraction(0)], self.late = self.late, None
        opens, closes = False, 0
        endings: tuple[int, ...] = ()
        for element in measure:
            if element.tag == "note":
                if element.find("chord") is None and element.find("grace") is None:
                    now += _length(element.findtext("duration")) / self.divisions
            elif element.tag == "backup":
                now = max(Fraction(0), now - _length(element.findtext("duration")) / self.divisions)
            elif element.tag == "forward":
                now += _length(element.findtext("duration")) / self.divisions
            elif element.tag == "attributes":
                self._attributes(element, number)
            elif element.tag == "harmony":
                read = self._sounds(self._harmony(element, number))
                at = max(Fraction(0), now + _length(element.findtext("offset")) / self.divisions)
                if read is not None:
                    if at in found and found[at] != read:
                        self.remarks.append(
                            f"bar {number - self.uncounted}: two symbols at one place; {found[at][1]} is kept"
                        )
                    found.setdefault(at, read)
            elif element.tag == "barline":
                opens, closes, endings = self._barline(element, opens, closes, endings)
            elif element.tag in ("direction", "sound"):
                self._direction(element, number, now == 0 and any(each.tag == "note" for each in measure))
            longest = max(longest, now)
        metre = self._bar_metre(longest, number)
        slots = self._slots(found, metre)
        self.bars.append(WrittenBar(slots, metre, self.key, opens, closes, endings))

    def _attributes(self, element: Element, number: int) -> None:
        divisions = _length(element.findtext("divisions"))
        if divisions > 0:
            self.divisions = divisions
        time = element.find("time")
        if time is not None and time.find("beats") is not None:
            parts = [_whole(part) for part in (time.findtext("beats") or "")[:_LONGEST_BEATS].split("+")]
            unit = _whole(time.findtext("beat-type"))
            try:
                # A number that is none becomes 0, which no metre has.
                self.metre = Metre(sum(part or 0 for part in parts) if None not in parts else 0, unit or 0)
            except ChangesError:
                self.remarks.append(f"bar {number - self.uncounted}: the metre is not understood; {self.metre} is kept")
        transpose = element.find("transpose")
        if transpose is not None:
            self._transposing(transpose, number)
        key = element.find("key")
        if key is not None:
            self.key = _key(key)
            if self.key is not None:
                try:
                    self.key = self.key.transposed(self.sounding)
                except TheoryError:
                    self.key = None
                    self.remarks.append(
                        f"bar {number - self.uncounted}: the key at sounding pitch has no signature; none is stated"
                    )

    def _transposing(self, element: Element, number: int) -> None:
        """The interval from written to sounding pitch, whole octaves left out (MusicXML 4.0, transpose)."""
        chromatic = (_whole(element.findtext("chromatic")) or 0) % 12
        given = _whole(element.findtext("diatonic"))
        # Steps of the usual transposing parts when the file does not say them.
        steps = (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)[chromatic] if given is None else given % 7
        self.sounding = Interval(steps, chromatic)
        if chromatic:
            self.remarks.append(
                f"bar {number - self.uncounted}: a transposing part; chords and keys are read at sounding pitch"
            )

    def _sounds(self, read: tuple[Chord | None, str] | None) -> tuple[Chord | None, str] | None:
        """A symbol at sounding pitch."""
        if read is None or read[0] is None or not self.sounding.semitones:
            return read
        return symbol_of(read[0].transposed(self.sounding))

    def _harmony(self, element: Element, number: int) -> tuple[Chord | None, str] | None:
        kind = element.find("kind")
        name = ((kind.text if kind is not None else "") or "").strip()
        if name == "none":
            return None, NO_CHORD
        root = _note(element.find("root"), "root")
        if root is None:
            self.remarks.append(f"bar {number - self.uncounted}: a symbol without a root is left out")
            return None
        changes: list[DegreeChange] = []
        for degree in element.findall("degree"):
            value, alter = _whole(degree.findtext("degree-value")), _whole(degree.findtext("degree-alter")) or 0
            if value is not None and 1 <= value <= 13 and abs(alter) <= 2:
                changes.append(((degree.findtext("degree-type") or "").strip(), value, alter))
        degrees = degrees_of_kind(name, changes)
        if degrees is None:
            # A kind outside the standard's list often carries the symbol as its text.
            named = self._named(root, kind.get("text") or name if kind is not None else "")
            if named is not None:
                return symbol_of(replace(named, bass=_note(element.find("bass"), "bass")))
            if self.unknown > _MOST_UNKNOWN:
                raise ChangesError(f"more than {_MOST_UNKNOWN} kinds of chord that are not understood; export it again")
            self.remarks.append(f"bar {number - self.uncounted}: {root} with the kind {name[:30]!r} is left out")
            return None
        bass = _note(element.find("bass"), "bass")
        chord, exact = chord_of_degrees(root, None if bass == root else bass, degrees)
        printed = (kind.get("text") or "") if kind is not None else ""
        shown = self._named(root, printed) if printed else None
        if exact and shown is not None and shown.quality == chord.quality and set(shown.tensions) > set(chord.tensions):
            # The elements of a harmony hold one ninth; what is printed of an altered chord says both.
            over = f"/{chord.bass.name}" if chord.bass else ""
            return replace(shown, bass=chord.bass), f"{root.name}{printed}{over}"
        chord, text = symbol_of(chord)
        if not exact:
            self.remarks.append(f"bar {number - self.uncounted}: {root} {name} is read as {text}")
        return chord, text

    def _named(self, root: Note, suffix: str) -> Chord | None:
        """The chord of that suffix, or None. Each is read once: what is not understood takes long, as a near one is
        looked for, so that after many such no more are tried."""
        text = root.name + suffix
        if text not in self.named:
            if self.unknown > _MOST_UNKNOWN:
                return None
            try:
                self.named[text] = parse_chord(text, reduce=True)
            except SymbolError:
                self.named[text] = None
                self.unknown += 1
        return self.named[text]

    @staticmethod
    def _barline(
        element: Element, opens: bool, closes: int, endings: tuple[int, ...]
    ) -> tuple[bool, int, tuple[int, ...]]:
        repeat, ending = element.find("repeat"), element.find("ending")
        if repeat is not None and repeat.get("direction") == "forward":
            opens = True
        if repeat is not None and repeat.get("direction") == "backward":
            closes = min(9, max(2, _whole(repeat.get("times")) or 2))
        if ending is not None and ending.get("type") == "start":
            endings = tuple(sorted({int(n) for n in re.findall(r"[1-9]", ending.get("number") or "")}))
        return opens, closes, endings

    def _direction(self, element: Element, number: int, at_start: bool) -> None:
        rehearsal = one_line(element.findtext("direction-type/rehearsal") or "")
        label = re.sub(r"[\[\]]", "", rehearsal)[:40].strip()
        if label:
            self.labels.setdefault(number - 1, label)
        sounds = [element] if element.tag == "sound" else element.findall("sound")
        marked = [jump for sound in sounds for jump in JUMPS if sound.get(jump)]
        # A jump back is made at its bar's end wherever it is printed; the other marks count where they stand.
        self.jumps.left += [(number - 1, jump, at_start and jump in ("tocoda", "fine")) for jump in marked]
        for words in element.findall("direction-type/words"):
            said = one_line(words.text or "")[:200].strip()
            if _JUMP_WORDS.fullmatch(said) and not marked:
                self.words.append((number, said))
        for sound in sounds:
            if sound.get("segno") and self.jumps.segno is None:
                self.jumps.segno = number - 1
            if sound.get("coda") and self.jumps.coda is None:
                self.jumps.coda = number - 1
            tempo = _length(sound.get("tempo"))
            if self.tempo is None and 20 <= tempo <= 400:
                self.tempo = round(float(tempo), 3)

    def _bar_metre(self, quarters: Fraction, number: int) -> Metre:
        """The metre in force, or one as long as the bar's notes are (a pickup, a bar split by a repeat)."""
        if quarters in (0, self.metre.quarters):
            return self.metre
        for unit in (self.metre.unit, 4, 8, 16, 32):
            beats = quarters * unit / 4
            if beats.denominator == 1 and 1 <= beats <= 64:
                return Metre(int(beats), unit)
        self.remarks.append(
            f"bar {number - self.uncounted}: its notes fill no whole number of beats; {self.metre} is kept"
        )
        return self.metre

    def _slots(self, found: dict[Fraction, tuple[Chord | None, str]], metre: Metre) -> tuple[Slot, ...]:
        inside = {at: read for at, read in found.items() if at < metre.quarters}
        late = [read for at, read in sorted(found.items(), key=lambda item: item[0]) if at >= metre.quarters]
        if late:
            self.late = late[-1]  # a symbol at the very end of a bar belongs to the next
        inside.setdefault(Fraction(0), self.chord)
        starts = sorted(inside)
        slots: list[Slot] = []
        for start, end in pairwise([*starts, metre.quarters]):
            chord, text = inside[start]
            scale = Fraction(metre.unit, 4)
            if slots and slots[-1].text == text:
                slots[-1] = replace(slots[-1], beats=slots[-1].beats + (end - start) * scale)
            else:
                slots.append(Slot(1 + start * scale, (end - start) * scale, chord, text))
        self.chord = (slots[-1].chord, slots[-1].text)
        return tuple(slots)

    # The whole

    def changes(self, title: str) -> Changes:
        try:
            order = self._order({})
        except ChangesError:
            self.remarks.append("the repeats are not understood; every bar is read once, in written order")
            self.bars = [replace(bar, opens=False, closes=0, endings=()) for bar in self.bars]
            order = self._order({})
        jumped = self._jumped(order)
        if jumped is not None:
            return self._written_out(title, jumped)
        cuts: dict[int, str] = {}
        for index, label in list(self.labels.items())[:_MOST_LABELS]:
            trial = {**cuts, index: label}
            try:
                fits = self._order(trial) == order
            except ChangesError:
                fits = False
            if fits:
                cuts = trial
            else:
                # A section of ours holds its repeats whole.
                self.remarks.append(f"bar {index + 1}: the mark {label} stands inside a repeat and is left out")
        return Changes(
            title, self._sections(cuts), key=self.bars[0].key, metre=self._head_metre(), tempo=self.tempo,
            remarks=_few(self.remarks),
        )  # fmt: skip

    def _jumped(self, order: list[int]) -> list[int] | None:
        """The bars as played with the page's jumps; None where there is none to follow, and why is said."""
        for number, said in self.words:
            self.remarks.append(
                f"bar {number - self.uncounted}: {said!r} is only words and is not followed; mark the jump in the "
                "program it was written in, or write the form out"
            )
        if not self.jumps.left:
            return None
        found = followed(self.jumps, order)
        if isinstance(found, str):
            for index, _, _ in self.jumps.left:
                self.remarks.append(f"bar {index + 1}: {found}")
            return None
        parts = ", ".join(f"{first + 1}-{last + 1}" if last > first else f"{first + 1}" for first, last in runs(found))
        self.remarks.append(f"the jumps are followed: bars {parts} as written, in this order")
        return found

    def _written_out(self, title: str, order: list[int]) -> Changes:
        """The page with repeats and jumps written out, a section for each stretch and each mark."""
        sections: list[Section] = []
        for first, last in runs(order):
            cuts = sorted({first, *(index for index in self.labels if first < index <= last)})
            for start, end in pairwise([*cuts, last + 1]):
                bars = tuple(replace(bar, opens=False, closes=0, endings=()) for bar in self.bars[start:end])
                sections.append(Section(self.labels.get(start, ""), bars))
        return Changes(
            title, tuple(sections), key=self.bars[0].key, metre=self._head_metre(), tempo=self.tempo,
            remarks=_few(self.remarks),
        )  # fmt: skip

    def _sections(self, cuts: dict[int, str]) -> tuple[Section, ...]:
        starts = sorted({0, *cuts})
        return tuple(
            Section(cuts.get(first, ""), tuple(self.bars[first:last]))
            for first, last in pairwise([*starts, len(self.bars)])
        )

    def _order(self, cuts: dict[int, str]) -> list[int]:
        """Indices of the bars as played when the part is cut there."""
        starts = sorted({0, *cuts})
        return [starts[bar.written[0]] + bar.written[1] for bar in played_bars(self._sections(cuts), ())]

    def _head_metre(self) -> Metre:
        """The metre most bars have, so that a pickup does not name the whole."""
        metres = [bar.metre for bar in self.bars]
        return max(dict.fromkeys(metres), key=metres.count)


def _few(remarks: list[str]) -> tuple[str, ...]:
    """The remarks, each once; of very many the first, and how many more there are."""
    once = tuple(dict.fromkeys(remarks))
    more = len(once) - _MOST_REMARKS
    return once if more <= 0 else (*once[:_MOST_REMARKS], f"and {more:,} remarks more")


def _note(element: Element | None, name: str) -> Note | None:
    if element is None:
        return None
    step = (element.findtext(f"{name}-step") or "").strip()
    alter = _whole(element.findtext(f"{name}-alter")) or 0
    if len(step) != 1 or step not in LETTERS or abs(alter) > 2:
        return None
    return Note(LETTERS.index(step), alter)


def _key(element: Element) -> Key | None:
    """The stated key; None when the mode is not said, since a signature alone leaves major and minor open."""
    fifths = _whole(element.findtext("fifths"))
    mode = (element.findtext("mode") or "").strip().lower()
    if fifths is None or abs(fifths) > 7 or mode not in ("major", "minor", "ionian", "aeolian"):
        return None
    minor = mode in ("minor", "aeolian")
    place = fifths + (3 if minor else 0)
    tonic = next(
        n for step, _ in enumerate(LETTERS) for alter in (-1, 0, 1) if (n := Note(step, alter)).fifths == place
    )
    return Key(tonic, "harmonic minor" if minor else "major")
