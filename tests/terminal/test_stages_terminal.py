"""A stage of a tune played in a pseudo-terminal: single keys, the ticket in the log, and a terminal left sane."""

from __future__ import annotations

import os
import signal
import sys
import threading

import pytest

from drills.cli.single_keys import asking
from drills.tunes.stages.ticket import StageTicket, ticket_of
from scheduler.log.review_log import ReviewLog

UP, PAGE_DOWN = "\x1b[A", "\x1b[6~"


def kept(home) -> StageTicket:
    """The one ticket in the log."""
    with ReviewLog(home / "log.sqlite3") as log:
        (value,) = log.standing().tickets.values()
    return ticket_of(value)


@pytest.mark.parametrize("columns", [80, 40])
def test_a_stage_is_played_with_single_keys(terminal, columns):
    """Tablature and keys on one screen of a twelve-bar blues; Up twice opens stage 2; o shows it; q leaves."""
    home = terminal.home
    one = terminal("stages", "blues-in-f", "--play", "--quiet", columns=columns)
    shown = one.wait_for("h keys") if columns == 80 else one.wait_for("q stop")
    assert "F7" in shown and "6 |" in shown
    one.press(PAGE_DOWN)
    assert "count yourself in" in one.screen()
    one.press(UP)
    one.press("t")
    one.wait_for("In time, twice")
    one.press("o")
    one.wait_for("1314")  # the grip of F7 from string 5 (drills/RULES.md, B5, root on 5)
    one.press("q", change=False)
    assert one.finish() == 0
    assert kept(home) == StageTicket(2)


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_signals_end_it_and_what_was_in_time_is_kept(terminal, number):
    """Ctrl-C, a request to end and a hang-up give 130, with the first pass in the log."""
    home = terminal.home
    one = terminal("stages", "Cm7 F7", "--play", "--quiet")
    one.wait_for("q stop")
    one.press("t")
    one.wait_for("In time.")
    one.child.kill(number)
    assert one.finish() == 130
    assert kept(home) == StageTicket(1, 1)


def test_keys_come_while_it_is_listened(monkeypatch):
    """Where none is pressed there is no key; an arrow comes by its name; Ctrl-D leaves, as it does at every prompt."""
    pty, tty = pytest.importorskip("pty"), pytest.importorskip("tty")
    keyboard, terminal = pty.openpty()
    tty.setcbreak(terminal)  # so that what is pressed before it is asked for is kept as it is
    with os.fdopen(keyboard, "wb", buffering=0) as pressed, os.fdopen(terminal, "r+b", buffering=0) as shown:
        monkeypatch.setattr(sys, "stdin", shown)
        monkeypatch.setattr(sys, "stdout", shown)
        with asking(False) as ask:
            found = [ask.within(0.0)]
            for key in (UP, "T", "\x04"):
                pressed.write(key.encode())
                found.append(ask.within(60.0))
        monkeypatch.undo()
    assert found == ["", "up", "t", "q"]


def test_lines_that_come_at_once_from_a_pipe_are_each_seen_at_once(monkeypatch):
    """Three lines in one write are three keys, none waiting for a fourth; an open pipe without a line gives no key, a
    line that is not whole is waited for, and the end leaves."""
    reading, writing = os.pipe()
    with os.fdopen(reading, encoding="utf-8") as piped:
        monkeypatch.setattr(sys, "stdin", piped)
        with asking(True) as ask:
            os.write(writing, b"B\n\nt\n")
            found = [ask.within(0.0) for _ in range(4)]
            os.write(writing, b"sto")
            rest = threading.Thread(target=os.write, args=(writing, b"p\nN"))
            rest.start()
            found += [ask.key()]
            rest.join()
            os.close(writing)
            found += [ask.key(), ask.within(0.0), ask.key()]
        monkeypatch.undo()
    assert found == ["b", "enter", "t", "", "s", "n", "q", "q"]
