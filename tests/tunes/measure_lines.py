"""Measures the lines the tool makes by default beside a published corpus of solos, and checks every hard rule.

``python -m tests.tunes.measure_lines`` plays lines over a hundred progressions and writes drills/lines/MEASURED.md.
"""

from __future__ import annotations

import subprocess
from bisect import bisect_right
from collections import Counter
from dataclasses import replace
from datetime import date
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from random import Random
from statistics import median, quantiles

from drills.changes.changes import Changes
from drills.changes.changes_reading import parse_changes
from drills.harmony.chord_timeline import bar_starts, same_chord, spans_of
from drills.harmony.transpose import transposed_to
from drills.lines.checker import check_line
from drills.lines.etude_line import etude_line
from drills.lines.etude_options import EtudeOptions
from drills.lines.line import Line, LineNote
from drills.lines.vocabulary import UNITS
from drills.neck.neck import Neck

PAGE = Path(__file__).resolve().parents[2] / "drills" / "lines" / "MEASURED.md"

FOUR_BARS = (
    "Dm7 | G7 | Cmaj7 | Cmaj7", "Cmaj7 | Am7 | Dm7 | G7", "Em7 A7 | Dm7 G7 | Cmaj7 | C6", "C7 | F7 | C7 | C7",
    "Dm7b5 | G7b9 | Cm7 | Cm6", "Cm7 | Cm7 | Fm7 | Cm7", "Gm7 | C7 | Fmaj7 | Fm7 Bb7", "Cmaj7 | C#dim7 | Dm7 | G7",
    "Am7 | D7 | Dm7 | G7", "Cmaj7 | Eb7 | Abmaj7 | G7", "F#m7b5 | B7b9 | Em7 | A7", "Cmaj7 | Fmaj7 | Em7 | A7b9",
)  # fmt: skip
"""Four bars each, of common turns; a progression is three of them, in a key of its own."""
FIGURE_PAGES = 25
"""So many of the progressions are played with each kind of figure."""
KEYS = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")


def progressions(count: int = 100) -> list[Changes]:
    """Twelve bars each, seeded."""
    random = Random("progressions")
    found = []
    for _ in range(count):
        parts = " | ".join(random.choice(FOUR_BARS) for _ in range(3))
        page = parse_changes(f"key: C\n| {parts} |")
        found.append(transposed_to(page, random.choice(KEYS)))
    return found


def made_lines(pages: list[Changes], difficulty: int = 2, figures: tuple[str, ...] = ()) -> list[Line]:
    """A line over each, in the rhythm of phrases, on the whole neck, with figures where they fit."""
    neck = Neck()
    plain = EtudeOptions(difficulty=difficulty, density="phrases", frets=(3, 12), figures=figures)
    return [etude_line(page, neck, replace(plain, seed=seed)).line for seed, page in enumerate(pages)]


def phrases_of(line: Line) -> list[list[LineNote]]:
    """The notes between rests of half a beat and more."""
    found = [[line.notes[0]]]
    for before, note in pairwise(line.notes):
        if note.start - before.end >= Fraction(1, 2):
            found.append([])
        found[-1].append(note)
    return found


def place_in_bar(note: LineNote) -> Fraction:
    """Quarter notes from the first beat, as struck; every page here is in 4/4."""
    return note.beat - 1


def share(part: float, whole: float) -> str:
    return f"{100 * part / whole:.0f} %"


