"""The command line, deck files and imported logs, fed anything: right exit codes, one clear line, no traceback."""

from __future__ import annotations

import contextlib
import io
import os
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from drills.cards.deck import read_deck
from drills.cards.material import gather
from drills.cli import main
from drills.errors import DrillsError
from drills.neck.neck import Neck
from scheduler.errors import SchedulerError
from scheduler.interchange import read_events

WORDS = st.sampled_from(
    ["Cmaj7", "C#m7b5", "ii of Bb", "C Dorian", "H7", "", "654", "543,432", "6-5-4", "99", "first", "nowhere", "m7", "+dim7",
     "Bb", "C minor", "arpeggio", "arpeggio-down", "scale", "grip", "grip-drop3-inv2", "name", "degree", "12", "-3", "1e9",
     "E2 A2 D3 G3 B3 E4", "bass", "ukulele", "not sundays", "\x1b[2J", "é♭𝄫", "../..", "*", "--", "-"]
) | st.text(max_size=12)  # fmt: skip
OPTIONS = st.sampled_from(
    ["--json", "--csv", "--strings", "--quality", "--root", "--key", "--form", "--prompt", "--tuning", "--top-fret", "--capo",
     "--open-roots", "--alternates", "--labels", "--box", "--left-handed", "--plain", "--ascii", "--format", "--days",
     "--minutes", "--version", "--help", "-h", "--nonsense"]
)  # fmt: skip
COMMANDS = st.sampled_from(
    ["shape", "cards", "decks", "setup", "progress", "export", "import", "wake", "nothing", "", "--version"]
)


@settings(max_examples=3000, suppress_health_check=[HealthCheck.too_slow])
@given(command=COMMANDS, rest=st.lists(WORDS | OPTIONS, max_size=5))
def test_any_command_line_ends_in_a_code_and_a_line(command, rest):
    """Whatever is typed: exit code 0, 1 or 2, and what goes wrong is said in a few printable lines."""
    if "-o" in rest or any(word.startswith("--o") for word in rest):
        return
    out, err = io.StringIO(), io.StringIO()
    with tempfile.TemporaryDirectory() as home:
        before = os.environ.get("NECKWORK_HOME")
        os.environ["NECKWORK_HOME"] = home
        try:
            with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
                code = main([command, *rest])
        finally:
            if before is None:
                del os.environ["NECKWORK_HOME"]
            else:
                os.environ["NECKWORK_HOME"] = before
    assert code in (0, 1, 2)
    if code:
        said = err.getvalue()
        assert said.strip()
        assert "Traceback" not in said
        assert "a fault inside the tool" not in said
        assert all(character.isprintable() or character == "\n" for character in said), repr(said)


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-5, 99) | st.sampled_from(["m7", "654", "C", "all", "core", "name", "arpeggio", "", "x"]),
    lambda inner: st.lists(inner, max_size=3), max_leaves=4,
)  # fmt: skip
KEYS = st.sampled_from(
    ["title", "include", "material", "limits", "neck", "fingerings", "names", "starts", "forms", "qualities", "string_sets",
     "roots", "keys", "prompts", "from_week", "teacher", "odd"]
)  # fmt: skip


def _toml(value) -> str:
    if value is None:
        return '"none"'
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int):
        return str(value)
    if isinstance(value, str):
        return '"' + value + '"'
    return "[" + ", ".join(map(_toml, value)) + "]"


@settings(max_examples=2500)
@given(
    top=st.dictionaries(KEYS, VALUES, max_size=3),
    blocks=st.lists(st.dictionaries(KEYS, VALUES, max_size=4), max_size=2),
    junk=st.text(max_size=10),
)
def test_any_deck_file_is_read_or_refused(top, blocks, junk):
    """A deck is read, or refused in one line that names the file."""
    text = "\n".join(f"{key} = {_toml(value)}" for key, value in top.items())
    text += "".join("\n[[material]]\n" + "\n".join(f"{k} = {_toml(v)}" for k, v in block.items()) for block in blocks)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "deck.toml"
        path.write_text(text + (junk if len(junk) == 7 else ""), encoding="utf-8", errors="replace")
        try:
            gather(read_deck(path), Neck())
        except DrillsError as error:
            assert "\n" not in str(error)


GOOD_JSON = '{"neckwork":1,"events":[]}'


@settings(max_examples=2500)
@given(
    content=st.binary(max_size=80)
    | st.text(max_size=80).map(str.encode)
    | st.lists(st.sampled_from(["time", "card", "grade", "seconds", "id", ",", "\n", "\r\n", '"', "2026-01-01T00:00:00+00:00", "3", "x", "first", "repeat"]), max_size=30).map("".join).map(str.encode)
    | st.tuples(st.just(GOOD_JSON), st.integers(0, 25), st.text(max_size=3)).map(lambda t: (t[0][: t[1]] + t[2] + t[0][t[1]:]).encode()),
)  # fmt: skip
def test_any_imported_file_is_read_or_refused(content):
    """An exported log is taken in, or refused in one line that names the file."""
    try:
        list(read_events(content, "log.json", "0" * 24))
    except SchedulerError as error:
        assert "log.json" in str(error)
        assert "\n" not in str(error)


@pytest.mark.parametrize(
    "command", ["session", "shape", "cards", "decks", "setup", "progress", "export", "import", "wake"]
)
def test_every_command_helps_with_an_example(command, capsys):
    """Help texts carry an example each."""
    assert main([command, "--help"]) == 0
    assert "Example: neckwork" in capsys.readouterr().out
