"""Says what each key does. One hand can reach every key, and two pedals are enough for a whole session."""

from __future__ import annotations

from scheduler.grade import Grade

__all__ = [
    "CONTROLS", "ENTER", "GRADE_KEYS", "GRADE_REST_S", "HELP", "HURTS", "LOOK", "LOOK_REST_S", "ON", "RAISE",
    "SLIP_KEYS", "offered",
]  # fmt: skip

ON = frozenset({"right", "enter", "pagedown", " "})
"""Reveal, or go on: Right, Enter, Page Down (what a page-turn pedal types), Space."""

ENTER = frozenset({"enter"})
"""On an answer that was typed: takes the verdict."""

HURTS = "!"
"""At every moment of a session: my hand hurts. No answer holds this sign, and no hand finds it by accident."""

CONTROLS = frozenset({"escape", HURTS})
"""Keys that mean the same while an answer is being typed."""

RAISE = frozenset({"pageup"})
"""On a prompt, and while the diagram stays after a miss: raises the last grade once, Looked to Found it or Clean to
In time. Where an answer is typed, only while nothing is written. Before the first card, on a lesson and at the end
it does nothing; on an answer it grades Looked, see `GRADE_KEYS`."""

LOOK = frozenset({"left", "l"})
"""On a prompt: shows the answer and grades Looked in one press, for a player who does not know the card."""

LOOK_REST_S = 0.7
"""After a prompt comes up the keys of `LOOK` rest this long, in seconds: a doubled press never fails the next card."""

GRADE_KEYS = {
    "left": Grade.LOOKED, "down": Grade.FOUND, "right": Grade.CLEAN, "up": Grade.IN_TIME,
    "l": Grade.LOOKED, "f": Grade.FOUND, "c": Grade.CLEAN, "t": Grade.IN_TIME,
    "pageup": Grade.LOOKED, "pagedown": Grade.CLEAN,
}  # fmt: skip
"""Grades on the answer: four arrows found by touch, four initials, or two pedals; for Page Up see `RAISE` too."""

SLIP_KEYS = {"1": "root", "2": "shape", "3": "fingering", "4": "time"}

GRADE_REST_S = 0.3
"""After the reveal grading keys rest this long, and a key held down counts once: in seconds."""

HELP = (
    ("Right, Enter, Space, Page Down", "show the answer, or go on"),
    ("Left, l on a prompt", "I don't know: show me; graded Looked"),
    ("Left  l", "Looked: I needed the diagram, or root or quality was wrong"),
    ("Down  f", "Found it: right in the end, with a stop, a hunt or a note corrected"),
    ("Right c", "Clean: every note right first time, no stops, slow"),
    ("Up    t", "In time: straight away, one note a click, and I could say the notes"),
    ("Page Up, Page Down", "Looked, Clean; on a prompt Page Up raises the last grade"),
    ("1 2 3 4", "what slipped: root, shape, fingering, time (after Looked or Found it)"),
    ("u", "take back the last grade"),
    ("n, r", "another card now; or this one rests until neckwork wake brings it back"),
    ("a", "offers another fingering for this form in all keys; a again keeps it"),
    ("g", "the grip and the mode at the same place; again: back"),
    ("w", "what the words on this card mean"),
    ("s", "hear it: chord, arpeggio, mode, chord; a heard prompt again (Down too)"),
    ("k", "count-in and click at the tempo on the card; start by beat one"),
    ("?", "ask the teacher about this card"),
    ("p, h", "pause the clock; this list"),
    ("q, Escape", "stop here; everything graded is kept"),
    ("!", "my hand hurts: stop, and leave out what stretched it"),
    ("v, 1 to 9, m", "at the start: nothing new, one string set; at the end: ten more"),
    ("typed answers", "Enter hands in, Backspace mends, Tab another card, Escape stops"),
)

HEARD_KEYS = frozenset({"s", "k"})
"""Keys that let something be heard."""


def offered(rows: tuple[tuple[str, str], ...], audible: bool) -> list[tuple[str, str]]:
    """The rows of a list of keys that do something here: those for sound only where it can be heard."""
    return [row for row in rows if audible or row[0] not in HEARD_KEYS]
