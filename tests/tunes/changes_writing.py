"""Writes changes as text that reads back to the same value."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import reduce
from math import gcd

from drills.changes.changes import NO_CHORD, Changes, Section, Slot, WrittenBar

__all__ = ["write_bar", "write_changes"]

_BARS_A_LINE = 4
_MOST_SHARES = 16
"""More dots than this in a bar are harder to read than lengths in beats."""


def write_changes(changes: Changes) -> str:
    """The text of the changes, in the notation of ``drills.changes.changes``; reads back to an equal value."""
    lines = []
    if changes.title:
        # A title read from elsewhere may hold what ends a line or begins a remark.
        lines.append("title: " + re.sub(r"[\s;]+|(?<!\S)#", " ", changes.title).strip())
    if changes.key is not None:
        lines.append(f"key: {changes.key.name}")
    if str(changes.metre) != "4/4":
        lines.append(f"metre: {changes.metre}")
    if changes.tempo is not None:
        lines.append(f"tempo: {changes.tempo:g}")
    if changes.feel:
        lines.append(f"feel: {changes.feel}")
    if changes.form:
        lines.append("form: " + (" ".join(changes.form) if _plain(changes.form) else ", ".join(changes.form) + ","))
    for section in changes.sections:
        if lines:
            lines.append("")
        lines += _section(changes, section)
    return "\n".join(lines) + "\n"


def _plain(labels: tuple[str, ...]) -> bool:
    return not any(re.search(r"[\s,]", label) for label in labels)


def _section(changes: Changes, section: Section) -> list[str]:
    first = section.bars[0]
    # A line key: or metre: before any section would belong to the head, so [] opens one without a label.
    differs = first.key != changes.key or first.metre != changes.metre
    lines = [f"[{section.label}]"] if section.label or differs or section is not changes.sections[0] else []
    key, metre = changes.key, changes.metre
    row: list[str] = []

    def end_row() -> None:
        if row:
            lines.append(" ".join(row) + ("" if row[-1].endswith(":|") or ":| x" in row[-1] else " |"))
            row.clear()

    for bar in section.bars:
        if bar.key != key or bar.metre != metre or len(row) >= _BARS_A_LINE:
            end_row()
        if bar.key != key:
            lines.append(f"key: {'none' if bar.key is None else bar.key.name}")
        if bar.metre != metre:
            lines.append(f"metre: {bar.metre}")
        key, metre = bar.key, bar.metre
        row.append(_written(bar))
    end_row()
    return lines


def _written(bar: WrittenBar) -> str:
    opening = "|:" if bar.opens else "|"
    ending = f"{','.join(map(str, bar.endings))}." if bar.endings else ""
    closing = ""
    if bar.closes:
        closing = " :|" + (f" x{bar.closes}" if bar.closes != 2 else "")
    return f"{opening}{ending} {write_bar(bar.slots, bar.metre.beats)}{closing}"


def _chord(slot: Slot) -> str:
    return (NO_CHORD if slot.chord is None else slot.text) + (f"{{{slot.mode}}}" if slot.mode else "")


def write_bar(slots: tuple[Slot, ...], beats: int) -> str:
    """The chords of a bar: shares with dots where that is short, else lengths with ``*``."""
    lengths = [slot.beats for slot in slots]
    share = reduce(_common, lengths)
    if Fraction(beats) / share <= _MOST_SHARES:
        return " ".join(" ".join([_chord(slot), *["."] * (int(slot.beats / share) - 1)]) for slot in slots)
    return " ".join(f"{_chord(slot)}*{slot.beats}" for slot in slots)


def _common(one: Fraction, other: Fraction) -> Fraction:
    """The greatest length of which both are multiples."""
    return Fraction(
        gcd(one.numerator * other.denominator, other.numerator * one.denominator), one.denominator * other.denominator
    )