def figures(lines: list[Line]) -> dict[str, str]:
    """The figures of the corpus, for these lines."""
    notes = [note for line in lines for note in line.notes]
    phrases = [phrase for line in lines for phrase in phrases_of(line)]
    places = Counter(place_in_bar(note) for note in notes)
    inside = [abs(b.midi - a.midi) for phrase in phrases for a, b in pairwise(phrase)]
    steps = [b.start - a.start for phrase in phrases for a, b in pairwise(phrase)]
    sizes = [len(phrase) for phrase in phrases]
    spans = [float(phrase[-1].end - phrase[0].start) / 4 for phrase in phrases]
    gaps = [
        float(after[0].start - before[-1].start) / 4 for line in lines for before, after in pairwise(phrases_of(line))
    ]
    off_beat = sum(count for place, count in places.items() if place.denominator > 1)
    cuts = [sizes_ for sizes_ in quantiles(sizes, n=20, method="inclusive")]
    by_place: dict[str, list[bool]] = {"1 and 3": [], "2 and 4": [], "off the beat": []}
    firsts, lasts = [], []
    for line in lines:
        spans_here = spans_of(line.changes)
        starts = [span.start for span in spans_here]
        bars = bar_starts(line.changes)
        before = None
        for note in line.notes:
            at = note.start  # by what sounds when it is struck, as the corpus counts it
            span = spans_here[bisect_right(starts, at) - 1]
            own = note.midi % 12 in span.sounding.pitch_classes
            place = (at - bars[note.bar - 1]) % 4
            kind = "1 and 3" if place in (0, 2) else "2 and 4" if place in (1, 3) else "off the beat"
            by_place[kind].append(own)
            if before is not None and not same_chord(before, span.sounding):
                firsts.append(own)
            before = span.sounding
        for phrase in phrases_of(line):
            span = spans_here[bisect_right(starts, phrase[-1].start + phrase[-1].early) - 1]
            lasts.append(phrase[-1].midi % 12 in span.sounding.pitch_classes)
    counted = len(inside)
    return {
        "onsets off the beat": share(off_beat, len(notes)),
        "onsets on beat 1": share(places[Fraction(0)], len(notes)),
        "onsets on beat 3": share(places[Fraction(2)], len(notes)),
        "phrases that begin off the beat": share(
            sum(place_in_bar(phrase[0]).denominator > 1 for phrase in phrases), len(phrases)
        ),
        "phrases that begin on beat 1": share(sum(place_in_bar(phrase[0]) == 0 for phrase in phrases), len(phrases)),
        "intervals: same note": share(inside.count(0), counted),
        "intervals: a semitone": share(inside.count(1), counted),
        "intervals: a tone": share(inside.count(2), counted),
        "intervals: a minor third": share(inside.count(3), counted),
        "intervals: a major third": share(inside.count(4), counted),
        "intervals: a fourth": share(inside.count(5), counted),
        "intervals: wider": share(sum(size > 5 for size in inside), counted),
        "notes in a phrase, 10th, 50th, 90th of a hundred": f"{cuts[1]:.0f}, {median(sizes):.0f}, {cuts[17]:.0f}",
        "bars a phrase spans, median": f"{median(spans):.1f}",
        "bars from its last onset to the next phrase, median": f"{median(gaps):.1f}",
        "spacing of onsets: a half beat": share(steps.count(Fraction(1, 2)), len(steps)),
        "spacing of onsets: a third of a beat": share(steps.count(Fraction(1, 3)), len(steps)),
        "spacing of onsets: a quarter of a beat": share(steps.count(Fraction(1, 4)), len(steps)),
        "spacing of onsets: a beat": share(steps.count(Fraction(1)), len(steps)),
        "chord tones on beats 1 and 3": share(sum(by_place["1 and 3"]), len(by_place["1 and 3"])),
        "chord tones on beats 2 and 4": share(sum(by_place["2 and 4"]), len(by_place["2 and 4"])),
        "chord tones off the beat": share(sum(by_place["off the beat"]), len(by_place["off the beat"])),
        "chord tones, first note under a new chord": share(sum(firsts), len(firsts)),
        "chord tones, last note of a phrase": share(sum(lasts), len(lasts)),
    }


