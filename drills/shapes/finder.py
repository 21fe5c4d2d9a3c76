"""Finds shapes on a neck: searches layouts and fingerings, names what does not fit and why."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import lru_cache

from drills.errors import NotPlayableError
from drills.neck.neck import Neck
from drills.neck.strings import StringSet
from drills.shapes.figure_tones import figure_label, figure_tones
from drills.shapes.fingering import line_cost, line_fingerings
from drills.shapes.form import Form
from drills.shapes.grip_fingering import grip_cost, grip_fingerings
from drills.shapes.hand import hand_range
from drills.shapes.layout import layouts
from drills.shapes.shape import Placement, Shape, signature_of
from drills.shapes.steps import WIDEST, Places, Steps
from drills.shapes.tones import degree_label, rising_tones, voicing_tones
from drills.theory.chord import Chord
from drills.theory.interval import Interval, transpose_note
from drills.theory.note import Note, pitch_of

__all__ = ["ShapeFinder"]

ALTERNATE_WIDEST = 4
"""Widest alternate layout offered, in frets: the five-fret form."""

LOCK_LIMIT = 60
"""Fingers that cost so much make the hand jump at every note: they are not kept as a fingering of one's own."""

_Fingered = dict[tuple[bool, Places], tuple[list[tuple[int, tuple[int, ...]]], bool]]
"""Maps a kind of shape and its places to the fingerings, cheapest first, and whether the list is complete."""

_FINGERED_WITHIN_REACH: _Fingered = {}
"""Fingerings by places counted from the first string and lowest fret. They hold on every neck where all is in reach."""


