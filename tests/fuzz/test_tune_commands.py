"""The commands about tunes, fed anything: right exit codes, one clear line, no traceback."""

from __future__ import annotations

import contextlib
import io
import os

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from drills.cli import main
from tests.examples import examples

CHANGES = st.sampled_from(
    [
        "Cm7 F7 Bbmaj7", "| Cm7 | F7 |", "blues-in-f", "|: C :| x3", "N.C.", "metre: 5/4\n| C7alt |", "| C7/E |",
        "metre: 7/8\n| Dm7b5 G7b9 | Cm6 |", "Cm7{Dorian}", "Cm7{", "nothing.changes", "x.musicxml", "",
    ]
) | st.text(max_size=8)  # fmt: skip
WORDS = st.sampled_from(
    [
        "6", "6/8", "5-10", "0-3", "65", "A2-E5", "2:3", "2:3&=Ab", "1:1=C4", "1:1=Eb", "Bb", "H", "", "3", "10", "72",
        "-1", "1e9", "\x1b[2J", "eighths", "space", "up", "notes", "mm",
    ]
)  # fmt: skip
OPTIONS = st.sampled_from(
    [
        "--json", "--plain", "--why", "--map", "--bar", "--labels", "--from", "--planned", "--measure", "--loop",
        "--strings", "--frets", "--range", "--change", "--seed", "--density", "--direction", "--difficulty", "--owned",
        "--stage", "--in-time", "--transpose", "--tempo", "--swing", "--straight", "--tuning", "--top-fret", "--capo",
        "--vamp", "--comping", "--help",
    ]
)  # fmt: skip
PAIRS = st.sampled_from(
    [
        ("--frets", "5-10"), ("--frets", "9-10"), ("--range", "A2-E5"), ("--range", "E5-A2"), ("--stage", "7"),
        ("--change", "2:3=C"), ("--change", "1:1=B"), ("--density", "space"), ("--difficulty", "3"), ("--from", "4/10"),
        ("--transpose", "Gb"), ("--tuning", "bass"), ("--tuning", "ukulele"), ("--top-fret", "3"), ("--capo", "5"),
        ("--strings", "1"), ("--strings", "9"), ("--measure", "position"), ("--tempo", "300"), ("--vamp", "3"),
    ]
)  # fmt: skip


@settings(max_examples=examples(300, 1500), suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    command=st.sampled_from(["tune", "path", "stages", "etude", "choruses", "track"]),
    changes=CHANGES,
    pairs=st.lists(PAIRS, max_size=3),
    rest=st.lists(WORDS | OPTIONS, max_size=2),
)
def test_any_question_about_a_tune_ends_in_a_code_and_a_line(monkeypatch, tmp_path, command, changes, pairs, rest):
    """Whatever is asked of whatever changes: exit code 0, 1 or 2, and what goes wrong is said in printable lines."""
    monkeypatch.setitem(os.environ, "NECKWORK_HOME", str(tmp_path))
    asked = [word for pair in pairs for word in pair]
    silent = ["--json"] if command == "track" else []  # asked for nothing else it would sound for minutes
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main([command, changes, *silent, *asked, *rest])
    assert code in (0, 1, 2)
    said = err.getvalue()
    assert "a fault inside the tool" not in said and "Traceback" not in said
    if code:
        assert said.strip()
        assert all(character.isprintable() or character == "\n" for character in said), repr(said)
    else:
        assert out.getvalue().strip()


@pytest.mark.parametrize("command", ["tune", "path", "stages", "etude", "choruses", "track"])
def test_plain_questions_are_answered(monkeypatch, tmp_path, command):
    """The fuzz above would prove little if nothing ever worked: the plain question does, on every command."""
    monkeypatch.setenv("NECKWORK_HOME", str(tmp_path))
    with contextlib.redirect_stdout(io.StringIO()):
        assert main([command, "Cm7 F7 Bbmaj7", "--json"]) == 0
