"""Text from files as it is shown: what steers a terminal or a page is gone, honest letters stay."""

import ast
import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.safe_text import drawn, escaped, one_line
from scheduler.json_line import json_line

COMMANDS = Path(__file__).resolve().parent.parent / "drills" / "cli"

HONEST = "C♭maj7 F♯ø é ñ Ω 練習 שלום مرحبا 𝄫 👍"
"""Accidentals, accents, other scripts, two of them written from right to left."""


@given(st.text() | st.text("\x1b\x9b\u202e\u2066\u2069\u200b\ufeff\ud800ab \n"))
def test_nothing_that_is_not_drawn_is_left(text):
    """Whatever the text: one line, printable; a text to be repeated keeps its line ends and nothing else."""
    assert drawn(text).isprintable()
    assert one_line(text).isprintable()
    assert one_line(text) == one_line(one_line(text)) == " ".join(one_line(text).split())
    assert all(line.removesuffix("\r").isprintable() for line in escaped(text).split("\n"))
    assert json_line([text]).isprintable()
    assert json.loads(json_line({"a": text})) == json.loads(json.dumps({"a": text}))


@given(st.text(st.characters(exclude_categories=("C", "Z"))))
def test_what_is_drawn_stays(text):
    """No honest letter is changed."""
    assert drawn(text) == escaped(text) == one_line(text) == text
    assert json_line(text) == json.dumps(text, ensure_ascii=False)


@pytest.mark.parametrize(
    ("text", "line", "written"),
    [
        (HONEST, HONEST, HONEST),
        ("a\x1b[2Jb", "a [2Jb", r"a\x1b[2Jb"),
        ("a\u202eb\u2069", "ab", r"a\u202eb\u2069"),
        ("a\u200bb\ufeff", "ab", r"a\u200bb\ufeff"),
        ("a\n\tb", "a b", "a\n  b"),
        ("a\x9b2Jb", "a 2Jb", r"a\x9b2Jb"),
        ("\U000e0041a", "a", r"\U000e0041a"),
        ("a,b\r\n", "a,b", "a,b\r\n"),
    ],
)
def test_examples(text, line, written):
    """Overrides of direction are left out, controls become a space; repeated in a message, both are written out."""
    assert (one_line(text), escaped(text)) == (line, written)


def test_commands_print_in_one_place():
    """Nothing but `drills.cli.output` prints what may hold a text from a file; the version holds none."""
    printing = [
        f"{path.name}:{node.lineno}"
        for path in sorted(COMMANDS.glob("*.py"))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and ast.unparse(node.func) in ("print", "click.echo", "click.secho")
    ]
    assert {place.partition(":")[0] for place in printing} == {"output.py", "__init__.py"}
    assert sum(place.startswith("__init__") for place in printing) == 1
