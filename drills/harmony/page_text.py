"""A page of changes as a player reads it: the bars, and the key and mode of each chord, as text, speech and data."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from textwrap import wrap
from typing import Any

from drills.changes.changes import NO_CHORD, Bar, Changes
from drills.harmony.harmony import Function
from drills.harmony.home_key import home
from drills.harmony.path_text import beat_number
from drills.harmony.stretches import leads_on

__all__ = [
    "bars_said",
    "chart_lines",
    "cut_cadences",
    "functions_json",
    "mode_lines",
    "page_json",
    "page_speech",
    "plain_symbols",
]

_PLAIN = str.maketrans(
    {"♭": "b", "♯": "#", "𝄫": "bb", "𝄪": "##", "△": "maj", "Δ": "maj", "ø": "m7b5", "Ø": "m7b5", "°": "dim", "−": "-"}
)


def plain_symbols(text: str) -> str:
    """The same text in plain characters: ``B♭△7`` becomes ``Bbmaj7``; a letter without a twin becomes ``?``."""
    return text.translate(_PLAIN).replace("m7b57", "m7b5").encode("ascii", "replace").decode("ascii")


def _head(changes: Changes) -> str:
    """Key (as stated, or as heard), metre, tempo and feel in one line."""
    found = home(changes)
    key = (f"key {found.name}" if found.stated else f"heard in {found.name}") if found else ""
    parts = [key, str(changes.metre)]
    parts += [f"{changes.tempo:g} quarter notes a minute"] if changes.tempo else []
    parts += [changes.feel] if changes.feel else []
    pickup = changes.bars[0].number == 0
    count = len(changes.bars) - pickup
    bars = f"{count} bar{'s' * (count != 1)}" + " and a pickup" * pickup
    return ", ".join(filter(None, [*parts, bars]))


def _notes(changes: Changes) -> list[str]:
    """Sentences below the head: where the page travels, and where an excerpt is heard with what stands around it."""
    found = home(changes)
    lines = []
    if found and found.travels:
        lines.append("Travels to " + "; to ".join(f"{name} in {bars_said(bars)}" for name, bars in found.travels) + ".")
    return [*lines, *cut_cadences(changes)]


def _bar_text(bar: Bar) -> str:
    """The chords of a bar as written, each held for one more share by ``.``; lengths that share no beat in full."""
    whole = all(slot.beats.denominator == 1 for slot in bar.chords)
    even = len({slot.beats for slot in bar.chords}) == 1
    found = []
    for slot in bar.chords:
        held = " ." * (int(slot.beats) - 1) if whole and not even else ""
        found.append((slot.text if slot.chord else NO_CHORD) + held)
    return " ".join(found)


def chart_lines(changes: Changes, width: int = 80) -> list[str]:
    """The bars in playing order, four to a line or as many as fit, sections by their labels.

    Each line begins with the number of its first bar. A bar whose metre is another than the one before says so.
    """
    lines = [*wrap(changes.title or "Changes", width), *wrap(_head(changes), width)]
    for note in _notes(changes):
        lines += wrap(note, width)
    texts = {}
    metre = changes.metre
    for bar in changes.bars:
        texts[bar.number] = ("" if bar.metre == metre else f"({bar.metre}) ") + _bar_text(bar)
        metre = bar.metre
    cell = max(map(len, texts.values()), default=1)
    number = len(str(len(changes.bars)))
    count = next((each for each in (4, 2) if number + 3 + each * (cell + 3) <= width), 1)
    for _, group in groupby(changes.bars, key=lambda bar: (bar.section, bar.written[0], _turn(changes, bar))):
        bars = list(group)
        lines += ["", *([f"[{bars[0].section}]"] if bars[0].section else [])]
        for first in range(0, len(bars), count):
            row = bars[first : first + count]
            cells = " | ".join(texts[bar.number].ljust(cell if count > 1 else 0) for bar in row)
            lines.append(f"{row[0].number:>{number}} | {cells} |")
    return lines


def _turn(changes: Changes, bar: Bar) -> int:
    """How often the bar's section has begun by now, so that the same section twice running stays two."""
    return sum(other.written == (bar.written[0], 0) for other in changes.bars if other.number <= bar.number)


def bars_said(numbers: Sequence[int]) -> str:
    """``bar 3``, ``bars 1 to 4, 7``."""
    runs: list[list[int]] = []
    for number in dict.fromkeys(numbers):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    many = len(runs) > 1 or runs[0][0] != runs[0][1]
    said = [f"{a}" if a == b else f"{a}, {b}" if b == a + 1 else f"{a} to {b}" for a, b in runs]
    return f"bar{'s' * many} {', '.join(said)}"


