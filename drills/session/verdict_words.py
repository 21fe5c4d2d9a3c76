"""What is said of the notes of a take that were not right, and the glyph each is drawn with."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from drills.listening.heard import Judged, NoteVerdict, Verdict
from drills.theory.spelling import common_name

if TYPE_CHECKING:
    from drills.shapes.shape import Shape

__all__ = ["extras_words", "glyphs_of", "note_words", "shape_words"]

_WRONG, _NOT_SURE = "x", "?"
_GLYPHS = {Judged.RIGHT: "", Judged.NOT_SURE: _NOT_SURE, Judged.WRONG: _WRONG, Judged.MISSING: _WRONG}


def glyphs_of(verdict: Verdict) -> tuple[str, ...]:
    """For each note asked for ``""`` where it was right, ``x`` where another or none sounded, ``?`` where not sure."""
    return tuple(_GLYPHS[one.judged] for one in verdict.notes)


def note_words(verdict: Verdict, names: Sequence[str]) -> list[str]:
    """A sentence for each note that was not right: ``Note 3: Bb, not B.``

    names: those of the notes asked for, as many as the verdict has.
    """
    said = (_words(place, one, name) for place, (one, name) in enumerate(zip(verdict.notes, names, strict=True), 1))
    return [words for words in said if words]


def _words(place: int, one: NoteVerdict, asked: str) -> str:
    if one.judged is Judged.WRONG and one.heard is not None:
        return f"Note {place}: {common_name(one.heard % 12)}, not {asked}."
    if one.judged is Judged.MISSING:
        return f"Note {place}: {asked} did not sound."
    return f"Note {place}: {asked}? Not heard well." if one.judged is Judged.NOT_SURE else ""


def shape_words(verdict: Verdict, shapes: Sequence[Shape]) -> list[str]:
    """As `note_words`, for one shape; for two in a row each sentence says of which: ``F7, note 3: Bb, not B.``"""
    if len(shapes) == 1:
        return note_words(verdict, [note.pitch.note.name for note in shapes[0].notes])
    said, first = [], 0
    for shape in shapes:
        part = Verdict(verdict.notes[first : first + len(shape.notes)])
        first += len(shape.notes)
        names = [note.pitch.note.name for note in shape.notes]
        said += [f"{shape.name}, {words[0].lower()}{words[1:]}" for words in note_words(part, names)]
    return said


def extras_words(verdict: Verdict) -> list[str]:
    """The names of the notes that sounded besides, in one sentence, where there are any."""
    return [f"Besides: {', '.join(common_name(midi % 12) for midi in verdict.extras)}."] if verdict.extras else []
