"""Three machines of one player, with all that happens to them: whatever the order, they come to one state.

Joining is to be commutative, associative and idempotent, so that replicas converge (Shapiro, Preguiça, Baquero and
Zawirski 2011, "Conflict-free Replicated Data Types"). What counts is worked out here a second time, by sets.
"""

from __future__ import annotations

import io
import shutil
import tempfile
from datetime import UTC, datetime, timedelta
from itertools import permutations
from pathlib import Path
from random import Random
from unittest import mock

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, precondition, rule

from scheduler.grade import Grade
from scheduler.log.copies import copies_of, keep_copy
from scheduler.log.events import Event, SetAside, Undo, as_us
from scheduler.log.interchange import events_of_file, read_events
from scheduler.log.review_log import ReviewLog
from scheduler.review import Review
from tests.examples import examples
from tests.log_exports import export_csv, export_json

START = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
MACHINES = st.integers(0, 2)
CARDS = st.sampled_from(["a", "b", "c"])
NUMBERS = st.integers(0, 10**6)


class ThreeMachines(RuleBasedStateMachine):
    """Plays, takes back, exchanges, forges and restores on three machines with clocks of their own."""

    @initialize(id_seed=st.integers(0, 2**32 - 1))
    def begin(self, id_seed):
        self.folder = tempfile.TemporaryDirectory()
        # Ids settle ties: drawn by a seed of the example, so that a run that fails can be had again.
        self.ids = mock.patch("os.urandom", Random(id_seed).randbytes)
        self.ids.start()
        self.root = Path(self.folder.name)
        self.now, self.skew_h = START, [0.0, 0.0, 0.0]
        self.paths = [self.root / f"m{number}" / "log.sqlite3" for number in range(3)]
        self.logs = [ReviewLog(path) for path in self.paths]
        self.files: list[tuple[str, bytes]] = []
        self.forged: set[str] = set()
        self.made = 0
        # A file to take in from the beginning, with something taken back in it.
        self.play(0, "a", Grade.CLEAN, 3)
        self.undo(0, 1)
        self.export(0, False)

    def clock(self, machine):
        self.now += timedelta(seconds=30)
        return self.now + timedelta(hours=self.skew_h[machine])

    def fresh_id(self):
        self.made += 1
        return f"e{self.made:05d}"

    def one_of(self, machine, number, kinds):
        """The id of one of the events of a machine, or None."""
        found = [event.id for event in self.logs[machine].events() if event.kind in kinds]
        return found[number % len(found)] if found else None

    # What a player does

    @rule(machine=MACHINES, card=CARDS, grade=st.sampled_from(list(Grade)), count=st.integers(1, 3))
    def play(self, machine, card, grade, count):
        for _ in range(count):
            self.logs[machine].record(Review(card, grade, self.clock(machine), 3.0, id=self.fresh_id()))

    @rule(machine=MACHINES, number=NUMBERS)
    def undo(self, machine, number):
        if target := self.one_of(machine, number, ("review", "flag")):
            self.logs[machine].undo(target, self.clock(machine))

    @rule(machine=MACHINES, number=NUMBERS, slip=st.sampled_from(["root", "shape", None]))
    def name_a_slip(self, machine, number, slip):
        if target := self.one_of(machine, number, ("review",)):
            self.logs[machine].slip(target, slip, self.clock(machine))

    @rule(machine=MACHINES, card=CARDS, what=st.sampled_from(["rest", "wake", "flag", "lock", "free", "ticket"]))
    def set_something(self, machine, card, what):
        log, at = self.logs[machine], self.clock(machine)
        if what in ("rest", "wake"):
            getattr(log, what)(card, at)
        elif what == "flag":
            log.flag(card, "why?", at)
        elif what == "ticket":
            log.ticket("stage", card, at)
        else:
            log.lock("form", card if what == "lock" else None, at)

    @rule(machine=MACHINES, hours=st.sampled_from([-40.0, -1.0, -0.001, 0.0, 1.0, 40.0]))
    def the_clock_is_set(self, machine, hours):
        self.skew_h[machine] = hours

    # What passes between machines

    @rule(machine=MACHINES, table=st.booleans())
    def export(self, machine, table):
        out = io.StringIO(newline="")
        (export_csv if table else export_json)(self.logs[machine], out)
        self.files.append(("csv" if table else "json", out.getvalue().encode()))

    @precondition(lambda self: getattr(self, "files", None))
    @rule(machine=MACHINES, number=NUMBERS)
    def take_in(self, machine, number):
        kind, content = self.files[number % len(self.files)]
        log = self.logs[machine]
        events = list(read_events(content, f"file.{kind}", log.id))
        log.add(events, contents=kind == "json", source=f"file.{kind}", at=self.clock(machine))

    @rule(machine=MACHINES, other=MACHINES)
    def join(self, machine, other):
        if machine != other:
            log = self.logs[machine]
            log.add(events_of_file(self.paths[other], log.id, now=self.now), source="other", at=self.clock(machine))

    @rule(machine=MACHINES, number=NUMBERS, times=st.integers(1, 3))
    def go_back_and_forth(self, machine, number, times):
        """An import is taken back, counts again, and so on."""
        log = self.logs[machine]
        for _ in range(times if log.imports() else 0):
            imports = log.imports()
            one = imports[number % len(imports)]
            (log.bring_back if one.set_aside else log.go_back)(one, self.clock(machine))
            assert log.imports()[number % len(imports)].set_aside is not one.set_aside
            if one.set_aside:
                self.counts_as_it_came(log, one)

    def counts_as_it_came(self, log, one):
        """Of an import just brought back, what counts is what would count were it all there is."""
        came = [event for seq, event in log.since(one.first_seq - 1) if seq <= one.last_seq]
        own = self.aside_by_sets(came)
        assert {event.id for event in came} & self.aside_by_sets(log.events()) == own & {event.id for event in came}

    # What goes wrong

    @rule(machine=MACHINES, other=MACHINES, number=NUMBERS, earlier=st.booleans(), grade=st.sampled_from(list(Grade)))
    def one_id_with_two_contents(self, machine, other, number, earlier, grade):
        event_id = self.one_of(other, number, ("review",)) or self.fresh_id()
        at = self.clock(machine) - timedelta(hours=9 * earlier)
        self.logs[machine].add([Event(event_id, "forger", as_us(at), at, Review("a", grade, at, 2.0, id=event_id))])
        self.forged.add(event_id)

    @rule(machine=MACHINES)
    def keep_a_copy(self, machine):
        keep_copy(self.logs[machine], self.clock(machine))

    @rule(machine=MACHINES, number=NUMBERS)
    def put_back_a_copy(self, machine, number):
        path = self.paths[machine]
        if copies := copies_of(path):
            self.logs[machine].close()
            for one in path.parent.glob("log.sqlite3-*"):
                one.unlink()
            shutil.copy(copies[number % len(copies)], path)
            self.logs[machine] = ReviewLog(path)
            assert self.logs[machine].faults() == []

    # What must hold

    @rule()
    def all_come_to_one_state(self):
        every = [list(log.events()) for log in self.logs]
        states = []
        for order in permutations(range(3)):
            with ReviewLog(":memory:") as log:
                for number in order:
                    log.add(every[number])
                    log.add(every[order[0]])
                states.append(log.state())
                assert list(log.reviews()) == list(states[-1].reviews)
                assert log.faults() == []
        assert all(state == states[0] for state in states[1:])
        counted = [review.id for review in states[0].reviews]
        assert len(counted) == len(set(counted))
        assert {one for one in counted if one not in self.forged} == self.counted_by_sets(every) - self.forged

    def counted_by_sets(self, every):
        """The ids of the reviews that count: not set aside by a set-aside that counts, not undone by such an undo."""
        events = {event.id: event for part in every for event in part}
        aside = self.aside_by_sets(events.values())
        standing = [event for event in events.values() if event.id not in aside]
        undone = {event.body.target for event in standing if isinstance(event.body, Undo)}
        return {event.id for event in standing if event.kind == "review" and event.id not in undone}

    @staticmethod
    def aside_by_sets(events):
        """The ids that set-asides name, the latest first, but for those that a later one has left out."""
        aside: set[str] = set()
        setting = [event for event in events if isinstance(event.body, SetAside)]
        for event in sorted(setting, key=lambda one: (one.stamp_us, one.id), reverse=True):
            if event.id not in aside:
                aside |= set(event.body.targets)
        return aside

    def teardown(self):
        if hasattr(self, "logs"):
            try:
                self.all_come_to_one_state()
            finally:
                for log in self.logs:
                    log.close()
                self.ids.stop()
                self.folder.cleanup()


TestThreeMachines = pytest.mark.long(ThreeMachines.TestCase)
TestThreeMachines.settings = settings(max_examples=examples(40, 400), stateful_step_count=25, deadline=None)
