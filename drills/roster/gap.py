"""The handout for one student's gap: what the student missed at the place to work on, to print."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from datetime import date

from drills.cards.deck_tools import NewDeck
from drills.errors import DrillsError, NotPlayableError
from drills.neck.strings import parse_strings
from drills.neck.tuning import Tuning, parse_tuning
from drills.paper.layouts import root_places, shapes_sheet
from drills.paper.sheet import Sheet
from drills.progress.card_parts import card_parts, place_of
from drills.progress.skill_names import RootSpot, root_spot
from drills.roster.folder import StudentLog
from drills.roster.needs import places_to_work_on
from drills.roster.student import JUDGED_DAYS, Place, Student
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import parse_form
from drills.shapes.shape import Shape
from drills.theory.chord import Chord
from drills.theory.key import parse_degree
from drills.theory.note import Note
from drills.theory.quality import QualityTable

__all__ = ["gap_deck", "gap_sheet"]

_MOST = 6
"""One idea on one page leaves room for the teacher's pen."""

_IDEAS = {
    "roots": "Say the note, play it, say its fret; a new order every day.",
    "form": "The shape: fill in the blank from memory, then play it slowly.",
    "spelling": "Spell each chord aloud before you play it.",
    "time": "In time: slowly with a click; faster only after three clean days.",
    "root": "The root first: say its note and its string, then play.",
    "shape": "The shape: fill in the blank from memory, then play it slowly.",
    "fingering": "The fingers: slowly, and the same ones every time.",
    "": "Slowly, from the root; then in time; then in a tune.",
}
"""What to do, by the kind of a cause or by the slip most often named."""


def gap_sheet(
    student: Student,
    log: StudentLog,
    today: date,
    finder_of: Callable[[Tuning], ShapeFinder],
    table: QualityTable,
) -> Sheet:
    """What a student missed in four weeks for lack of the one thing that explains the misses, most often missed first.

    Where roots are the cause, their places on the string; else the shapes missed. Without a cause, what was missed at
    the first place to work on, and without one, anywhere. finder_of: finds shapes in
    the tuning a card was played in. Raises NotPlayableError when nothing was missed, or nothing
    of it fits.
    """
    cause, place = student.cause, _place(student)
    missed, skills = _missed(student, log, today)
    cards = sorted(missed, key=lambda card: -missed[card])
    what = cause.words if cause else f"{place[1]} on {place[0]}" if place else "what was missed"
    title = f"{student.name}: {what}"
    if cause and cause.is_roots and any(map(_spots, skills.values())):
        spots = [spot for card in cards for spot in _spots(skills[card]) for _ in range(missed[card])]
        own = cause.strings or {Counter(spot.string for spot in spots).most_common(1)[0][0]}
        notes = dict.fromkeys(spot.note for spot in spots if spot.string in own)
        finder = finder_of(parse_tuning(cards[0].partition("/")[0]))
        return root_places(finder.neck, min(own), [Note.parse(note) for note in notes], title, _IDEAS["roots"])
    shapes: dict[Shape, None] = {}
    reasons = []
    for card in cards:
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
    slip = cause.slip if cause else max(sorted(named), key=named.__getitem__, default="")
    idea = _IDEAS[cause.kind if cause and cause.groups else slip]
    strings = finder_of(parse_tuning(cards[0].partition("/")[0])).tuning.strings
    return shapes_sheet(list(shapes), strings, title, idea)


def gap_deck(student: Student, log: StudentLog, today: date) -> NewDeck:
    """A deck of the gap: the sets and qualities of what was missed for it, asked as roots alone where those are it.

    Raises NotPlayableError when nothing was missed.
    """
    missed, _ = _missed(student, log, today)
    places = dict.fromkeys(place for card in missed if (place := place_of(card)))
    if not places:
        raise NotPlayableError(f"{student.name}: nothing with a string set was missed in {JUDGED_DAYS} days")
    cause = student.cause
    roots = cause is not None and cause.is_roots
    return NewDeck(
        f"For {student.name}",
        strings=tuple(dict.fromkeys(strings.replace("-", "") for strings, _ in places)),
        qualities=tuple(dict.fromkeys(quality for _, quality in places)),
        prompts=("note", "name") if roots else (),
    )


def _place(student: Student) -> Place | None:
    """The place to work on where no cause says what to practise."""
    if student.cause and student.cause.groups:
        return None
    return next(iter(places_to_work_on(student)), None)


def _missed(student: Student, log: StudentLog, today: date) -> tuple[Counter[str], dict[str, tuple[str, ...]]]:
    """How often cards were missed for the gap in four weeks, and the skills of each."""
    cause, place = student.cause, _place(student)
    missed: Counter[str] = Counter()
    skills: dict[str, tuple[str, ...]] = {}
    for review, day in log.first_tries():
        here = cause.needs(review.skills) if cause and cause.groups else place is None or place_of(review.card) == place
        if not review.grade.clean and here and 0 <= today.toordinal() - day < JUDGED_DAYS:
            missed[review.card] += 1
            skills[review.card] = review.skills
    return missed, skills


def _spots(skills: tuple[str, ...]) -> list[RootSpot]:
    return [spot for skill in skills if (spot := root_spot(skill)) is not None]


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
