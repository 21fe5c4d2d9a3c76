"""Any sequence of keys, pauses, restarts and clock jumps keeps what a session promises."""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule
from sittings import Clock, Sitting, gathered

from drills.reading import Reading
from drills.session.screens import screen

MATERIAL = gathered(strings="543,432")
KEYS = [
    "enter", "right", "left", "up", "down", "pageup", "pagedown", " ", "l", "f", "c", "t", "1", "2", "3", "4",
    "u", "n", "r", "a", "s", "?", "g", "p", "h", "x", "k", "v", "m", "w",
]  # fmt: skip


class AnyKeys(RuleBasedStateMachine):
    """Presses keys at random and compares the log with the session's own account."""

    @initialize()
    def open(self):
        self.folder = tempfile.TemporaryDirectory()
        self.path = Path(self.folder.name) / "log.sqlite3"
        self.clock = Clock()
        self.before = 0
        self.one = Sitting(self.path, clock=self.clock, minutes=5, material=MATERIAL)

    @rule(key=st.sampled_from(KEYS), seconds=st.floats(0.01, 40))
    def press(self, key, seconds):
        self.one.press(key, seconds=seconds)
        if self.one.state.phase.value in ("lesson", "prompt"):
            assert self.one.state.card.id not in self.one.log.standing().rested

    @rule(presses=st.integers(1, 4), key=st.sampled_from(["enter", "c"]))
    def play_on(self, presses, key):
        for _ in range(presses):
            self.one.press("enter", seconds=5)
            self.one.press(key, seconds=5)

    @rule(seconds=st.sampled_from([-86_400.0, -3.0, 3600.0, 86_400.0]))
    def the_clock_jumps(self, seconds):
        self.clock.tick(seconds)

    @rule(width=st.integers(20, 200), height=st.integers(5, 60))
    def resized(self, width, height):
        lines = screen(self.one.drill, Reading(), width, height)
        assert len(lines) <= height

    @rule()
    def killed_and_started_again(self):
        self.before = len(self.one.firsts())
        self.one.log.close()
        self.one = Sitting(self.path, clock=self.clock, minutes=5, material=MATERIAL)
        assert len(self.one.firsts()) == self.before

    @invariant()
    def every_grade_is_logged_once(self):
        if not hasattr(self, "one"):
            return
        logged = self.one.firsts()[self.before :]
        given = self.one.state.given
        assert sorted(r.id for r in logged) == sorted(g.review for g in given)
        by_id = {review.id: review for review in logged}
        for entry in given:
            assert by_id[entry.review].grade is entry.grade
            assert by_id[entry.review].slip == entry.slip
            assert 0 <= by_id[entry.review].seconds <= 60

    @invariant()
    def the_time_box_holds(self):
        if not hasattr(self, "one"):
            return
        state = self.one.state
        asked_s = state.asked_s - state.started_s
        if state.phase.value in ("lesson", "prompt") and state.given:
            assert asked_s <= state.limit_s - state.music_s

    def teardown(self):
        if hasattr(self, "one"):
            self.one.log.close()
            self.folder.cleanup()


TestAnyKeys = AnyKeys.TestCase
TestAnyKeys.settings = settings(max_examples=12, stateful_step_count=30, deadline=None)
