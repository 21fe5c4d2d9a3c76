"""A home that may not be written to: what only reads works, what writes says so before anything is lost."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from datetime import UTC, datetime

import pytest

from scheduler.grade import Grade
from scheduler.log.review_log import ReviewLog
from scheduler.review import Review
from tests.program import NECKWORK

NOW = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
AS_ANYONE = ("setpriv", "--bounding-set=-dac_override,-dac_read_search,-fowner", "--")
"""What takes from root the right to write where nobody may (util-linux)."""


def _may_test():
    return os.name == "posix" and (os.geteuid() != 0 or shutil.which("setpriv") is not None)


pytestmark = pytest.mark.skipif(
    not _may_test(), reason="root may write anywhere, and there is no setpriv to give it up"
)


@pytest.fixture(scope="module", params=["folder and file", "file", "folder and file, never closed"])
def home(request, tmp_path_factory):
    """A home with a log in it, closed or as a killed program leaves it, that nobody may write to."""
    folder = tmp_path_factory.mktemp("home") / "home"
    with ReviewLog(folder / "log.sqlite3") as log:
        log.record(Review("E2A2D3G3B3E4/arpeggio/C/m7/654/name", Grade.CLEAN, NOW, 3.0, skills=("form:x",)))
        log.rest("E2A2D3G3B3E4/arpeggio/C/m7/654/name", NOW)
        if "never closed" in request.param:
            shutil.copytree(folder, folder.with_name("left"))
    if "never closed" in request.param:
        folder = folder.with_name("left")
    for one in folder.iterdir():
        one.chmod(0o400)
    if "folder" in request.param:
        folder.chmod(0o500)
    yield folder
    folder.chmod(0o700)


def run(home, *args):
    """A command in a process that may write only where the rights of files let it."""
    before = AS_ANYONE if os.geteuid() == 0 else ()
    return subprocess.run(
        [*before, *NECKWORK, *args], input="c\nc\nq\n", capture_output=True, text=True, timeout=60, check=False,
        env={**os.environ, "NECKWORK_HOME": str(home), "TERM": "dumb", "PYTHONPATH": os.pathsep.join(sys.path)},
    )  # fmt: skip


@pytest.mark.parametrize(
    ("args", "code"),
    [
        (("shape", "Cm7"), 0),
        (("progress",), 0),
        (("export",), 0),
        (("wake",), 0),
        (("refit",), 1),  # too early for one review, which is not the home's fault
        (("cards",), 0),
        (("log", "back", "--list"), 0),
        (("stages", "four-chord-round", "--stage", "3"), 0),
    ],
)
def test_what_only_reads_works(home, args, code):
    """With its exit code, and nothing on standard error about writing."""
    ran = run(home, *args)
    assert ran.returncode == code, ran.stderr
    assert "write" not in ran.stderr


@pytest.mark.parametrize(
    "args",
    [("session", "--plain"), ("wake", "--all"), ("log", "back"), ("import", "--yes", "other.json")],
    ids=" ".join,
)
def test_what_writes_says_so(home, args, tmp_path):
    """One sentence and exit code 1, before a card is asked."""
    other = tmp_path / "other.json"
    other.write_text('{"format": "review-log", "version": 1, "events": []}')
    ran = run(home, *(str(other) if one == "other.json" else one for one in args))
    if args[0] in ("import", "log"):
        assert ran.returncode in (0, 1)
    else:
        assert ran.returncode == 1
        assert "may not be written to" in ran.stderr
        assert ran.stdout == ""
    assert "Traceback" not in ran.stderr and "fault inside" not in ran.stderr
