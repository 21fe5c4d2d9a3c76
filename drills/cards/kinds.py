"""The kinds of prompt a deck may use, by the name it writes: what each costs and how it is answered."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from drills.shapes.form import Form

__all__ = ["AWAY", "KEYSTROKE_S", "KINDS", "PROMPT_KINDS", "Kind", "kind_of"]

KEYSTROKE_S = 0.28
"""Seconds a typed character takes an average typist: Card, Moran and Newell (1980), the keystroke-level model."""

_USUAL_NOTES = 9
"""Notes the estimates of the played kinds allow for: R 3 5 7 8 7 5 3 R (drills/RULES.md, B6)."""

_PLAYED = ("root", "shape", "fingering", "time")


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of prompt.

    name: as a deck writes it; the last part of a card's id is it, or begins with it and a hyphen.
    module: which module of `drills.cards.prompts` asks it. about: what is asked, in a line.
    seconds: from prompt to prompt, the middle of the rules' estimate (B6). quick_s: an answer
    that is typed and right within so many seconds, `KEYSTROKE_S` a character apart, is quick (the lower
    end of the same estimate); None when the player judges. away: needs no guitar. heard: needs sound.
    slips: the causes of a miss that can be told apart here.
    """

    name: str
    module: str
    about: str
    seconds: float
    quick_s: float | None = None
    away: bool = False
    heard: bool = False
    slips: tuple[str, ...] = _PLAYED

    def seconds_for(self, form: Form, notes: int) -> float:
        """Seconds from prompt to prompt for a form of so many notes, on a kind that plays one form.

        A second for each note beyond or short of the usual nine, up and down at quarter = 60 (rule B6);
        a grip is one stroke, and a figure is played once.
        """
        played = 1 if form.kind == "grip" else 2 * notes - 1 if form.returns else notes
        return self.seconds + (played - _USUAL_NOTES)

    @property
    def typed(self) -> bool:
        """Whether a machine can check the answer."""
        return self.quick_s is not None

    def quick(self, seconds: float, typed: str) -> bool:
        """Whether an answer that took so long, typing included, was quick."""
        return self.quick_s is not None and seconds <= self.quick_s + KEYSTROKE_S * (len(typed) + 1)


_KINDS = (
    Kind("name", "name", "F#m7, strings 5-4-3: play it", 18.0),
    Kind("degree", "name", "ii of Bb, strings 6-5-4: play it", 18.0),
    Kind("transition", "transition", "Cm7 to F7, no gap: play both, to the nearest root", 18.0),
    Kind("fret", "name", "root at string 5, fret 6, m7b5: play it", 11.0, slips=("shape", "fingering", "time")),
    Kind("sets", "places", "Fm7 on every string set: play them all", 30.0),
    Kind("near", "places", "Gm7, near fret 5: play it there, on whichever strings", 22.0),
    Kind("position", "places", "C7, or V of F, in frets 5 to 8: play it without moving the hand", 22.0),
    Kind("same-place", "places", "a grip: play arpeggio, mode and a short phrase there", 30.0),
    Kind("ear-play", "hearing", "a chord is heard and its root named: play it", 12.0, heard=True),
    Kind("note", "notes", "Gb on string 4: at which fret", 4.0, 3.0, True, slips=()),
    Kind("places", "notes", "every Eb on strings 6, 5, 4: where", 30.0, 20.0, True, slips=()),
    Kind("tone", "notes", "3rd of Bb7 on string 3: at which fret", 5.0, 4.0, True, slips=()),
    Kind("diagram", "bare_diagrams", "a diagram with its root marked: name it", 7.0, 6.0, True,
         slips=("root", "shape")),
    Kind("unmarked", "bare_diagrams", "a diagram, its root not marked: name it", 7.0, 6.0, True, slips=("shape",)),
    Kind("fix", "bare_diagrams", "a diagram with one wrong note: find it", 9.0, 8.0, True, slips=()),
    Kind("grid", "bare_diagrams", "an empty grid: fill in the shape", 25.0, 20.0, True, slips=("root", "shape")),
    Kind("spell", "spell", "Cm7b5, or vii of Db: name its notes", 5.0, 4.0, True, slips=()),
    Kind("ear", "hearing", "a chord is heard: name its quality", 12.0, 8.0, True, True, ()),
    Kind("inner", "hearing", "a grip is shown and heard: sing or imagine its arpeggio", 15.0, away=True, slips=()),
)  # fmt: skip

KINDS: dict[str, Kind] = {kind.name: kind for kind in _KINDS}
"""Every kind by name, in the order a deck is asked in."""

PROMPT_KINDS = tuple(KINDS)

AWAY = tuple(kind.name for kind in _KINDS if kind.away)
"""The kinds that need no guitar."""


@lru_cache(maxsize=4096)
def kind_of(text: str) -> Kind:
    """The kind a card's last part belongs to: ``degree`` for ``degree-Bb-ii``.

    One that no longer exists is taken for the plain ``name``.
    """
    named = [kind for name, kind in KINDS.items() if text == name or text.startswith(f"{name}-")]
    return max(named, key=lambda kind: len(kind.name), default=KINDS["name"])
