"""Judges the reasons for what is left out by a computation of its own, over every shipped deck, form and tuning.

`python -m tests.cards.reason_judge` judges all of them and prints the tables of reasons.md; the tests judge a sample.
Nothing here asks the finder of shapes: notes come from the tables of chords and modes, places are laid out by trying
all of them, and millimetres come from equal temperament (fret n lies at L (1 - 2^(-n/12)) from the nut).
"""

from __future__ import annotations

import re
import sys
from collections import Counter
from collections.abc import Iterator
from itertools import combinations_with_replacement, product

from drills.cards.deck import Deck, list_decks, read_deck
from drills.cards.material import gather
from drills.errors import DeckError, DrillsError
from drills.neck.neck import Neck
from drills.neck.strings import StringSet, core_sets, parse_strings
from drills.neck.tuning import read_tunings
from drills.shapes.figure_tones import figure_tones
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import USUAL_FORMS, Form, parse_form
from drills.theory.chord import Chord
from drills.theory.mode import mode_named
from drills.theory.note import Note
from drills.theory.quality import shipped_qualities
from drills.theory.spelling import free_roots
from drills.theory.symbol import parse_chord

__all__ = ["asked", "judge", "judge_card", "kind_of_reason", "left_out", "refusals"]

Layout = tuple[tuple[int, int], ...]
"""(string, fret above the first note's) of each note."""


# ---- what is asked of a neck


def asked(deck: Deck, neck: Neck) -> Iterator[tuple[Chord, Form, StringSet]]:
    """Every chord, form and string set that a deck's blocks name, each once."""
    table = shipped_qualities()
    seen = set()
    for block in deck.blocks:
        if block.changes:
            continue
        chords = [chord for key in block.keys for chord in key.chords()] or [
            Chord(root, table.named(name))
            for name in block.qualities
            for root in block.roots or free_roots(table.named(name))
        ]
        sets = (*(core_sets(neck.sounding) if block.core else ()), *block.string_sets)
        for chord, form, strings in product(chords, block.forms, sets):
            if (one := _form(form, chord)) and (chord, one, strings) not in seen:
                seen.add((chord, one, strings))
                yield chord, one, strings


def _form(name: str, chord: Chord) -> Form | None:
    if name not in USUAL_FORMS:
        return parse_form(name)
    if not chord.quality.modes:
        return None
    mode = chord.quality.modes[0]
    if name == "scale":
        return Form("scale", mode=mode)
    if name == "scale-three-per-string":
        return Form("scale", mode=mode, per_string=3)
    return Form("figure", figure=name, mode="" if name == "passing" else mode)


def refusals(deck: Deck, neck: Neck) -> Iterator[tuple[Chord, Form, StringSet, str]]:
    """What the finder refuses of it, and its reason."""
    finder = ShapeFinder(neck)
    for chord, form, strings in asked(deck, neck):
        try:
            finder.find(chord, form, strings)
        except DrillsError as error:
            yield chord, form, strings, str(error)


# ---- the notes of a form, in semitones above the first


