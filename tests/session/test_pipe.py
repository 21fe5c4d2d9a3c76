"""The full-screen session fed with keys through prompt_toolkit's own pipe, on a clock the test moves."""

from __future__ import annotations

import threading
import time

from prompt_toolkit.application import create_app_session
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output import DummyOutput

from drills.reading import Reading
from drills.session import terminal
from drills.session.plain import spoken
from drills.session.screens import screen

KEYS = {"enter": "\r", "c": "c", "l": "l", "f": "f", "t": "t", "u": "u", "q": "q"}


def test_a_full_ten_minute_session_through_the_pipe(sitting):
    """Every key goes through the terminal; the session ends by itself after ten minutes of the test's clock."""
    one = sitting()

    def feed(pipe):
        script = {"lesson": ("enter", 20), "prompt": ("enter", 8), "answer": (None, 10), "repeat": ("enter", 15),
                  "music": ("enter", 50)}
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

    def finished(key):
        press(key)
        done.append(key)  # a key may change the state more than once; the next comes when all of it is done

    one.drill.press = finished
    with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
        feeder = threading.Thread(target=feed, args=(pipe,))
        feeder.start()
        code = terminal.run(one.drill, Reading(), {}, source=pipe, sink=DummyOutput())
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
        code = terminal.run(one.drill, Reading(), {}, source=pipe, sink=DummyOutput())
    assert code == 130
    assert len(one.firsts()) == 1


def test_no_screen_eats_brackets_or_overflows(sitting):
    """Every phase fits every window; text in brackets (as in C7[b9]) comes out as it went in."""
    one = sitting()
    seen = set()
    keys = iter(["enter"] * 8 + ["c", "enter", "l", "enter", "enter", "f"] + ["enter", "c"] * 40)
    readings = (Reading(), Reading(ascii=True, left_handed=True), Reading(orientation="box", labels="fingers"))
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
    drawn = terminal.ansi([terminal.Line("C7[b9] [drop 2] [/bold]", "strong")], 60, colour=False)
    assert "C7[b9] [drop 2] [/bold]" in drawn