class ShapeFinder:
    """Finds shapes for one neck.

    neck: limits and tuning. locks: fingers by form signature, from the player or
    teacher; a lock overrides the search wherever that form appears. A lock that a
    hand cannot play at some fret is passed over there.

    Results are cached; only `lock` changes what a finder answers.
    """

    def __init__(self, neck: Neck, locks: Mapping[str, tuple[int, ...]] | None = None):
        self.neck = neck
        self.tuning = neck.sounding
        self.locks = dict(locks or {})
        self._fingered: _Fingered = {}  # where the neck itself decides: open strings, and what is not all in reach
        self._found: dict[tuple[Chord, Form, StringSet, int | None], Shape] = {}
        self._steps = Steps(self.tuning)
        self._open_midi = {string: self.tuning.midi(string, 0) for string in range(1, self.tuning.strings + 1)}
        self._reach = lru_cache(maxsize=None)(self._within_reach)

    def lock(self, signature: str, fingers: tuple[int, ...] | None) -> None:
        """Keeps fingers for a form from now on, or lets the search choose again (None)."""
        if fingers is None:
            self.locks.pop(signature, None)
        else:
            self.locks[signature] = fingers

    # -- what is asked -------------------------------------------------------

    def find(self, chord: Chord, form: Form, strings: StringSet) -> Shape:
        """The usual shape of a chord on a string set.

        The root (or starting note, or bass) lies in the neck's root range, else on
        an open string where the neck allows that; then, where the neck allows it,
        alternate layouts are tried.
        Raises NotPlayableError with the reason when nothing fits.
        """
        return self._once(chord, form, strings, None, lambda: self._usual(chord, form, strings))

    def alternates(self, chord: Chord, form: Form, strings: StringSet, count: int = 4) -> list[Shape]:
        """Other ways to play what `find` gives, the nearest to it first.

        Other fingerings of the usual places, then other layouts at the same root,
        then the open-string version and other octaves. At most `count` of each.
        """
        places, variant = self._usual(chord, form, strings)
        usual = self._shape(chord, form, strings, places, variant)
        found = [
            replace(self._with_fingers(chord, form, strings, places, cost, fingers), variant="fingering")
            for cost, fingers in self._fingerings(form, places, count + 1)
            if fingers != usual.fingers
        ][:count]
        seen = {places}
        for variant, others in (
            ("layout", self._other_layouts(chord, form, strings, places)),
            ("open strings", self._open_places(chord, form, strings)),
            ("octave", self._other_octaves(chord, form, strings)),
        ):
            kept = 0
            for other in others:
                if other in seen or kept == count or not self._fingerings(form, other, 1):
                    continue
                seen.add(other)
                kept += 1
                found.append(self._shape(chord, form, strings, other, variant))
        return found

    def fingerings(self, shape: Shape, count: int = 5) -> list[Shape]:
        """The cheapest ways to finger a shape where it lies, the usual one first, without regard to locks.

        The others come by how little the hand moves in them, then by their cost (drills/RULES.md, C2, 16).
        """
        places = tuple((note.string, note.fret) for note in shape.notes)
        usual, *others = self._fingerings(shape.form, places, count)
        frets = [note.fret for note in shape.notes]
        others.sort(key=lambda found: hand_range(frets, found[1]))
        return [
            self._with_fingers(
                shape.chord, shape.form, shape.strings, places, cost, fingers, "fingering" if number else ""
            )
            for number, (cost, fingers) in enumerate((usual, *others))
        ]

    def can_play(self, shape: Shape, fingers: tuple[int, ...]) -> bool:
        """Whether a hand can play a shape with these fingers without contortion (see LOCK_LIMIT)."""
        places = tuple((note.string, note.fret) for note in shape.notes)
        return len(fingers) == len(places) and self._cost_of(shape.form, places, fingers) is not None

    def _cost_of(self, form: Form, places: Places, fingers: tuple[int, ...]) -> int | None:
        """Cost of given fingers, one a note, or None when no hand would play them."""
        if form.kind == "grip":
            return grip_cost(places, fingers, self._reach)
        if form.down:
            places, fingers = places[::-1], fingers[::-1]
        cost = line_cost(places, fingers, self._reach)
        return cost if cost < LOCK_LIMIT else None

    def at(self, chord: Chord, form: Form, strings: StringSet, first_fret: int) -> Shape:
        """The usual layout of a form with its first (lowest) note at a given fret.

        Raises NotPlayableError when that note is not there or the shape does not fit.
        """
        return self._once(chord, form, strings, first_fret, lambda: self._places_at(chord, form, strings, first_fret))

    def _places_at(self, chord: Chord, form: Form, strings: StringSet, first_fret: int) -> tuple[Places, str]:
        self._steps.gaps(strings)
        first = self._first_note(chord, form)
        if first_fret not in self.neck.frets_of(strings.numbers[0], first.pitch_class):
            raise NotPlayableError(f"{chord.name} on {strings}: there is no {first} at fret {first_fret}")
        steps = (
            self._steps.grip(chord.quality, form, strings)
            if form.kind == "grip"
            else self._usual_line(chord, form, strings)
        )
        places = tuple((string, first_fret + offset) for string, offset in steps)
        places = places[::-1] if form.down else places
        self._require_fit(chord, form, strings, places)
        return places, ""

    def over(self, chord: Chord, form: Form, strings: StringSet, kept: Mapping[int, tuple[int, int]]) -> Shape:
        """A scale from its root upward in which some notes keep given places.

        kept: (string, fret) by MIDI number, e.g. an arpeggio's. The other notes lie
        where the whole spans the fewest frets. Raises NotPlayableError when none fits.
        """
        tones = rising_tones(chord.quality, form)
        lowest = min(kept)
        index = {string: place for place, string in enumerate(strings.numbers)}
        rise = [tone.semitones for tone in tones]
        fixed = {
            rise.index(midi - lowest): index[string] for midi, (string, _) in kept.items() if midi - lowest in rise
        }
        first_fret = kept[lowest][1]
        for option in layouts(rise, self._steps.gaps(strings), WIDEST[form.octaves], fixed):
            places = tuple(
                (strings.numbers[on], first_fret + offset)
                for on, offset in zip(option.strings, option.offsets, strict=True)
            )
            if self._on_neck(places) and self._fingerings(form, places, 1):
                return self._shape(chord, form, strings, places)
        raise NotPlayableError(f"{chord.root} {form.mode} on {strings} does not fit at fret {first_fret}")

    def shape_from(self, chord: Chord, form: Form, strings: StringSet, places: Places, variant: str = "") -> Shape:
        """A shape at given (string, fret) places, fingered; for layouts found elsewhere.

        Raises NotPlayableError when no hand can play it.
        """
        if not self._fingerings(form, places, 1):
            raise NotPlayableError(f"{chord.name} on {strings}: no fingering reaches those frets")
        return self._shape(chord, form, strings, places, variant)

    # -- places --------------------------------------------------------------

    def _usual(self, chord: Chord, form: Form, strings: StringSet) -> tuple[Places, str]:
        self._steps.gaps(strings)  # a set that does not exist or does not rise is refused before anything else
        reason: NotPlayableError | None = None
        for places in self._candidates(chord, form, strings):
            try:
                self._require_fit(chord, form, strings, places)
                return places, ""
            except NotPlayableError as error:
                reason = reason or error
        if self.neck.alternates and form.kind != "grip":
            for places in self._alternate_candidates(chord, form, strings):
                return places, "layout"
        raise reason or NotPlayableError(self._why_nothing_was_tried(chord, form, strings))

    def _why_nothing_was_tried(self, chord: Chord, form: Form, strings: StringSet) -> str:
        """Its first note is not in range, or a grip there would take an open string, or a fret below one."""
        first = self._first_note(chord, form)
        frets = self.neck.root_frets_of(strings.numbers[0], first.pitch_class)
        if form.kind == "grip" and frets:
            lowest = frets[0] + min(offset for _, offset in self._steps.grip(chord.quality, form, strings))
            if lowest:
                return f"{chord.name} on {strings} would need a fret below the open string"
            return f"{chord.name} on {strings} at fret {frets[0]} would need an open string; open_roots allows that"
        low, high = self.neck.root_frets
        return (
            f"{chord.name} on {strings}: no {first} on string {strings.numbers[0]} at frets {low} to "
            f"{min(high, self.neck.highest)}"
        )

    def _candidates(self, chord: Chord, form: Form, strings: StringSet) -> Iterator[Places]:
        """The usual layout at each allowed fret, in playing order, fitting or not."""
        first = self._first_note(chord, form)
        frets = self.neck.root_frets_of(strings.numbers[0], first.pitch_class)
        if form.kind == "grip":
            steps = self._steps.grip(chord.quality, form, strings)
            # A bass whose fret is in range may still need open strings above it; the octave is tried then.
            high = self.neck.root_frets[1]
            frets = (*frets, *(fret + 12 for fret in frets if fret and fret + 12 <= max(high, self.neck.highest)))
            ordered = [tuple((string, fret + offset) for string, offset in steps) for fret in frets]
            yield from (places for places in ordered if min(fret for _, fret in places) > 0)
            if self.neck.open_roots:
                yield from (places for places in ordered if min(fret for _, fret in places) == 0)
            return
        line = self._usual_line(chord, form, strings)
        if form.kind == "figure":
            for fret in frets:
                for other in self._steps.lines(chord.quality, form, strings):
                    yield tuple((string, fret + offset) for string, offset in other)
            return
        if form.per_string:  # one layout only: where its lower notes would leave the neck, the octave is tried
            frets = (*frets, *(fret + 12 for fret in frets))
        for fret in frets:
            places = tuple((string, fret + offset) for string, offset in line)
            yield places[::-1] if form.down else places

    def _usual_line(self, chord: Chord, form: Form, strings: StringSet) -> Places:
        lines = self._steps.lines(chord.quality, form, strings)
        if not lines:
            raise NotPlayableError(f"{chord.name} on {strings}: the notes of the {form.title} lie too far apart")
        return lines[0]

    def _alternate_candidates(self, chord: Chord, form: Form, strings: StringSet) -> Iterator[Places]:
        first = self._first_note(chord, form)
        for line in self._steps.lines(chord.quality, form, strings)[1:]:
            span = max(offset for _, offset in line) - min(offset for _, offset in line)
            for fret in self.neck.root_frets_of(strings.numbers[0], first.pitch_class):
                places = tuple((string, fret + offset) for string, offset in line)
                used = [there for _, there in places]
                if span <= ALTERNATE_WIDEST and min(used) >= 0 and max(used) <= self.neck.highest:
                    places = places[::-1] if form.down else places
                    if self._fingerings(form, places, 1):
                        yield places

    def _other_layouts(self, chord: Chord, form: Form, strings: StringSet, usual: Places) -> Iterator[Places]:
        if not form.returns:
            return
        first = usual[-1 if form.down else 0][1]
        for line in self._steps.lines(chord.quality, form, strings):
            places = tuple((string, first + offset) for string, offset in line)
            used = [fret for _, fret in places]
            if max(used) - min(used) <= ALTERNATE_WIDEST and self._on_neck(places):
                yield places[::-1] if form.down else places

    def _open_places(self, chord: Chord, form: Form, strings: StringSet) -> Iterator[Places]:
        """Versions that use open strings: the first note open, or any note of a grip."""
        string = strings.numbers[0]
        first = self._first_note(chord, form)
        if form.kind == "grip":
            steps = self._steps.grip(chord.quality, form, strings)
            for fret in self.neck.frets_of(string, first.pitch_class):
                places = tuple((on, fret + offset) for on, offset in steps)
                if min(there for _, there in places) == 0 and self._on_neck(places):
                    yield places
            return
        if 0 in self.neck.frets_of(string, first.pitch_class):
            for line in self._steps.lines(chord.quality, form, strings):
                if self._on_neck(line):
                    yield line[::-1] if form.down else line

    def _other_octaves(self, chord: Chord, form: Form, strings: StringSet) -> Iterator[Places]:
        first = self._first_note(chord, form)
        steps = (
            self._steps.grip(chord.quality, form, strings)
            if form.kind == "grip"
            else self._steps.lines(chord.quality, form, strings)[0]
        )
        for fret in self.neck.frets_of(strings.numbers[0], first.pitch_class):
            places = tuple((string, fret + offset) for string, offset in steps)
            if fret and self._on_neck(places):
                yield places[::-1] if form.down else places

    # -- fitting -------------------------------------------------------------

    def _on_neck(self, places: Places) -> bool:
        frets = [fret for _, fret in places]
        return min(frets) >= 0 and max(frets) <= self.neck.highest

    def _require_fit(self, chord: Chord, form: Form, strings: StringSet, places: Places) -> None:
        """Raises NotPlayableError for what is unplayable: off the neck, beyond the reach limit (120 mm unless set,
        `Neck.reach_limit_mm`), or what four fingers do not hold (`grip_cost` of drills/shapes/grip_fingering.py)."""
        name = f"{chord.root} {form.mode}" if form.kind == "scale" else chord.name
        frets = [fret for _, fret in places]
        if max(frets) > self.neck.highest:
            limit = f"the top fret is {self.neck.highest}" + (" from the capo" if self.neck.capo else "")
            raise NotPlayableError(f"{name} on {strings} needs fret {max(frets)}; {limit}")
        if min(frets) < 0:
            raise NotPlayableError(f"{name} on {strings} would need a fret below the open string")
        if not self._fingerings(form, places, 1):
            fretted = [fret for fret in frets if fret]
            widest = self.neck.reach_mm(min(fretted), max(fretted))
            limit_mm = self.neck.reach_limit_mm
            if widest > limit_mm:
                why = f"{widest:.0f} mm is beyond the reach limit of {limit_mm:.0f} mm"
            else:
                listed = " ".join(map(str, frets))
                why = f"four fingers do not hold frets {listed}, though {widest:.0f} mm is within reach"
            raise NotPlayableError(f"{name} on {strings} at fret {min(frets)}: {why}")

    def _within_reach(self, fret: int, other: int) -> bool:
        return self.neck.reach_mm(fret, other) <= self.neck.reach_limit_mm

    def _fingerings(self, form: Form, places: Places, count: int) -> list[tuple[int, tuple[int, ...]]]:
        """The cheapest fingerings of places, shared by every fret, and every neck, where the hand reaches alike.

        A line played downward takes the fingers it takes upward (drills/RULES.md, C2, 6).
        """
        if form.down:
            return [(cost, fingers[::-1]) for cost, fingers in self._fingerings(form.upward, places[::-1], count)]
        frets = [fret for _, fret in places if fret]
        lowest = min(frets, default=0)
        if len(frets) == len(places) and self._reach(lowest, max(frets)):
            fingered = _FINGERED_WITHIN_REACH
            key = (form.kind == "grip", tuple((string - places[0][0], fret - lowest) for string, fret in places))
        else:
            fingered = self._fingered
            key = (form.kind == "grip", places)
        known, whole = fingered.get(key, ([], False))
        if len(known) < count and not whole:
            search = grip_fingerings if form.kind == "grip" else line_fingerings
            known = search(places, count, self._reach)
            fingered[key] = known, len(known) < count
        return known[:count]

    # -- values --------------------------------------------------------------

    def _once(
        self, chord: Chord, form: Form, strings: StringSet, first_fret: int | None,
        search: Callable[[], tuple[Places, str]],
    ) -> Shape:  # fmt: skip
        """The shape that was found for what is asked, searched for once; locks may change, so that with any it is
        made anew."""
        if self.locks:
            return self._shape(chord, form, strings, *search())
        asked = (chord, form, strings, first_fret)
        shape = self._found.get(asked)
        if shape is None:
            shape = self._found[asked] = self._shape(chord, form, strings, *search())
        return shape

    def _first_note(self, chord: Chord, form: Form) -> Note:
        """The note on the lowest string: where the shape is found on the neck."""
        if form.kind == "figure":
            return chord.root  # its other notes are counted from there
        if form.kind == "grip":
            tone = voicing_tones(chord.quality, form)[0]
        else:
            tone = rising_tones(chord.quality, form.upward)[0]
        return _note_above(chord.root, tone)

    def _shape(self, chord: Chord, form: Form, strings: StringSet, places: Places, variant: str = "") -> Shape:
        locked = self.locks.get(signature_of(form, list(places))) if self.locks else None
        if locked is not None and len(locked) == len(places):
            cost = self._cost_of(form, places, locked)
            if cost is not None:
                return self._with_fingers(chord, form, strings, places, cost, locked, "locked")
        cost, fingers = self._fingerings(form, places, 1)[0]
        return self._with_fingers(chord, form, strings, places, cost, fingers, variant)

    def _with_fingers(
        self, chord: Chord, form: Form, strings: StringSet, places: Places, cost: int,
        fingers: tuple[int, ...], variant: str = "",
    ) -> Shape:  # fmt: skip
        label: Callable[[Interval], str] = _within_octave
        if form.kind == "grip":
            tones = voicing_tones(chord.quality, form)
        elif form.kind == "figure":
            tones, label = figure_tones(chord.quality, form), figure_label
        else:
            tones = rising_tones(chord.quality, form.upward, len(strings.numbers))
            tones = tones[::-1] if form.down else tones
            if not form.per_string:
                label = degree_label
        notes = tuple(
            Placement(
                string,
                fret,
                pitch_of(_note_above(chord.root, tone), self._open_midi[string] + fret),
                label(tone),
                finger,
            )
            for (string, fret), tone, finger in zip(places, tones, fingers, strict=True)
        )
        fretted = [fret for _, fret in places if fret]
        reach = self.neck.reach_mm(min(fretted), max(fretted)) if fretted else 0.0
        return Shape(chord, form, strings, notes, reach, cost, variant)


def _within_octave(tone: Interval) -> str:
    return tone.simple.degree


@lru_cache(maxsize=8192)
def _note_above(root: Note, tone: Interval) -> Note:
    return transpose_note(root, tone)
