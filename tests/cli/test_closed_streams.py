"""A program started without its standard streams: no fault inside, and nothing of a screen in a player's files."""

from __future__ import annotations

import os
import subprocess

import pytest

from scheduler.log.review_log import ReviewLog
from tests.program import NECKWORK


def started(home, shell_words, *args):
    """The program under a shell that closes what `shell_words` say; its exit code and all it said."""
    environ = {**os.environ, "NECKWORK_HOME": str(home), "TERM": "dumb", "NECKWORK_TRACEBACK": "1"}
    ran = subprocess.run(
        ["sh", "-c", f'exec "$@" {shell_words}', "sh", *NECKWORK, *args],
        env=environ, capture_output=True, text=True, input="\n\nq\n\n", check=False,
    )  # fmt: skip
    return ran.returncode, ran.stdout, ran.stderr


@pytest.mark.parametrize(
    ("closed", "args", "code", "out", "err"),
    [
        ("<&-", ("session", "--quiet"), 130, "Enter starts", ""),
        ("<&-", ("shape", "Cm7"), 0, "finger", ""),
        ("2>&-", ("shape", "H7"), 1, "", ""),
        (">&-", ("session", "--quiet"), 1, "", "standard output is closed; nothing was done"),
        (">&-", ("setup", "--top-fret", "12"), 1, "", "standard output is closed; nothing was done"),
        ("<&- >&- 2>&-", ("progress",), 1, "", ""),
        (">/dev/full", ("shape", "Cm7"), 1, "", "the output: No space left on device"),
    ],
)
def test_a_closed_stream_ends_in_a_code_and_a_sentence(tmp_path, closed, args, code, out, err):
    """Without input a session ends as interrupted; without output nothing is begun; without errors nothing is said."""
    got, said, complained = started(tmp_path / "home", closed, *args)
    assert got == code, complained
    assert out in said and err in complained
    assert len(complained.splitlines()) == bool(err)
    assert not (tmp_path / "home" / "settings.toml").exists()


def test_what_is_for_a_screen_never_reaches_the_log(tmp_path):
    """The first files a program opens take the numbers of closed streams, unless something else holds them."""
    home = tmp_path / "home"
    for closed in ("<&-", "2>&-", "<&- 2>&-"):
        started(home, closed, "session", "--quiet")
        with ReviewLog(home / "log.sqlite3") as log:
            assert log.faults() == []
    assert b"Enter" not in (home / "log.sqlite3").read_bytes()
    assert b"Enter" not in (home / "log.seal").read_bytes()
