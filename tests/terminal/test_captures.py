"""Captures of a real terminal against golden files; `captures.py` beside them draws them anew."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from captures import GOLDEN, SIZES, capture, prompts, spoken, spoken_typed


@pytest.mark.parametrize(("columns", "rows"), SIZES)
def test_every_screen_is_as_it_was_looked_at(tmp_path, columns, rows):
    """Caution, plan, warm-up, lesson, prompt, answer, repeat and end: aligned, nothing cut, at each size."""
    for name, shown in capture(tmp_path, columns, rows).items():
        kept = (GOLDEN / f"{name}-{columns}x{rows}.txt").read_text(encoding="utf-8")
        assert shown == kept, f"{name} at {columns}x{rows} differs; look, then run tests/terminal/captures.py"
        assert len(shown.splitlines()) <= rows
        assert all(len(line) < columns for line in shown.splitlines())


@pytest.mark.parametrize(("columns", "rows"), SIZES)
def test_every_prompt_with_a_drawing_is_as_it_was_looked_at(tmp_path, columns, rows):
    """A diagram to name, an empty grid, a grip to play from and a position: prompt and answer, at each size."""
    for name, shown in prompts(tmp_path, columns, rows).items():
        kept = (GOLDEN / f"{name}-{columns}x{rows}.txt").read_text(encoding="utf-8")
        assert shown == kept, f"{name} at {columns}x{rows} differs; look, then run tests/terminal/captures.py"
        assert len(shown.splitlines()) <= rows
        assert all(len(line) < columns for line in shown.splitlines())


def test_typed_prompts_in_lines_need_no_sight_of_a_drawing(tmp_path):
    """Every place is said, an empty grid by its frets; what was typed is judged in words."""
    said = spoken_typed(tmp_path)
    assert said == (GOLDEN / "spoken-typed.txt").read_text(encoding="utf-8")
    assert not re.search(r"[─│║█▁┼]|\x1b", said)
    for words in ("string 5 fret 1, root", "An empty grid, frets 1 to 5", "Right: 5/1", "B flat D flat F A flat"):
        assert words in said


def test_a_session_in_lines_needs_no_sight_of_a_drawing(tmp_path):
    """Every step is said: what to play, where each note lies, how to answer; no drawn character comes up."""
    said = spoken(tmp_path)
    assert said == (GOLDEN / "spoken.txt").read_text(encoding="utf-8")
    assert not re.search(r"[─│║█▁┼]|\x1b", said)
    assert said.count("Next: ") == 1  # the end is said once
    for words in ("string 5 fret", "finger", "position", "Play it, then Enter", "Grip:", "Mode:", "first try clean"):
        assert words in said
