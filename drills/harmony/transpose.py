"""Moves changes to another key by letters, so that C# in A becomes E in C and never Fb."""

from __future__ import annotations

import re
from dataclasses import replace

from drills.changes.changes import Bar, Changes, Section, Slot, WrittenBar
from drills.errors import ChangesError, TheoryError
from drills.harmony.home_key import home_key
from drills.harmony.key_spelling import plain_key
from drills.theory.chord import Chord
from drills.theory.interval import Interval, transpose_note
from drills.theory.key import Key, parse_degree, parse_key
from drills.theory.note import Note, plain_accidentals
from drills.theory.spelling import simple_twin

__all__ = ["interval_to", "transposed", "transposed_to"]

_UP = ("P1", "m2", "M2", "m3", "M3", "P4", "d5", "P5", "m6", "M6", "m7", "M7")


def interval_to(tonic: Note, target: Note) -> Interval:
    """The spelled interval from one tonic up to another, within an octave."""
    steps = (target.step - tonic.step) % 7
    natural = 12 if target.step < tonic.step else 0
    return Interval(steps, target.semitones - tonic.semitones + natural)


def transposed_to(changes: Changes, target: str) -> Changes:
    """The changes in another key, e.g. ``Bb``; the home key is the stated one, or the one heard at the end.

    ``Bb``, ``Bbm`` and ``Bb minor`` all mean the tonic; a target that says minor for changes in
    major, or major in so many words for changes in minor, is refused. A title, which may name the
    old key, says the new one.
    Raises ChangesError then, and TheoryError when the key cannot be read or has no signature.
    """
    home = home_key(changes)
    if home is None:
        raise ChangesError("transpose: the changes hold no chord, so they have no key; write key: at their head")
    key = parse_key(target)
    says_major = "maj" in target.lower()
    if (key.is_minor and not home.is_minor) or (says_major and home.is_minor):
        raise ChangesError(f"transpose: the changes are in {home.name}, {target.strip()!r} is not; give a tonic only")
    there = Key(key.tonic, home.parent)  # a tonic whose signature nobody can write is refused here
    moved = transposed(changes, interval_to(home.tonic, key.tonic))
    if not changes.title or there.tonic == home.tonic:
        return moved
    return replace(moved, title=f"{changes.title}, moved to {there.name}")


def transposed(changes: Changes, interval: Interval | str) -> Changes:
    """The changes an interval away, e.g. ``m3`` or ``-M2``.

    Every name moves by letters. Where a key would then need more than seven sharps or
    flats, everything moves by the enharmonic interval instead (from B up a third is Eb);
    a page through so many keys that no one interval serves them all moves key by key.
    A root or bass that would need a double accidental takes its everyday name.
    Raises TheoryError when the interval cannot be read.
    """
    if isinstance(interval, str):
        interval = Interval.parse(interval)
    keys = {bar.key for section in changes.sections for bar in section.bars} | {changes.key}
    keys |= {bar.key for bar in (*changes.before, *changes.after)}
    stated = [key for key in keys if key is not None] or [key for key in (home_key(changes),) if key is not None]
    whole = _writable(stated, interval)
    by_key: dict[Key | None, Interval | None] = {key: whole or _writable([key], interval) for key in stated}
    by_key[None] = whole or by_key.get(changes.key) or interval
    sections = tuple(
        Section(section.label, tuple(_bar(bar, by_key.get(bar.key) or interval) for bar in section.bars))
        for section in changes.sections
    )
    key = None if changes.key is None else changes.key.transposed(by_key[changes.key] or interval)
    before, after = (
        tuple(_played(bar, by_key.get(bar.key) or interval) for bar in bars) for bars in (changes.before, changes.after)
    )
    return replace(changes, sections=sections, key=key, before=before, after=after)


def _writable(keys: list[Key], interval: Interval) -> Interval | None:
    """The interval, or the enharmonic one that keeps every one of the keys within seven accidentals; None for none."""
    # The letter asked for first, then one letter up, then one down.
    for choice in [interval, *(Interval(interval.steps + step, interval.semitones) for step in (1, -1))]:
        try:
            for key in keys:
                key.transposed(choice)
        except TheoryError:
            continue
        return choice
    return None


def _everyday(note: Note) -> Note:
    return (simple_twin(note) or note) if abs(note.alter) > 1 else note


def _bar(bar: WrittenBar, interval: Interval) -> WrittenBar:
    key = None if bar.key is None else bar.key.transposed(interval)
    return replace(bar, key=key, slots=tuple(_slot(slot, interval) for slot in bar.slots))


def _played(bar: Bar, interval: Interval) -> Bar:
    key = None if bar.key is None else bar.key.transposed(interval)
    return replace(bar, key=key, chords=tuple(_slot(slot, interval) for slot in bar.chords))


def _slot(slot: Slot, interval: Interval) -> Slot:
    if slot.chord is None:
        return slot
    old = slot.chord
    chord = Chord(
        _everyday(transpose_note(old.root, interval)),
        old.quality,
        None if old.bass is None else _everyday(transpose_note(old.bass, interval)),
        old.tensions,
    )
    mode = slot.mode
    if " of " in mode or " in " in mode:
        numeral, word, _ = re.split(r"\s+(of|in)\s+", mode, maxsplit=1)
        key, _ = parse_degree(mode)
        mode = f"{numeral} {word} {_mode_key(key, interval).name}"
    return replace(slot, chord=chord, text=_text(slot.text, chord), mode=mode)


def _mode_key(key: Key, interval: Interval) -> Key:
    try:
        return key.transposed(interval)
    except TheoryError:
        return plain_key(transpose_note(key.tonic, interval).pitch_class, key.parent)


def _text(text: str, chord: Chord) -> str:
    """The symbol as written, with its names changed and its way of writing the quality kept."""
    plain = plain_accidentals(text)
    suffix = re.sub(r"^[A-Ga-g](?:b{1,3}|#{1,3}|)", "", plain)
    if chord.bass is not None:
        suffix = suffix[: suffix.rfind("/")] + f"/{chord.bass.name}"
    return chord.root.name + suffix
