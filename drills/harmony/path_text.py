"""A path as JSON, as plain text and as lines to be spoken; each says which method made it."""

from __future__ import annotations

from fractions import Fraction
from textwrap import wrap
from typing import Any

from drills.changes.changes import NO_CHORD
from drills.harmony.planned_path import MEASURES, Passes
from drills.harmony.root_path import Path, PathStep

__all__ = [
    "beat_number",
    "passes_json",
    "passes_lines",
    "passes_speech",
    "path_json",
    "path_lines",
    "path_speech",
    "path_title",
]


def beat_number(beat: Fraction) -> int | float:
    """A beat as JSON writes it: 1, 2.5."""
    return int(beat) if beat.denominator == 1 else float(beat)


def path_title(path: Path) -> str:
    """E.g. ``Path planned for least movement in frets, from string 6: 4 frets in all``."""
    how = path.method if path.method == "step by step" else f"planned for least movement in {MEASURES[path.measure]}"
    total = f"{path.total_frets} fret{'' if path.total_frets == 1 else 's'} in all"
    loop = f", {path.closing_frets} of them back to the first chord" if path.loop else ""
    return f"Path {how}, from string {path.steps[0].string}: {total}{loop}"


def _step_json(step: PathStep) -> dict[str, Any]:
    return {
        "bar": step.bar,
        "beat": beat_number(step.beat),
        "chord": step.text,
        "note": step.chord.root.name,
        "string": step.string,
        "fret": step.fret,
    }


def path_json(path: Path) -> dict[str, Any]:
    """The path as one JSON object; ``method``, ``total_frets`` and ``steps`` are the contract."""
    return {
        "method": path.method,
        "measure": path.measure,
        "strings": list(path.strings),
        "loop": path.loop,
        "closing_frets": path.closing_frets,
        "total_frets": path.total_frets,
        "steps": [_step_json(step) for step in path.steps],
        "holds": [{"bar": bar, "beat": beat_number(beat)} for bar, beat in path.holds],
    }


def passes_json(found: Passes) -> dict[str, Any]:
    """Passes from every root string: ``{"passes": [path, ...], "left_out": [{"string", "reason"}]}``."""
    return {
        "passes": [path_json(path) for path in found.paths],
        "left_out": [{"string": string, "reason": reason} for string, reason in found.left_out],
    }


def _bars(path: Path) -> list[tuple[int, str]]:
    """Bar numbers with what stands in each, chords and holds in order of beat."""
    cells: dict[int, list[tuple[Fraction, str]]] = {}
    for step in path.steps:
        where = f"{step.text} {step.chord.root.name}({step.string}/{step.fret})"
        cells.setdefault(step.bar, []).append((step.beat, where))
    for bar, beat in path.holds:
        cells.setdefault(bar, []).append((beat, NO_CHORD))
    return [(bar, "  ".join(text for _, text in sorted(cells[bar]))) for bar in sorted(cells)]


def path_lines(path: Path, width: int = 80) -> list[str]:
    """The path as plain text, up to four bars a line in columns, never wider than `width` where a bar fits.

    A place is written note(string/fret), e.g. ``F7 F(5/8)``.
    """
    bars = _bars(path)
    number = len(str(bars[-1][0]))
    cell = max(len(text) for _, text in bars)
    for count in (4, 2, 1):
        if number + 2 + count * (cell + 3) <= width or count == 1:
            break
    lines = wrap(path_title(path), width)
    for first in range(0, len(bars), count):
        row = bars[first : first + count]
        cells = " | ".join(text.ljust(cell) for _, text in row)
        lines.append(f"{row[0][0]:>{number}} | {cells} |" if count > 1 else f"{row[0][0]:>{number}} | {row[0][1]}")
    return lines


def passes_lines(found: Passes, width: int = 80) -> list[str]:
    """Every pass under its own title, and a line for each string that was left out."""
    lines: list[str] = []
    for path in found.paths:
        lines += [*path_lines(path, width), ""]
    lines += [f"String {string} left out. {reason}" for string, reason in found.left_out]
    return lines if found.left_out else lines[:-1]


def passes_speech(found: Passes) -> list[str]:
    """Every pass to be spoken, one after another, and a line for each string that was left out."""
    lines = [line for path in found.paths for line in path_speech(path)]
    return lines + [f"String {string} left out. {reason}." for string, reason in found.left_out]


def path_speech(path: Path) -> list[str]:
    """Lines to be spoken: the title, then one line a chord with its place and the way there."""
    lines = [f"{path_title(path)}."]
    before: PathStep | None = None
    events = sorted(
        [(step.bar, step.beat, step) for step in path.steps] + [(bar, beat, None) for bar, beat in path.holds],
        key=lambda event: event[:2],
    )
    for bar, beat, step in events:
        where = f"bar {bar}" + ("" if beat == 1 else f" beat {beat_number(beat)}")
        if step is None:
            lines.append(f"{where}: no chord, hold.")
            continue
        lines.append(
            f"{where}: {step.text}, string {step.string} fret {step.fret}, {step.chord.root.name}{_move(before, step)}."
        )
        before = step
    return lines


def _move(before: PathStep | None, step: PathStep) -> str:
    if before is None:
        return ""
    frets, strings = step.fret - before.fret, abs(step.string - before.string)
    if not frets and not strings:
        return "; stay"
    way = f"{abs(frets)} fret{'' if abs(frets) == 1 else 's'} {'up' if frets > 0 else 'down'}" if frets else "same fret"
    across = f", {strings} string{'' if strings == 1 else 's'} across" if strings else ""
    return f"; {way}{across}"