def mode_lines(changes: Changes, functions: Sequence[Function | None], width: int = 80) -> list[str]:
    """What each chord does and the mode that follows, alike ones once with all their bars.

    functions: of `drills.harmony.harmony.analyse`. The lines can be spoken as they are.
    """
    found: dict[tuple[str, str], list[int]] = {}
    second: dict[tuple[str, str], list[int]] = {}
    for (bar, slot), function in zip(changes.slots, functions, strict=True):
        if function is not None:
            found.setdefault((slot.text, function.explanation), []).append(bar.number)
            if function.also:
                second.setdefault((slot.text, function.also), []).append(bar.number)
    longest = max((len(text) for text, _ in found), default=0)
    lines = []
    for (text, explanation), bars in found.items():
        said = f"{text.ljust(longest)}  {explanation}; {bars_said(bars)}"
        lines += wrap(said, width, subsequent_indent=" " * (longest + 2), break_on_hyphens=False)
    for (text, also), bars in second.items():
        lines += wrap(f"{text.ljust(longest)}  or {also}; {bars_said(bars)}", width,
                      subsequent_indent=" " * (longest + 2), break_on_hyphens=False)  # fmt: skip
    return lines


def cut_cadences(changes: Changes) -> list[str]:
    """What an excerpt says where its edge cuts a cadence: a dominant or its ii, and where it resolves, come apart."""
    lines = []
    first, last = changes.bars[0], changes.bars[-1]
    if changes.before and leads_on(changes.before[-1].chords[-1].chord, first.chords[0].chord):
        lines.append(f"Bar {first.number} is heard with the bar before it on the page: a cadence is cut there.")
    if changes.after and leads_on(last.chords[-1].chord, changes.after[0].chords[0].chord):
        lines.append(f"Bar {last.number} is heard with the bar after it on the page: a cadence is cut there.")
    return lines


def page_json(changes: Changes, functions: Sequence[Function | None]) -> dict[str, Any]:
    """The page as one JSON object: head, bars with their chords, and the key and mode of every chord."""
    found = home(changes)
    return {
        "title": changes.title,
        "key": found.name if found else None,
        "travels": [{"key": name, "bars": list(bars)} for name, bars in found.travels] if found else [],
        "cut": cut_cadences(changes),
        "metre": str(changes.metre),
        "tempo": changes.tempo,
        "feel": changes.feel,
        "bars": [
            {
                "bar": bar.number,
                "section": bar.section,
                "metre": str(bar.metre),
                "chords": [
                    {"beat": beat_number(slot.beat), "beats": beat_number(slot.beats), "chord": slot.text}
                    for slot in bar.chords
                ],
            }
            for bar in changes.bars
        ],
        "modes": functions_json(changes, tuple(functions)),
    }


def page_speech(changes: Changes, functions: Sequence[Function | None]) -> list[str]:
    """The page to be spoken: the head, then bar by bar each chord with its length, place in the key and mode."""
    lines = [f"{changes.title or 'Changes'}.", f"{_head(changes)}.", *_notes(changes)]
    given = iter(functions)
    section = None
    for bar in changes.bars:
        if bar.section != section and bar.section:
            lines.append(f"section {bar.section}.")
        section = bar.section
        said = []
        for slot in bar.chords:
            function = next(given)
            what = slot.text if slot.chord else "no chord"
            length = "" if len(bar.chords) == 1 else f", {beat_number(slot.beats):g} beat{'s' * (slot.beats != 1)}"
            place = f", {function.explanation}" if function else ""
            also = f", or {function.also}" if function and function.also else ""
            said.append(what + length + place + also)
        lines.append(f"bar {bar.number}: {'; '.join(said)}.")
    return lines


def functions_json(changes: Changes, functions: tuple[Function | None, ...]) -> list[dict[str, Any]]:
    """One object for each chord: bar, beat, chord, key, numeral, mode, its notes, and whether the player chose it."""
    found = []
    for (bar, slot), function in zip(changes.slots, functions, strict=True):
        entry: dict[str, Any] = {"bar": bar.number, "beat": beat_number(slot.beat), "chord": slot.text}
        if function is not None:
            mode = function.mode
            entry |= {
                "key": function.key_name,
                "numeral": function.numeral,
                "mode": None if mode is None else mode.name,
                "notes": [] if mode is None else [note.name for note in mode.notes(slot.sounding.root)],
                "chosen": function.chosen,
                "also": function.also,
            }
        found.append(entry)
    return found
