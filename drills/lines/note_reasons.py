"""Gives the reason for a note of an etude line: its part in the chord and the rule it obeys."""

from __future__ import annotations

from drills.diagrams.speech import degree_words
from drills.harmony.chord_timeline import Tones
from drills.lines.line import CHORD_TONE, CHROMATIC, MODE_NOTE
from drills.theory.note import NATURAL_SEMITONES, Note

__all__ = ["chromatic_name", "reason", "role_of"]

_DOMINANT = {4, 10}
"""Semitones above the root that make a dominant: major third and flat seventh."""

_TENSIONS = {1: "flat ninth", 3: "sharp ninth", 8: "flat thirteenth"}
"""What musicians call the altered notes over a dominant, by semitones above its root (common practice).

A scale counts them as seconds, thirds and sixths; but where it has the major third, that is the third. In a scale
without it, as the blues has none, a flat third stays one.
"""


def role_of(tones: Tones, midi: int) -> str:
    """CHORD_TONE, MODE_NOTE or CHROMATIC."""
    if midi % 12 in tones.chord_tones:
        return CHORD_TONE
    return MODE_NOTE if midi % 12 in tones.mode_notes else CHROMATIC


def chromatic_name(midi: int, after: Note) -> Note:
    """The spelling of a chromatic note that moves a semitone to `after`: the neighbouring letter it needs.

    From below it takes the letter below (C# to D), from above the letter above (Db to C), or
    the letter of its goal where the letter above would be Cb or Fb or need two signs (B to Bb).
    """
    below, above = (after.step - 1) % 7, (after.step + 1) % 7
    rising = (after.pitch_class - midi) % 12 == 1
    named = [Note(step, (midi - NATURAL_SEMITONES[step] + 6) % 12 - 6) for step in (below, above, after.step)]
    if rising:
        return named[0]
    plain = named[1].alter in (-1, 0) and named[1].name not in ("Cb", "Fb")
    return named[1] if plain else named[2]


def reason(
    tones: Tones,
    midi: int,
    before: tuple[Tones, int] | None,
    after: tuple[Tones, int] | None,
    *,
    strong: bool,
    new_chord: bool,
) -> str:
    """The rule a note obeys, in words.

    before, after: the chord and MIDI key of the neighbouring notes. strong: on a first
    or middle beat. new_chord: the first note of its chord.
    """
    role = role_of(tones, midi)
    name = tones.chord.name
    parts = []
    if role == CHROMATIC and after is not None:
        goal = degree_words(after[0].names[after[1] % 12][1])
        if after[1] > midi:
            kind = "encloses" if before and before[1] > after[1] else "leads from a semitone below to"
            return f"{kind} the {goal} of {after[0].chord.name}"
        return f"passes down to the {goal} of {after[0].chord.name}, so that a chord tone falls on the beat"
    word = degree_words(tones.names[midi % 12][1])
    if role == MODE_NOTE and tones.mode is not None:
        if set(tones.chord.quality.semitones) >= _DOMINANT <= tones.mode.pitch_classes:
            word = _TENSIONS.get((midi - tones.chord.root.pitch_class) % 12, word)
        parts.append(f"{word} of {tones.chord.root.name} {tones.mode.name}{_in_the_mode(midi, before, after)}")
    else:
        parts.append(f"{word} of {name}")
        if strong:
            parts.append("a chord tone on the strong beat")
    if new_chord and before is not None:
        size = abs(midi - before[1])
        if midi % 12 in tones.guide_tones:
            parts.append("it tells the new chord")
        parts.append("a step from the note before" if size <= 2 else "near the note before")
    if before is not None and before[0].chord != tones.chord:
        moved = _resolved(before, midi)
        if moved:
            parts.append(moved)
    return "; ".join(parts)


def _in_the_mode(midi: int, before: tuple[Tones, int] | None, after: tuple[Tones, int] | None) -> str:
    """What a note of the mode does: it lies between chord tones, or with the note before it encloses one."""
    beside = [each for each in (before, after) if each is not None]
    if all(role_of(*each) == CHORD_TONE for each in beside):
        return ", between chord tones"
    if before is not None and after is not None and role_of(*after) == CHORD_TONE:
        # The semitone below the goal, where the mode has it, after the mode's note above (drills/RULES.md, D6).
        if after[1] - midi == 1 and 1 <= before[1] - after[1] <= 3:
            return f"; encloses the {degree_words(after[0].names[after[1] % 12][1])} of {after[0].chord.name}"
    return ", on the way between chord tones"


def _resolved(before: tuple[Tones, int], midi: int) -> str:
    """What a guide tone of a dominant before does here."""
    tones, key = before
    steps = set(tones.chord.quality.semitones)
    if not {4, 10} <= steps:
        return ""
    third, seventh = tones.guide_tones
    if key % 12 == seventh and midi < key:
        return f"the seventh of {tones.chord.name} falls here"
    if key % 12 == third and midi > key:
        return f"the third of {tones.chord.name} rises here"
    return ""
