"""Suspended, hung up, terminated under a real shell: the terminal is sane after, and every grade is kept."""

from __future__ import annotations

import os
import shlex
import signal
import sys
import time
from pathlib import Path

import pytest

from tests.program import NECKWORK

sys.path.insert(0, str(Path(__file__).parent))
from test_real_terminal import grades_in, opened, to_prompt

SESSION = " ".join(map(shlex.quote, (*NECKWORK, "session", "--quiet")))
READY = "ready> "


def modes(shell, path: Path) -> str:
    """What stty says of the terminal, asked in the shell."""
    shell.press(f"stty -g > {shlex.quote(str(path))}\r", wait=0.3)
    end = time.monotonic() + 10
    while not (path.exists() and path.read_text()) and time.monotonic() < end:
        time.sleep(0.05)
    return path.read_text()


@pytest.mark.parametrize("end", [signal.SIGTERM, signal.SIGHUP, "q", "\x03"])
def test_a_shell_has_its_terminal_back(terminal, tmp_path, end):
    """After Ctrl-Z, after fg, and after each way to end: the same modes as before, the cursor seen, the grade kept."""
    shell = terminal("--norc", "--noediting", "-i", program=("bash",), environ={"PS1": READY, "HISTFILE": ""})
    shell.wait_for(READY.strip())
    before = modes(shell, tmp_path / "before")
    shell.press(f"{SESSION}\r")
    shell.wait_for("Enter starts")
    shell.press("\r\x1b[C")
    prompt = to_prompt(shell)
    assert shell.screen_cursor_hidden
    shell.press("\x1a", wait=0.5)
    shell.wait_for("Stopped")
    assert modes(shell, tmp_path / "stopped") == before
    assert not shell.screen_cursor_hidden
    shell.press(f"jobs -p > {shlex.quote(str(tmp_path / 'pid'))}\r", wait=0.5)
    shell.press("clear; fg\r", wait=0.5)
    kept = [line for line in prompt.splitlines() if line.strip()][-2]
    shell.wait_for(kept)
    shell.press("\r")
    shell.press("c")
    if isinstance(end, str):
        shell.press(end)
        if end == "q":
            shell.press("\r")
    else:
        os.kill(int((tmp_path / "pid").read_text()), end)
    shell.wait_for(READY.strip())
    assert modes(shell, tmp_path / "after") == before
    assert not shell.screen_cursor_hidden
    assert grades_in(terminal.home) == [3]


def test_a_terminal_that_goes_away_ends_the_session(terminal):
    """The window closed: the program ends by itself within seconds, and the grade is in the log."""
    one = opened(terminal, "--quiet", program=NECKWORK)
    to_prompt(one)
    one.press("\r")
    one.press("c")
    one.child.ptyproc.fileobj.close()
    end = time.monotonic() + 20
    while one.child.isalive():
        assert time.monotonic() < end, "still running without a terminal"
        time.sleep(0.1)
    assert grades_in(terminal.home) == [3]
