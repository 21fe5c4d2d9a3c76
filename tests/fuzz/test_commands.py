"""The command line, deck files and imported logs, fed anything: right exit codes, one clear line, no traceback."""

from __future__ import annotations

import contextlib
import io
import json
import os
import tempfile
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from drills.cards.deck import read_deck
from drills.cards.material import gather
from drills.cli import main
from drills.cli.player_files import kept_fingers
from drills.errors import DrillsError
from drills.neck.neck import Neck
from drills.neck.strings import parse_strings
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import ARPEGGIO
from drills.theory.symbol import parse_chord
from scheduler.card import CardSpec
from scheduler.errors import SchedulerError
from scheduler.grade import Grade
from scheduler.log.events import Meet
from scheduler.log.interchange import read_events
from scheduler.log.review_log import ReviewLog
from scheduler.planning.planner import Planner
from scheduler.review import Review
from tests.examples import examples
from tests.log_exports import export_csv, export_json

WORDS = st.sampled_from(
    ["Cmaj7", "C#m7b5", "ii of Bb", "C Dorian", "H7", "", "654", "543,432", "6-5-4", "99", "first", "nowhere", "m7",
     "+dim7", "Bb", "C minor", "arpeggio", "arpeggio-down", "scale", "grip", "grip-drop3-inv2", "name", "degree",
     "12", "-3", "1e9",
     "E2 A2 D3 G3 B3 E4", "bass", "ukulele", "not sundays", "\x1b[2J", "é♭𝄫", "../..", "*", "--", "-"]
) | st.text(max_size=12)  # fmt: skip
OPTIONS = st.sampled_from(
    ["--json", "--csv", "--strings", "--quality", "--root", "--key", "--form", "--prompt", "--tuning", "--top-fret",
     "--capo", "--open-roots", "--alternates", "--labels", "--box", "--left-handed", "--plain", "--ascii",
     "--format", "--days",
     "--minutes", "--changes", "--transpose", "--from", "--by", "--version", "--help", "-h", "--nonsense"]
)  # fmt: skip
COMMANDS = st.sampled_from(
    ["shape", "cards", "ready", "decks", "setup", "progress", "export", "import", "wake", "nothing", "", "--version"]
)


@settings(max_examples=examples(700, 3000), suppress_health_check=[HealthCheck.too_slow])
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
    st.none() | st.booleans() | st.integers(-5, 99)
    | st.sampled_from(["m7", "654", "C", "all", "core", "name", "arpeggio", "", "x"]),
    lambda inner: st.lists(inner, max_size=3), max_leaves=4,
)  # fmt: skip
KEYS = st.sampled_from(
    ["title", "include", "material", "limits", "neck", "fingerings", "names", "starts", "forms", "qualities",
     "string_sets", "changes", "transpose", "from_strings", "roots", "keys", "prompts", "from_week", "teacher", "odd"]
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


@settings(max_examples=examples(700, 2500))
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
            gather(read_deck(path), Neck(), today=date(2026, 1, 1))
        except DrillsError as error:
            assert "\n" not in str(error)


CARD = "E2A2D3G3B3E4/arpeggio/C/m7/654/name"
FORM = "arpeggio/0+0.0+3.1+2.2+0.2+2"
AT = datetime(2026, 3, 1, 18, 0, tzinfo=UTC)


def _real_exports() -> tuple[str, str]:
    """JSON and CSV of a log that holds every kind of event."""
    with ReviewLog(":memory:") as log:
        review = log.record(Review(CARD, Grade.FOUND, AT, 4.0, skills=("form:x", "root:C@6E2"), session="s")).id
        log.slip(review, "root", AT)
        log.rest(CARD, AT)
        log.wake(CARD, AT)
        log.flag(CARD, "why?", AT)
        log.lock(FORM, "2 4 3 1 3", AT)
        log.ticket("seen:caution", "yes", AT)
        log.append(Meet(CARD, ("form:x",)), AT)
        log.record(Review(CARD, Grade.CLEAN, AT, 3.0))
        log.undo(review, AT)
        as_json, as_csv = io.StringIO(), io.StringIO(newline="")
        export_json(log, as_json)
        export_csv(log, as_csv)
    return as_json.getvalue(), as_csv.getvalue()


EXPORTS = _real_exports()
PIECES = st.sampled_from(
    ['"', ",", "{", "}", "[", "]", "null", "-1", "1e400", "true", '"abc"', '"2 1 4"', '"9 9 9 9 9"', "\n",
     "\x00", "x", "4",
     ""]
)  # fmt: skip


@settings(max_examples=examples(700, 2500))
@given(
    which=st.sampled_from(EXPORTS), place=st.floats(0, 1), width=st.integers(0, 12), piece=PIECES | st.text(max_size=4),
    junk=st.binary(max_size=60), whole=st.integers(0, 9),
)  # fmt: skip
def test_any_imported_file_is_read_or_refused_and_does_no_harm(which, place, width, piece, junk, whole):
    """A damaged export is taken in or refused in one line that names the file; what was taken in can be lived with."""
    cut = int(place * len(which))
    content = junk if whole == 0 else (which[:cut] + piece + which[cut + width :]).encode("utf-8", "replace")
    with ReviewLog(":memory:") as log:
        try:
            log.add(read_events(content, "log.json", log.id))
        except SchedulerError as error:
            assert "log.json" in str(error)
            assert "\n" not in str(error)
        state = log.state()
        finder = ShapeFinder(Neck(), kept_fingers(state))
        shape = finder.find(parse_chord("Cm7"), ARPEGGIO, parse_strings("654"))
        assert len(shape.fingers) == 5
        Planner([CardSpec(CARD, ("form:x",))], history=state.reviews)


@pytest.mark.parametrize("value", ["abc", "2 1 4", "9 9 9 9 9", "1", "4 1 1 4 1"])
def test_a_lock_that_is_no_fingering_is_passed_over(value, tmp_path, monkeypatch, capsys):
    """A log joined from anywhere may hold any lock; shapes are shown as if it were not there."""
    monkeypatch.setenv("NECKWORK_HOME", str(tmp_path))
    with ReviewLog(tmp_path / "log.sqlite3") as log:
        log.lock(FORM, value, AT)
    assert main(["shape", "Cm7", "--strings", "654", "--json"]) == 0
    (shape,) = json.loads(capsys.readouterr().out)
    assert [note["finger"] for note in shape["notes"]] == [1, 4, 3, 1, 3]


@pytest.mark.parametrize(
    "command", ["session", "shape", "cards", "decks", "setup", "progress", "export", "import", "wake"]
)
def test_every_command_helps_with_an_example(command, capsys):
    """Help texts carry an example each."""
    assert main([command, "--help"]) == 0
    assert "  Examples:\n    neckwork" in capsys.readouterr().out