def rise(chord: Chord, form: Form, strings: int) -> list[int] | None:
    """The notes from the lowest up; None where the chord has none such. A figure's come in the order played."""
    tones = [tone.semitones for tone in chord.quality.intervals]
    if form.kind == "figure":
        try:
            return [tone.semitones for tone in figure_tones(chord.quality, form)]
        except DrillsError:
            return None
    if form.kind == "grip":
        return _grip(tones, form)
    if form.kind == "scale":
        one = [tone.semitones for tone in mode_named(form.mode).intervals]
        if not set(tones) <= set(one):
            return None
        count = form.per_string * strings if form.per_string else len(one) * form.octaves + form.closed
    else:
        one, count = tones, len(tones) * form.octaves + form.closed
    if form.start >= len(one):
        return None
    notes = [12 * (number // len(one)) + one[number % len(one)] for number in range(form.start, form.start + count)]
    return [note - notes[0] for note in notes]


def _grip(tones: list[int], form: Form) -> list[int] | None:
    """Close position with the second or third voice from the top an octave lower; a shell is root, 3rd and 7th."""
    if len(tones) != (3 if form.voicing == "close" else 4):
        return None
    if form.voicing == "shell":
        root, third, _, seventh = tones
        return [0, third - root, seventh - root] if form.inversion else [0, seventh - root, third + 12 - root]
    for turn in range(len(tones)):
        close = [*tones[turn:], *(tone + 12 for tone in tones[:turn])]
        if drop := {"drop2": 2, "drop3": 3}.get(form.voicing):
            close[-drop] -= 12
        close.sort()
        if (close[0] - tones[form.inversion]) % 12 == 0:
            return [tone - close[0] for tone in close]
    return None


# ---- where they may lie


def layouts(chord: Chord, form: Form, strings: StringSet, neck: Neck) -> list[Layout]:
    """The narrowest ways to lay a form on the strings; every one that ties."""
    notes = rise(chord, form, len(strings.numbers))
    if notes is None:
        return []
    numbers, tuning = strings.numbers, neck.sounding
    above = [tuning.midi(string, 0) - tuning.midi(numbers[0], 0) for string in numbers]
    if form.kind == "figure":
        return _figures(notes, chord, strings, neck)
    if form.kind == "grip":
        if len(notes) != len(numbers):
            return []
        return [tuple((string, note - up) for string, note, up in zip(numbers, notes, above, strict=True))]
    if form.per_string:
        each = [number // form.per_string for number in range(len(notes))]
        return [tuple((numbers[on], note - above[on]) for on, note in zip(each, notes, strict=True))]
    fixed: list[dict[int, int]] = [{}]
    if form.kind == "scale":  # the arpeggio inside keeps its places (drills/RULES.md, C2, 9)
        inside = layouts(chord, Form(octaves=form.octaves), strings, neck)
        tones = rise(chord, Form(octaves=form.octaves), len(numbers))
        fixed = [dict(zip(tones, (numbers.index(on) for on, _ in one), strict=True)) for one in inside]
    found = []
    for on in combinations_with_replacement(range(len(numbers)), len(notes)):
        if len(set(on)) == len(numbers) and any(
            all(kept.get(note, place) == place for note, place in zip(notes, on, strict=True)) for kept in fixed
        ):
            found.append(tuple((numbers[place], note - above[place]) for place, note in zip(on, notes, strict=True)))
    narrowest = min(map(_span, found), default=0)
    return [one for one in found if _span(one) == narrowest]


def _figures(notes: list[int], chord: Chord, strings: StringSet, neck: Neck) -> list[Layout]:
    """Chord tones where the arpeggio has them, every other note on any of the strings."""
    numbers, tuning = strings.numbers, neck.sounding
    above = [tuning.midi(string, 0) - tuning.midi(numbers[0], 0) for string in numbers]
    tones = rise(chord, Form(), len(numbers))
    found = []
    for arpeggio in layouts(chord, Form(), strings, neck):
        kept = dict(zip(tones, arpeggio, strict=True))
        free = [note for note in dict.fromkeys(notes) if note not in kept]
        ways = [[(string, note - up) for string, up in zip(numbers, above, strict=True)] for note in free]
        for chosen in product(*ways):
            at = kept | dict(zip(free, chosen, strict=True))
            one = tuple(at[note] for note in notes)
            if _span(one) <= 6:
                found.append(one)
    return found


def _span(layout: Layout) -> int:
    frets = [fret for _, fret in layout]
    return max(frets) - min(frets)


# ---- is it so?

REASONS = {
    "no such string": r"strings? (?P<set>[\d-]+): this tuning has strings (?P<most>\d+) to 1",
    "strings do not rise": r"strings (?P<set>[\d-]+): string (?P<low>\d+) \((?P<at>\S+)\) is not below "
    r"string (?P<high>\d+) \((?P<other>\S+)\) in this tuning, .+",
    "above the top fret": r".+ on (?P<set>[\d-]+) needs fret (?P<fret>\d+); the top fret is (?P<top>\d+)",
    "below the nut": r".+ on (?P<set>[\d-]+) would need a fret below the open string",
    "an open string": r".+ on (?P<set>[\d-]+) at fret (?P<fret>\d+) would need an open string; open_roots allows that",
    "out of reach": r".+ on (?P<set>[\d-]+) at fret (?P<fret>\d+): (?P<mm>\d+) mm is beyond the reach limit of "
    r"(?P<most>\d+) mm",
    "four fingers": r".+ on (?P<set>[\d-]+) at fret (?P<fret>\d+): four fingers do not hold frets (?P<frets>[\d ]+), "
    r"though (?P<mm>\d+) mm is within reach",
    "no such note": r".+ on (?P<set>[\d-]+): no (?P<note>[A-G][b#]*) on string (?P<string>\d+) at frets "
    r"(?P<least>\d+) to (?P<most>\d+)",
    "not a chord for it": r"a (?P<form>.+) needs a chord of (?P<needs>\d) notes; \S+ has (?P<has>\d)",
    "no such tone": r"\S+ has (?P<has>\d) notes: there is no 7th to start on",
    "nothing passes": r"\S+: no seventh lies a whole tone under its root, so nothing passes",
    "too far apart": r".+ on (?P<set>[\d-]+): the notes of the .+ lie too far apart",
    "too few notes": r"\S+ has too few notes for the strings (?P<set>[\d-]+)",
    "no such degree": r"\S+: its scale has no (?P<number>\d) to play",
    "strings of a grip": r"a .+ of \S+ needs (?P<needs>\d) strings, got (?P<set>[\d-]+)",
}
"""What each reason says, as read from its words."""


def kind_of_reason(reason: str) -> tuple[str, re.Match[str]]:
    """Which of REASONS it is, with what it says; raises ValueError for one that nobody has judged."""
    for kind, pattern in REASONS.items():
        if said := re.fullmatch(pattern, reason):
            return kind, said
    raise ValueError(f"nobody judges this reason: {reason}")


def judge(chord: Chord, form: Form, strings: StringSet, neck: Neck, reason: str) -> bool:
    """Whether a reason says what is so of a form on a neck, and whether it is reason enough to leave it out.

    Where several layouts are equally narrow, it must be so of one of them: which of them a hand prefers is not judged.
    """
    kind, said = kind_of_reason(reason)
    tuning, numbers = neck.sounding, strings.numbers
    match kind:
        case "no such string":
            return int(said["most"]) == tuning.strings < max(numbers)
        case "strings do not rise":
            low, high = int(said["low"]), int(said["high"])
            if (low, high) not in zip(numbers, numbers[1:], strict=False):
                return False
            pitches = [str(tuning.open_pitch(string)) for string in (low, high)]
            return pitches == [said["at"], said["other"]] and tuning.midi(low, 0) >= tuning.midi(high, 0)
        case "no such note":
            frets = range(int(said["least"]), int(said["most"]) + 1)
            wanted = Note.parse(said["note"]).pitch_class
            return all(tuning.midi(int(said["string"]), fret) % 12 != wanted for fret in frets)
        case "not a chord for it":
            return len(chord.quality.intervals) == int(said["has"]) != int(said["needs"])
        case "no such tone":
            return len(chord.quality.intervals) == int(said["has"]) <= form.start
        case "nothing passes":
            return form.figure == "passing" and chord.quality.intervals[-1].semitones != 10
        case "no such degree":
            steps = {tone.steps for tone in (*chord.quality.intervals, *mode_named(form.mode).intervals)}
            return (int(said["number"]) - 1) % 7 not in steps
        case "strings of a grip":
            return len(rise(chord, form, len(numbers)) or ()) == int(said["needs"]) != len(numbers)
        case "too few notes":
            return len(rise(chord, form, len(numbers)) or ()) < len(numbers)
        case "too far apart":
            widest = 9 if form.octaves == 2 or form.per_string else 5
            return all(_span(one) > widest for one in layouts(chord, form, strings, neck))
    ways = layouts(chord, form, strings, neck)
    return any(_so_of(kind, said, one, chord, form, strings, neck) for one in ways)


CARD_REASONS = {
    "fewer than two sets": r"(?P<chord>\S+) fits on fewer than two string sets",
    "no grip at the place": r"(?P<chord>\S+) on (?P<set>[\d-]+): no grip there",
    "no mode at the place": r"(?P<chord>\S+) on (?P<set>[\d-]+): no mode there",
}
"""Reasons that kinds of prompt have of their own, beside those of the shapes they ask for."""


def judge_card(reason: str, neck: Neck) -> bool:
    """Whether such a reason is so; raises ValueError for one that nobody has judged."""
    for kind, pattern in CARD_REASONS.items():
        if said := re.fullmatch(pattern, reason):
            chord = parse_chord(said["chord"], shipped_qualities())
            if kind == "fewer than two sets":
                return sum(_fits_on(chord, one, neck) for one in core_sets(neck.sounding)) < 2
            shape = ShapeFinder(neck).find(chord, Form(), parse_strings(said["set"]))  # "there" is where it has it
            places = tuple((note.string, note.fret) for note in shape.notes)
            return not (_grips_at if kind == "no grip at the place" else _modes_at)(chord, places, neck)
    raise ValueError(f"nobody judges this reason: {reason}")


def _fits_on(chord: Chord, strings: StringSet, neck: Neck) -> bool:
    """Whether the neck has every note of the plain arpeggio somewhere, by one of its narrowest layouts."""
    top = neck.top_fret - neck.capo
    return any(
        min(fret for _, fret in places) >= 0 and max(fret for _, fret in places) <= top
        for layout in layouts(chord, Form(), strings, neck)
        for places in _tried(layout, chord, Form(), strings, neck)
    )


def _grips_at(chord: Chord, arpeggio: Layout, neck: Neck) -> bool:
    """Whether some grip with its root in the bass can be held where the arpeggio has its root."""
    root, fret = arpeggio[0]
    grips = (
        ("drop2", 0, (0, 1, 2, 3)), ("drop3", 0, (0, 2, 3, 4)), ("shell", 0, (0, 2, 3)), ("shell", 1, (0, 1, 2)),
        ("close", 0, (0, 1, 2)),
    )  # fmt: skip
    for voicing, inversion, below in grips:
        form = Form("grip", voicing=voicing, inversion=inversion)
        if root - below[-1] < 1:
            continue
        strings = StringSet(tuple(root - one for one in below))
        try:
            strings.check(neck.sounding)
        except DrillsError:
            continue
        for layout in layouts(chord, form, strings, neck):
            places = tuple((on, fret + offset) for on, offset in layout)
            held = any(_holds(places, fingers) for fingers in product((1, 2, 3, 4), repeat=len(places)))
            if min(at for _, at in places) > 0 and held and _held(places, form, neck):
                return True
    return False


def _modes_at(chord: Chord, arpeggio: Layout, neck: Neck) -> bool:
    """Whether the chord's usual mode lies within six frets over the arpeggio, its chord tones kept."""
    mode = Form("scale", mode=chord.quality.modes[0])
    numbers = tuple(dict.fromkeys(string for string, _ in arpeggio))
    notes, tones = rise(chord, mode, len(numbers)), rise(chord, Form(), len(numbers))
    kept = dict(zip(tones, arpeggio, strict=True))
    lowest = neck.sounding.midi(*arpeggio[0])
    for on in combinations_with_replacement(numbers, len(notes)):
        one = tuple((s, lowest + n - neck.sounding.midi(s, 0)) for s, n in zip(on, notes, strict=True))
        told = dict(zip(notes, one, strict=True))
        if all(told[tone] == place for tone, place in kept.items()) and _span(one) <= 5 and _held(one, mode, neck):
            return True
    return False


def left_out(deck: Deck, neck: Neck) -> Iterator[str]:
    """The reasons a deck gives on a neck for the cards it leaves out, each once."""
    try:
        yield from dict.fromkeys(left.reason for left in gather(deck, neck).left_out)
    except DeckError:
        return  # nothing of the deck fits, and the first reason is given instead


def _so_of(
    kind: str, said: re.Match[str], layout: Layout, chord: Chord, form: Form, strings: StringSet, neck: Neck
) -> bool:
    """Whether it is so of one layout at the lowest fret that is tried, and nothing of it is to be had higher up."""
    tried = list(_tried(layout, chord, form, strings, neck))
    if not tried or any(_held(places, form, neck) for places in tried):
        return False
    places = tried[0]
    frets = sorted(fret for _, fret in places)
    fretted = [fret for fret in frets if fret]
    mm = _mm(min(fretted), max(fretted), neck)
    match kind:
        case "above the top fret":
            return frets[-1] == int(said["fret"]) > neck.top_fret - neck.capo == int(said["top"])
        case "below the nut":
            return frets[0] < 0
        case "an open string":
            first = next(fret for string, fret in places if string == strings.numbers[0])
            return frets[0] == 0 and first == int(said["fret"]) and not neck.open_roots
        case "out of reach":
            told = frets[0] == int(said["fret"]) and round(mm) == int(said["mm"])
            return told and mm > neck.reach_limit_mm == float(said["most"])
        case "four fingers":
            told = [int(fret) for fret in said["frets"].split()] == [fret for _, fret in places]
            return told and frets[0] == int(said["fret"]) and round(mm) == int(said["mm"]) and mm <= neck.reach_limit_mm
    raise ValueError(kind)


def _tried(layout: Layout, chord: Chord, form: Form, strings: StringSet, neck: Neck) -> Iterator[Layout]:
    """The layout with its first note at each fret of the range, and, where its place is settled, an octave higher."""
    tones = chord.quality.intervals
    above = 0
    if form.kind == "grip":
        above = tones[form.inversion].semitones if form.voicing != "shell" else 0
    elif form.kind == "scale" and form.start:
        above = mode_named(form.mode).intervals[form.start].semitones
    elif form.kind == "arpeggio":
        above = tones[form.start].semitones
    wanted = (chord.root.pitch_class + above) % 12
    string = strings.numbers[0]
    low, high = neck.root_frets
    frets = [fret for fret in range(low, high + 1) if neck.sounding.midi(string, fret) % 12 == wanted]
    if form.kind == "grip" or form.per_string:
        top = max(high, neck.top_fret - neck.capo)
        frets += [fret + 12 for fret in frets if form.per_string or fret + 12 <= top]
    found = [tuple((on, first + offset) for on, offset in layout) for first in frets]
    if form.kind == "grip":  # one that runs off the nut is passed over where the octave can be had
        found = [one for one in found if min(fret for _, fret in one) > 0] or found
    yield from (one[::-1] if form.down else one for one in found)


def _mm(fret: int, other: int, neck: Neck) -> float:
    """How far apart two frets lie, in millimetres."""
    at = [neck.scale_mm * 2 ** (-(one + neck.capo) / 12) for one in (fret, other)]
    return abs(at[0] - at[1])


def _held(places: Layout, form: Form, neck: Neck) -> bool:
    """Whether a hand plays it: on the neck, and a grip by four fingers within reach of one another.

    A line's notes come one after another; of these it is enough that the neck has them and the hand spans them.
    """
    frets = [fret for _, fret in places]
    lowest_allowed = 0 if form.kind != "grip" or neck.open_roots else 1
    if min(frets) < lowest_allowed or max(frets) > neck.top_fret - neck.capo:
        return False
    fretted = [fret for fret in frets if fret]
    if _mm(min(fretted), max(fretted), neck) > neck.reach_limit_mm:
        return False
    return form.kind != "grip" or any(_holds(places, fingers) for fingers in product((1, 2, 3, 4), repeat=len(places)))


def _holds(places: Layout, fingers: tuple[int, ...]) -> bool:
    """Whether fingers hold a grip (drills/RULES.md, C2): each owns a fret and reaches one beyond, first and fourth two;
    none crosses another; one finger on several strings covers no lower note, and only the first bars behind others."""
    for (string, fret), finger in zip(places, fingers, strict=True):
        for (there, other), more in zip(places, fingers, strict=True):
            if more < finger:
                continue
            if more == finger:
                if fret != other:
                    return False
                between = [(on, at) for on, at in places if min(string, there) < on < max(string, there)]
                behind = [at for on, at in between if fingers[places.index((on, at))] != finger]
                if any(at < fret for at in behind) or (behind and finger != 1):
                    return False
            elif other < fret or other - fret > more - finger + (2 if (finger, more) == (1, 4) else 1):
                return False
    return True


def main() -> int:
    """Judges every reason and prints how many there are of each kind; 1 where one is not so."""
    kinds: dict[str, Counter[str]] = {}
    wrong = []
    asked_for = of_cards = 0
    for name, named in read_tunings().items():
        neck = Neck(named.tuning)
        seen = set()
        for path in list_decks(None):
            deck = read_deck(path)
            asked_for += sum(1 for _ in asked(deck, neck))
            told = list(refusals(deck, neck))
            for reason in set(left_out(deck, neck)) - {reason for *_, reason in told}:
                of_cards += 1
                if not judge_card(reason, neck):
                    wrong.append(f"{name}, {path.stem}: {reason}")
            for refusal in told:
                if refusal in seen:
                    continue
                seen.add(refusal)
                chord, form, strings, reason = refusal
                kinds.setdefault(kind_of_reason(reason)[0], Counter())[name] += 1
                if not judge(chord, form, strings, neck, reason):
                    wrong.append(f"{name}, {path.stem}, {form.id}: {reason}")
    print(
        f"{asked_for} asked, {sum(sum(found.values()) for found in kinds.values())} reasons, {of_cards} more of "
        f"kinds of prompt, {len(wrong)} not so"
    )
    tunings = list(read_tunings())
    print("\n| reason | " + " | ".join(tunings) + " |")
    print("|---" * (len(tunings) + 1) + "|")
    for kind, found in kinds.items():
        print(f"| {kind} | " + " | ".join(str(found[name]) for name in tunings) + " |")
    print("\n".join(wrong))
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
