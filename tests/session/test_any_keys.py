"""Any sequence of keys, pauses, resizes, kills and clock jumps keeps what a session promises.

A kill is what kill -9 leaves: the log's files as they lie on the disk at that moment, nothing closed, taken up by
another session. (`tests/terminal` kills real processes.)
"""

from __future__ import annotations

import shutil
import tempfile
from itertools import count
from pathlib import Path

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule
from sittings import Clock, Listener, Sitting, gathered

from drills.cards.kinds import KINDS
from drills.configuration.diagram_style import DiagramStyle
from drills.session.screens import screen
from scheduler.planning.planner import Planner

MATERIAL = gathered(strings="543,432")
EVERY_KIND = gathered(strings="543", root="Bb,F", quality="m7,7", prompt=",".join(KINDS))
KEYS = [
    "enter", "right", "left", "up", "down", "pageup", "pagedown", " ", "l", "f", "c", "t", "1", "2", "3", "4",
    "u", "n", "r", "a", "s", "?", "g", "p", "h", "x", "k", "v", "m", "w",
]  # fmt: skip


class AnyKeys(RuleBasedStateMachine):
    """Presses keys at random and compares the log with the session's own account."""

    material, listener = MATERIAL, None

    @initialize()
    def open(self):
        self.folder = tempfile.TemporaryDirectory()
        self.clock, self.before, self.left, self.lives = Clock(), 0, [], count()
        self.sit_down(Path(self.folder.name) / "log.sqlite3")

    def sit_down(self, path):
        self.path = path
        self.one = Sitting(path, clock=self.clock, minutes=5, material=self.material, listener=self.listener)

    @rule(key=st.sampled_from([*KEYS, "u", "u"]), seconds=st.floats(0.01, 40))
    def press(self, key, seconds):
        """A key; the one that takes back leaves the log as if the grade and its repeat had never been written."""
        reviews, given, repeats = list(self.one.log.reviews()), self.one.state.given, dict(self.one.state.repeats)
        self.one.press(key, seconds=seconds)
        if len(self.one.state.given) < len(given):
            assert key == "u"
            gone = {given[-1].review, repeats.get(given[-1].review)}
            assert list(self.one.log.reviews()) == [review for review in reviews if review.id not in gone]

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
        lines = screen(self.one.drill, DiagramStyle(), width, height)
        assert len(lines) <= height

    @rule()
    def killed_and_started_again(self):
        self.before = len(self.one.firsts())
        self.left.append(self.one.log)
        folder = Path(self.folder.name) / f"life{next(self.lives)}"
        folder.mkdir()
        for end in ("", "-wal"):
            if (kept := self.path.with_name(self.path.name + end)).exists():
                shutil.copy(kept, folder / kept.name)
        self.sit_down(folder / self.path.name)
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
    def the_memory_is_what_the_log_says(self):
        if not hasattr(self, "one"):
            return
        planner = self.one.drill.planner
        assert planner.snapshot() == Planner(planner.cards, 0, self.one.log.reviews(), planner.rules).snapshot()

    @invariant()
    def nothing_rested_is_asked(self):
        if hasattr(self, "one") and self.one.state.phase.value in ("lesson", "prompt"):
            assert self.one.state.card.id not in self.one.log.standing().rested

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
            for log in (*self.left, self.one.log):
                log.close()
            self.folder.cleanup()


class AnyKeysAtEveryPrompt(AnyKeys):
    """The same with prompts of every kind: what is typed is judged or refused, and logged once."""

    material, listener = EVERY_KIND, Listener()

    @rule(text=st.sampled_from(["Bbm7", "F7", "1", "6/8 5/7", "high", "Bb Db F Ab", "m7", "  "]), end=st.booleans())
    def typed(self, text, end):
        for key in (*text, *["enter"] * end):
            self.one.press(key, seconds=0.3)


TestAnyKeysAtEveryPrompt = AnyKeysAtEveryPrompt.TestCase
TestAnyKeysAtEveryPrompt.settings = settings(max_examples=12, stateful_step_count=30, deadline=None)

TestAnyKeys = AnyKeys.TestCase
TestAnyKeys.settings = settings(max_examples=12, stateful_step_count=30, deadline=None)