CORPUS = {
    "onsets off the beat": "67 %", "onsets on beat 1": "8.6 %", "onsets on beat 3": "8.7 %",
    "phrases that begin off the beat": "65 %", "phrases that begin on beat 1": "9.5 %",
    "intervals: same note": "4.3 %", "intervals: a semitone": "28.3 %", "intervals: a tone": "28.5 %",
    "intervals: a minor third": "17.5 %", "intervals: a major third": "9.3 %", "intervals: a fourth": "6.1 %",
    "intervals: wider": "6.2 %", "notes in a phrase, 10th, 50th, 90th of a hundred": "5, 14, 38",
    "bars a phrase spans, median": "1.6", "bars from its last onset to the next phrase, median": "0.7",
    "spacing of onsets: a half beat": "34 %", "spacing of onsets: a third of a beat": "12 %",
    "spacing of onsets: a quarter of a beat": "18 %", "spacing of onsets: a beat": "6.5 %",
    "chord tones on beats 1 and 3": "52 %", "chord tones on beats 2 and 4": "52 %",
    "chord tones off the beat": "48 %", "chord tones, first note under a new chord": "51 %",
    "chord tones, last note of a phrase": "62 %",
}  # fmt: skip
"""Measured on the 347 solos in swing feel and 4/4 of klausfrieler/jazzodata (data/wjd_transforms.rda, 2.7 MB)."""


def page() -> str:
    """The page, with the hard rules looked at anew."""
    pages = progressions()
    rows, checked, faults, early = {}, 0, 0, 0
    for difficulty in (2, 3):
        lines = made_lines(pages, difficulty)
        checked += sum(len(line.notes) for line in lines)
        faults += sum(len(check_line(line, frets=(3, 12))) for line in lines)
        early += sum(note.early > 0 for line in lines for note in line.notes)
        rows[difficulty] = figures(lines)
    words = [unit.word for unit in UNITS]
    with_figures = {word: made_lines(pages[:FIGURE_PAGES], 3, (word,)) for word in words}
    figure_notes = {unit: sum(len(line.notes) for line in lines) for unit, lines in with_figures.items()}
    figure_faults = sum(len(check_line(line, frets=(3, 12))) for lines in with_figures.values() for line in lines)
    commit = subprocess.run(["git", "rev-parse", "--short", "HEAD"], capture_output=True, text=True, check=True)
    table = [f"| {name} | {CORPUS[name]} | {rows[2][name]} | {rows[3][name]} |" for name in CORPUS]
    return "\n".join([
        "# Where the lines lie beside solos",
        "",
        f"`python -m tests.tunes.measure_lines`, {date.today().isoformat()}, after commit {commit.stdout.strip()}: "
        "lines over 100 progressions of twelve bars, in phrases, with the mode and with chromatic notes: "
        f"{checked} notes, {early} of them struck before the beat they belong to. Hard rules broken, by the "
        f"checker that shares no code with the search: {faults}.",
        "",
        f"With each kind of figure of `etude --with`, over the first {FIGURE_PAGES} of these progressions: "
        f"{', '.join(f'{unit} {notes}' for unit, notes in figure_notes.items())} notes. Hard rules broken: "
        f"{figure_faults}.",
        "",
        "The corpus: 347 improvised solos in swing feel and 4/4 of the Weimar Jazz Database, as packaged in "
        "`klausfrieler/jazzodata` (`data/wjd_transforms.rda`), counted for this project; mostly wind instruments.",
        "",
        "| | solos | with the mode | with chromatic notes |",
        "|---|---|---|---|",
        *table,
        "",
        "What differs is meant to. Chord tones on strong beats are a teacher's rule for practice lines "
        "(drills/RULES.md, D4, 1) and no fact about solos, where they are about one note in two. No note comes twice "
        "running (D4, 6). Lines have no sixteenths, so that a hand can play them at the tempo of eighths; their "
        "phrases are two or four bars long and never eight. Onsets off the beat are fewer than in solos, since chord "
        "tones are practised on beats.",
        "",
    ])  # fmt: skip


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
