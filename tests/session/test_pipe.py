"""The full-screen session fed with keys through prompt_toolkit's own pipe, on a clock the test moves."""

from __future__ import annotations

import threading
import time

import pytest
from prompt_toolkit.application import create_app_session
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.keys import Keys
from prompt_toolkit.output import DummyOutput

from drills.configuration.diagram_style import DiagramStyle
from drills.session import terminal
from drills.session.paste_parser import LONGEST_S, SILENT_S, PasteParser
from drills.session.plain import spoken
from drills.session.screens import screen
from scheduler.errors import LogError

KEYS = {"enter": "\r", "c": "c", "l": "l", "f": "f", "t": "t", "u": "u", "q": "q"}


def test_a_full_ten_minute_session_through_the_pipe(sitting):
    """Every key goes through the terminal; the session ends by itself after ten minutes of the test's clock."""
    one = sitting()

    def feed(pipe):
        script = {
            "lesson": ("enter", 20),
            "prompt": ("enter", 8),
            "answer": (None, 10),
            "repeat": ("enter", 15),
            "music": ("enter", 50),
        }
        grades = iter("ccfctlccfc" * 10)
        while not one.state.over:
            key, seconds = script.get(one.state.phase.value, ("enter", 1))
            one.clock.tick(seconds)
            before = len(done)
            pipe.send_text(KEYS[key or next(grades)])
            end = time.monotonic() + 5
            while len(done) == before and time.monotonic() < end:
                time.sleep(0.002)
        one.clock.tick(1)
        pipe.send_text(KEYS["enter"])

    done, press = [], one.drill.press

    def finished(key, **options):
        press(key, **options)
        done.append(key)  # a key may change the state more than once; the next comes when all of it is done

    one.drill.press = finished
    with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
        feeder = threading.Thread(target=feed, args=(pipe,))
        feeder.start()
        code = terminal.run(one.drill, DiagramStyle(), {}, source=pipe, sink=DummyOutput())
        feeder.join(timeout=10)
    assert code == 0
    minutes = one.state.elapsed_s(one.drill.now_s()) / 60
    assert 9.5 < minutes < 11.5
    assert len(one.firsts()) == len(one.state.given)
    assert len(one.state.given) + len(one.state.lessons) >= 18


def test_closing_the_input_ends_the_session_with_everything_kept(sitting):
    """When the terminal goes away the grades are in the log and the exit code says interrupted."""
    one = sitting()
    one.start()
    one.play()
    with create_pipe_input() as pipe:
        pipe.send_text("\x03")
        code = terminal.run(one.drill, DiagramStyle(), {}, source=pipe, sink=DummyOutput())
    assert code == 130
    assert len(one.firsts()) == 1


def test_a_paste_without_an_end_holds_back_no_key(sitting):
    """The mark of a paste comes without its end, as over a broken line: keys pressed later act again."""
    one = sitting()

    def feed(pipe):
        pipe.send_text("\x1b[200~q")
        end = time.monotonic() + 20
        while not done and time.monotonic() < end:
            time.sleep(2 * SILENT_S)
            pipe.send_text("q")

    done = []
    with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
        feeder = threading.Thread(target=feed, args=(pipe,))
        feeder.start()
        done.append(terminal.run(one.drill, DiagramStyle(), {}, source=pipe, sink=DummyOutput()))
        feeder.join(timeout=30)
    assert done == [0]


def test_a_paste_is_dropped_when_it_is_silent_or_too_long_and_not_before():
    """A whole paste is one key that the session does not know; an unended one is forgotten with all that is in it."""
    keys, now = [], [0.0]
    parser = PasteParser(lambda pressed: keys.append(pressed.key), lambda: now[0])
    parser.feed("c\x1b[200~fq\x1b[201~t")
    assert keys == ["c", Keys.BracketedPaste, "t"]
    assert not parser.drop_unended()
    parser.feed("\x1b[200~f")
    now[0] += SILENT_S - 0.1
    assert not parser.drop_unended()
    parser.feed("q")
    now[0] += SILENT_S - 0.1
    assert not parser.drop_unended()
    now[0] += 0.1
    assert parser.drop_unended()
    parser.feed("u")
    assert keys[3:] == ["u"]
    parser.feed("\x1b[200~")
    pressed = 0
    while not parser.drop_unended():
        parser.feed("q")
        now[0] += 0.5
        pressed += 1
    assert pressed == LONGEST_S / 0.5
    parser.feed("\x1b[A")
    assert keys[4:] == [Keys.Up]


def full(*_):
    """What the log says when nothing more can be written."""
    raise LogError("log.sqlite3: the disk is full; make room and try again")


@pytest.mark.parametrize("part", ["a key", "a drawing", "passing time"])
def test_what_goes_wrong_ends_the_session_in_the_tool_s_own_words(sitting, monkeypatch, capfd, part):
    """A full disk in the middle of a key is raised to the command line; nothing is printed over the player's screen."""
    one = sitting()
    one.start()
    one.play()
    one.press("enter")
    one.clock.tick(1)
    if part == "a key":
        one.drill.writer.append = full
    elif part == "a drawing":
        monkeypatch.setattr(terminal, "screen", full)
    else:
        one.drill.tick = full
    with create_pipe_input() as pipe:
        pipe.send_text("c")
        with pytest.raises(LogError, match="disk is full"):
            terminal.run(one.drill, DiagramStyle(), {}, source=pipe, sink=DummyOutput())
    assert "Traceback" not in "".join(capfd.readouterr())
    assert len(one.firsts()) == (2 if part == "passing time" else 1)


def test_no_screen_eats_brackets_or_overflows(sitting):
    """Every phase fits every window; text in brackets (as in C7[b9]) comes out as it went in."""
    one = sitting()
    seen = set()
    keys = iter(["enter"] * 8 + ["c", "enter", "l", "enter", "enter", "f"] + ["enter", "c"] * 40)
    readings = (
        DiagramStyle(),
        DiagramStyle(ascii=True, left_handed=True),
        DiagramStyle(orientation="box", labels="fingers"),
    )
    for key in keys:
        for width, height in ((40, 15), (80, 24), (132, 43), (200, 60)):
            for reading in readings:
                lines = screen(one.drill, reading, width, height)
                assert len(lines) <= height
                assert all(len(line.text) <= width for line in lines)
                if reading.ascii:
                    assert all(line.text.isascii() for line in lines)
        seen.add(one.state.phase.value)
        assert all(spoken(one.drill))
        one.press(key, seconds=8)
    assert {"start", "warm-up", "lesson", "prompt", "answer", "repeat"} <= seen
    drawn = terminal.ansi([terminal.ScreenLine("C7[b9] [drop 2] [/bold]", "strong")], 60)
    assert "C7[b9] [drop 2] [/bold]" in drawn
