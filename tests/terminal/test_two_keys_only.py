"""A whole session with nothing but the two keys a pedal types, in a real pseudo-terminal, from first page to last."""

from __future__ import annotations

import time

from scheduler.log.review_log import ReviewLog

FORWARD, BACK = "\x1b[6~", "\x1b[5~"
"""Page Down and Page Up as xterm sends them (ECMA-48 control functions)."""

LOOKED, FOUND, CLEAN, IN_TIME = 1, 2, 3, 4

PATIENCE_S = 180
"""A session of one minute, on however busy a machine."""


def test_a_whole_session_with_two_keys(terminal):
    """Caution, plan, lessons, prompts, answers, repeats, both corrections and the end: two keys and exit code 0."""
    one = terminal("session", "--minutes", "1", "--strings", "543", "--quality", "maj7", "--root", "C,F,G", "--quiet")
    expected, raises, seen = [], 0, set()
    end = time.monotonic() + PATIENCE_S
    shown = one.wait_for("Enter starts")
    while "Done." not in shown:
        assert time.monotonic() < end, f"no end came:\n{shown}"
        if "Left Looked" in shown:
            seen.add("answer")
            grade = LOOKED if len(expected) % 3 == 1 else CLEAN
            one.press(BACK if grade == LOOKED else FORWARD, wait=0.1)
            expected.append(grade)
        elif "Play it, then Enter" in shown and expected and raises < 2 and expected[-1] == (CLEAN, LOOKED)[raises]:
            seen.add("raised")
            one.press(BACK, wait=0.1)
            expected[-1] += 1
            assert ("raised to In time." if raises == 0 else "raised to Found it.") in one.screen()
            raises += 1
        else:
            for page in ("Before you start", "Enter starts", "A new shape", "New root", "Play it, then", "right twice"):
                if page in shown:
                    seen.add(page)
            one.press(FORWARD, wait=0.35)  # after the reveal grading keys rest for 0.3 s
        shown = one.screen()
    one.press("", wait=0.35)  # the end came on the same key: pressed again at once it would be one held down
    one.press(FORWARD, wait=0.1)
    assert one.finish() == 0
    assert seen == {
        "Before you start", "Enter starts", "A new shape", "Play it, then", "right twice", "answer",
        "raised",
    }  # fmt: skip
    assert {LOOKED, FOUND, CLEAN, IN_TIME} <= set(expected)
    with ReviewLog(terminal.home / "log.sqlite3") as log:
        reviews = list(log.reviews())
    assert [int(review.grade) for review in reviews if review.attempt == "first"] == expected
    assert all(not review.slip for review in reviews)
