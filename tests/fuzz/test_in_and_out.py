"""Progress, sample, export, import and join, fed any options and any files: a right exit code, one clear line, and the
player's log never less than it was."""

from __future__ import annotations

import contextlib
import io
import os
import shutil
import tempfile
from datetime import timedelta
from pathlib import Path
from unittest import mock

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.cli import main
from scheduler.log.review_log import ReviewLog
from tests.examples import examples
from tests.log_exports import export_csv, export_json
from tests.progress.players import START, played

VALUES = {
    "--since": ["2024-03-05", "0001-01-01", "9999-12-31", "2024-02-30", "soon", ""],
    "--until": ["2024-03-05", "0001-01-01", "9999-12-31", "24", ""],
    "--deck": ["first", "set-432", "nowhere", "../..", ""],
    "--strings": ["543", "6-5-4,432", "999", "", "=1+1"],
    "--quality": ["m7", "m7,m7b5", "+dim7", "H7", ""],
    "--format": ["csv", "json", "md", "html", "pdf", ""],
    "-o": ["out.txt", "-", "nowhere/out.txt", ".", "../home/log.sqlite3", ""],
    "--ahead": ["1", "366", "0", "-3", "1e3", "x"],
    "--on": ["2024-03-10", "0001-01-01", "9999-12-31", "1969-12-31", "2024-13-01", ""],
    "--at": ["18:30", "24:00", "x", ""],
    "--away": ["2024-03-05..2024-03-09", "2024-03-09..2024-03-05", "2024-03-05", "..", "0001-01-01..9999-12-31", ""],
    "--html": ["p.html", "nowhere/p.html", ".", "../home/log.sqlite3", ""],
    "--ics": ["p.ics", "nowhere/p.ics", "../home/log.sqlite3", ""],
    "--log": ["log.sqlite3", "new.sqlite3", "log.json", "nowhere/new.sqlite3", ".", ""],
    "--top-fret": ["12", "36", "99"],
}
FLAGS = ["--json", "--csv", "--plain", "--quiet", "--nonsense", "--help"]
FILES = ["log.json", "log.csv", "log.sqlite3", "half.json", "half.csv", "text.txt", "nowhere.json", ".", "", "log.json"]
TAKEN = {
    "progress": ["--json", "--csv", "--html", "--ahead", "--ics", "--at", "--away", "--on", "--log"],
    "export": ["--format", "-o", "--since", "--until", "--deck", "--strings", "--quality", "--log"],
    "import": ["--log"],
    "join": ["--log"],
    "sample": ["--plain", "--quiet", "--strings", "--quality", "--top-fret", "--log"],
}
TYPED = st.text(
    st.sampled_from("0123456789-:.,/+=") | st.characters(exclude_characters="\0", exclude_categories=("Cs",))
    # Bytes that are no UTF-8 come from a command line as these (PEP 383).
    | st.characters(min_codepoint=0xDC80, max_codepoint=0xDCFF), max_size=8,
)  # fmt: skip
"""What may stand on a command line: anything but the zero byte."""


def _word(option: str) -> st.SearchStrategy[list[str]]:
    if option not in VALUES:
        return st.just([option])
    return (st.sampled_from(VALUES[option]) | TYPED).map(lambda text: [option, text])


def _line(command: str) -> st.SearchStrategy[list[str]]:
    """A command with options of its own, now and then one that is another's."""
    options = st.sampled_from(TAKEN[command] * 3 + FLAGS + list(VALUES)).flatmap(_word)
    files = st.lists(st.sampled_from(FILES), max_size=3) if command in ("import", "join") else st.just([])
    return st.builds(
        lambda chosen, names: [command, *(word for words in chosen for word in words), *names],
        st.lists(options, max_size=4), files,
    )  # fmt: skip


@pytest.fixture(scope="module")
def files():
    """A folder with exports of a log, whole and cut short, the log itself, and a text that is neither."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with ReviewLog(folder / "log.sqlite3") as log:
            for one in played(1, 6, 5):
                log.record(one)
            log.undo(next(log.reviews()).id, START + timedelta(days=9))
            as_json, as_csv = io.StringIO(), io.StringIO(newline="")
            export_json(log, as_json)
            export_csv(log, as_csv)
        for kind, text in (("json", as_json.getvalue()), ("csv", as_csv.getvalue())):
            (folder / f"log.{kind}").write_text(text, encoding="utf-8", newline="")
            (folder / f"half.{kind}").write_text(text[: len(text) // 2], encoding="utf-8", newline="")
        (folder / "text.txt").write_text("Dear teacher", encoding="utf-8")
        yield folder


@settings(max_examples=examples(250, 1000))
@given(line=st.sampled_from(sorted(TAKEN)).flatmap(_line), own=st.booleans())
def test_any_options_and_files_end_in_a_code_and_a_line(files, line, own):
    """Whatever is asked of a log: 0, 1, 2 or 130, a few printable lines, and every event that was there is there."""
    out, err = io.StringIO(), io.StringIO()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shutil.copytree(files, folder / "files")
        (folder / "home").mkdir()
        own_log = folder / "home" / "log.sqlite3"
        if own:
            shutil.copy(files / "log.sqlite3", own_log)
        events = _events(own_log)
        with (
            mock.patch.dict(os.environ, {"NECKWORK_HOME": str(folder / "home"), "TERM": "dumb"}),
            mock.patch("sys.stdin", io.StringIO("\n\nq\n\n")),
            contextlib.chdir(folder / "files"),
            contextlib.redirect_stdout(out),
            contextlib.redirect_stderr(err),
        ):
            code = main(line)
        kept = _events(own_log)
    assert code in (0, 1, 2, 130)
    assert events <= kept
    said = err.getvalue()
    if code in (1, 2):
        assert said.strip()
    assert "Traceback" not in said
    assert "a fault inside the tool" not in said
    assert all(character.isprintable() or character == "\n" for character in said), repr(said)


def _events(path: Path) -> set[str]:
    if not path.exists():
        return set()
    with ReviewLog(path, writable=False) as log:
        return {event.id for event in log.events()}
