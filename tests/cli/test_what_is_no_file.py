"""Pipes, devices, sockets, folders and endless files, given to whatever reads: refused at once, by what they are."""

from __future__ import annotations

import os
import socket
import time

import pytest

from drills.roster.folder import read_folder
from scheduler.plain_file import MOST_BYTES, open_plain

AT_ONCE_S = 5.0
"""Far above what a refusal takes, far below for ever."""


@pytest.fixture(params=["pipe", "socket", "device", "folder", "file of many bytes"])
def odd(request, tmp_path, monkeypatch):
    """The name of something that is no file to read, and what it is called."""
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "odd.changes"
    if request.param == "pipe":
        os.mkfifo(path)
    elif request.param == "socket":
        with socket.socket(socket.AF_UNIX) as one:
            one.bind("odd.changes")
    elif request.param == "device":
        path.symlink_to("/dev/zero")
    elif request.param == "folder":
        path.mkdir()
    else:
        with open(path, "wb") as out:
            out.truncate(MOST_BYTES + 1)
    yield path, request.param


@pytest.mark.parametrize(
    "args",
    [("import", "--yes"), ("join", "--yes"), ("cards",), ("decks", "check"), ("tune",), ("path",), ("export", "--log")],
    ids=" ".join,
)
def test_a_command_refuses_it_at_once(neckwork, odd, args):
    """Exit code 1, one sentence that says what was expected or came, and no waiting for a writer."""
    path, kind = odd
    if args[0] in ("cards", "decks"):
        path = path.rename(path.with_suffix(".toml"))
    began = time.monotonic()
    ran = neckwork(*args, str(path))
    assert time.monotonic() - began < AT_ONCE_S
    assert ran.code in (1, 2)
    assert "fault inside" not in ran.err
    assert path.name in ran.err
    assert "many" in kind or "expected a file" in ran.err


def test_settings_that_are_no_file_are_refused(neckwork, odd, tmp_path):
    """The player's own files too."""
    path, _ = odd
    (tmp_path / "home").mkdir()
    path.rename(tmp_path / "home" / "settings.toml")
    ran = neckwork("progress")
    assert ran.code in (0, 1)
    assert "fault inside" not in ran.err


def test_one_such_file_in_a_roster_is_named_and_passed_over(odd, tmp_path):
    """A folder is no one's file, and all else is told."""
    path, kind = odd
    read = read_folder(tmp_path)
    assert [one.file for one in read.passed] == ([] if kind == "folder" else [path.name])


def test_a_plain_file_is_opened(tmp_path):
    """With all its bytes, up to the limit and no further."""
    path = tmp_path / "a"
    path.write_bytes(b"12345")
    with open_plain(path, 5) as file:
        assert file.read() == b"12345"
    with pytest.raises(OSError, match="at most 4 bytes"):
        open_plain(path, 4)
