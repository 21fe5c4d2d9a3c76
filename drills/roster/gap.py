"""The handout for one student's gap: what the student missed at the place to work on, to print."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from datetime import date

from drills.errors import DrillsError, NotPlayableError
from drills.neck.strings import parse_strings
from drills.neck.tuning import Tuning, parse_tuning
from drills.paper.layouts import shapes_sheet
from drills.paper.sheet import Sheet
from drills.progress.card_parts import card_parts, place_of
from drills.roster.folder import StudentLog
from drills.roster.needs import places_to_work_on
from drills.roster.student import JUDGED_DAYS, Student
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import parse_form
from drills.shapes.shape import Shape
from drills.theory.chord import Chord
from drills.theory.key import parse_degree
from drills.theory.note import Note
from drills.theory.quality import QualityTable

__all__ = ["gap_sheet"]

_MOST = 6
"""One idea on one page leaves room for the teacher's pen."""

_IDEAS = {
    "root": "The root first: say its note and its string, then play.",
    "shape": "The shape: fill in the blank from memory, then play it slowly.",
    "fingering": "The fingers: slowly, and the same ones every time.",
    "time": "In time: slowly with a click; faster only after three clean days.",
    "": "Slowly, from the root; then in time; then in a tune.",
}


def gap_sheet(
    student: Student,
    log: StudentLog,
    today: date,
    finder_of: Callable[[Tuning], ShapeFinder],
    table: QualityTable,
) -> Sheet:
    """What a student missed in four weeks at the first place to work on, most often missed first.

    Without such a place, what was missed anywhere. finder_of: finds shapes in
    the tuning a card was played in. Raises NotPlayableError when nothing was missed, or nothing
    of it fits.
    """
    place = next(iter(places_to_work_on(student)), None)
    missed: Counter[str] = Counter()
    for review, day in log.first_tries():
        here = place is None or place_of(review.card) == place
        if not review.grade.clean and here and 0 <= today.toordinal() - day < JUDGED_DAYS:
            missed[review.card] += 1
    shapes: dict[Shape, None] = {}
    reasons = []
    for card, _ in sorted(missed.items(), key=lambda each: -each[1]):
        try:
            shape = _shape_of(card, finder_of, table)
        except DrillsError as error:
            reasons.append(str(error))
            continue
        if shape is not None and len(shapes) < _MOST:
            shapes.setdefault(shape)
    if not shapes:
        why = f": {reasons[0]}" if reasons else ""
        raise NotPlayableError(f"{student.name}: no shape was missed in {JUDGED_DAYS} days that can be printed{why}")
    named = student.slips.get(place, {}) if place else student.slip_totals
    idea = _IDEAS[max(sorted(named), key=named.__getitem__, default="")]
    what = f"{place[1]} on {place[0]}" if place else "what was missed"
    strings = finder_of(parse_tuning(next(iter(missed)).partition("/")[0])).tuning.strings
    return shapes_sheet(list(shapes), strings, f"{student.name}: {what}", idea)


def _shape_of(card: str, finder_of: Callable[[Tuning], ShapeFinder], table: QualityTable) -> Shape | None:
    """The shape a card asks for, spelled by the key it was asked in; None when it asks for none."""
    parts = card_parts(card)
    if parts is None or parts.onward or "-" in (parts.form, parts.root, parts.quality, parts.strings):
        return None
    chord = Chord(Note.parse(parts.root), table.named(parts.quality))
    if parts.family == "degree":
        key, _, degree = parts.kind.removeprefix("degree-").rpartition("-")
        in_key, number = parse_degree(f"{degree} of {key.replace('-', ' ')}")
        chord = Chord(in_key.chord(number).root, chord.quality)
    return finder_of(parse_tuning(parts.tuning)).find(chord, parse_form(parts.form), parse_strings(parts.strings))
