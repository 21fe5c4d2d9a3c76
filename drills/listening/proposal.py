"""Proposes a grade from a verdict, or none where it would be a guess. The player may take it or not."""

from __future__ import annotations

from collections.abc import Sequence

from drills.listening.heard import Judged, Proposal, Verdict

__all__ = ["ON_CLICK_MS", "propose"]

ON_CLICK_MS = 60.0
"""A note this near its click is on it (chosen; players' onsets at slow tempi spread by 20 to 40 ms)."""

_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")


def _ordinal(place: int) -> str:
    return _ORDINALS[place - 1] if place <= len(_ORDINALS) else f"{place}th"


def _note(place: int, shapes: Sequence[tuple[str, int]]) -> str:
    """``third note``, counted from 1, or in a change ``second note of F7``."""
    left = place
    for name, count in shapes:
        if left <= count:
            return f"{_ordinal(left)} note of {name}"
        left -= count
    return f"{_ordinal(place)} note"


def propose(
    verdict: Verdict, *, first_s: float | None = None, late_s: float | None = None,
    shapes: Sequence[tuple[str, int]] = (),
) -> Proposal:  # fmt: skip
    """The grade to propose.

    first_s: seconds from the prompt to the first note. late_s: the 90th percentile of that for this player; later
    than this is a hunt. Either may be None where it is not known. shapes: in a change from one shape to the next the
    name of each and how many notes it has; empty for one shape.
    """
    if verdict.doubts:
        return Proposal(None, None, verdict.doubts[0] + " Your word?")
    notes = verdict.notes
    unsure = [place for place, note in enumerate(notes, start=1) if note.judged is Judged.NOT_SURE]
    if unsure:
        which = " and ".join(_ordinal(place) for place in unsure) if len(unsure) < 3 else "much of it"
        heard = f"the {which} note{'s' if len(unsure) > 1 else ''}" if len(unsure) < 3 else which
        if shapes and len(unsure) < 3:
            heard = " and ".join(f"the {_note(place, shapes)}" for place in unsure)
        return Proposal(None, None, f"I did not hear {heard} well. Your word?")
    right = sum(note.judged is Judged.RIGHT for note in notes)
    if 2 * right < len(notes):
        return Proposal(None, None, "That sounded like something else. Your word?")
    fault = next((place for place, note in enumerate(notes) if note.judged is not Judged.RIGHT), None)
    if fault is not None:
        said = "was missing" if notes[fault].judged is Judged.MISSING else "was another"
        roots = (0, *(count for _, count in shapes[:1]))
        slip = "root" if fault in roots else "shape"
        return Proposal("looked", slip, f"Looked, I think: the {_note(fault + 1, shapes)} {said}.")
    if shapes and verdict.extras and {midi % 12 for midi in verdict.extras} <= {note.asked % 12 for note in notes}:
        return Proposal(None, None, "Some of it sounded more than once. Your word?")
    if verdict.extras:
        return Proposal("found-it", None, "Found it, I think: right in the end, with another note on the way.")
    if verdict.stops:
        return Proposal("found-it", None, f"Found it, I think: a stop before the {_note(verdict.stops[0], shapes)}.")
    if first_s is not None and late_s is not None and first_s > late_s:
        return Proposal("found-it", None, "Found it, I think: the first note came late for you.")
    if verdict.faint:
        return Proposal(None, None, "There may have been another note on the way. Your word?")
    off = verdict.off_click_ms
    if off and all(one is not None and abs(one) <= ON_CLICK_MS for one in off):
        return Proposal("in-time", None, "In time, I think, if you could have said the notes.")
    return Proposal("clean", None, "Clean, I think.")
