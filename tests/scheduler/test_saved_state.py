"""State saved beside the log: the same to the last bit as learning from the log again, whatever happened to either."""

from __future__ import annotations

import ast
import dataclasses
import json
import random
import shutil
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.card import CardSpec
from scheduler.grade import Grade
from scheduler.log.review_log import ReviewLog
from scheduler.memory.constants import Constants
from scheduler.planning.planner import Planner
from scheduler.planning.rules import TeachingRules
from scheduler.review import Review
from scheduler.saved import learned_states as saved
from scheduler.saved.learned_states import bring_forward
from tests.strategies import histories

START = datetime(2026, 1, 5, 18, 0, tzinfo=UTC)
CARDS = [CardSpec(f"c{n}", (f"form:{n % 3}", f"root:{n % 4}")) for n in range(12)]
RULES = TeachingRules(blame={"shape": "form", "root": "root"}, again_weight=1.0, return_weight=1.0)


def review(number: int, at: datetime | None = None, name: str = "") -> Review:
    """A review like any other, by its number."""
    rng = random.Random(number)
    card = rng.choice(CARDS)
    return Review(
        card.id, rng.choice(list(Grade)), at or START + timedelta(hours=number), 5.0, skills=card.skills,
        attempt=rng.choice(("first", "first", "repeat")), spent=rng.uniform(8, 40), session=f"s{number // 10}",
        id=f"{name}{number:06d}",
    )  # fmt: skip


def planner(rules: TeachingRules = RULES, constants: Constants | None = None, cards=CARDS) -> Planner:
    return Planner(cards, 1, (), rules, constants)


def opened(log: ReviewLog, path, **given) -> Planner:
    """A planner by the saved state, checked against one that learned from the log alone."""
    one, again = planner(**given), planner(**given)
    bring_forward(log, path, {"planner": one})
    for each in log.reviews():
        again.record(each)
    assert one.snapshot() == again.snapshot()
    at = START + timedelta(days=90)
    if one.cards:
        assert one.next(at) == again.next(at)
        assert one.plan(at, 5) == again.plan(at, 5)
    return one


@pytest.fixture
def log(tmp_path):
    """A log of sixty reviews."""
    with ReviewLog(tmp_path / "log.sqlite3") as made:
        for number in range(60):
            made.record(review(number))
        yield made


def fed(log, path, monkeypatch, **given) -> int:
    """How many reviews are read when the log is opened beside the file."""
    count = 0

    class Counting(Planner):
        def record(self, review):
            nonlocal count
            count += 1
            super().record(review)

    bring_forward(log, path, {"planner": Counting(CARDS, 1, (), given.get("rules", RULES), given.get("constants"))})
    return count


def test_what_was_saved_is_not_learned_again(log, tmp_path, monkeypatch):
    """The second opening reads no review, and one more review later reads one."""
    path = tmp_path / "state"
    assert fed(log, path, monkeypatch) == 60
    assert fed(log, path, monkeypatch) == 0
    log.record(review(60))
    assert fed(log, path, monkeypatch) == 1
    opened(log, path)


def test_everything_that_disturbs_the_past_is_noticed(log, tmp_path, monkeypatch):
    """An undo, a slip named later, a review joined from before: each is learned from the log again."""
    path = tmp_path / "state"
    for disturb in (
        lambda: log.undo(review(30).id, START + timedelta(days=30)),
        lambda: log.slip(review(5).id, "root", START + timedelta(days=30)),
    ):
        opened(log, path)
        assert fed(log, path, monkeypatch) == 0
        disturb()
        assert fed(log, path, monkeypatch) >= 59
        opened(log, path)
    with ReviewLog(tmp_path / "other.sqlite3") as other:
        other.record(review(700, START - timedelta(days=3), "x"))
    opened(log, path)
    log.join(tmp_path / "other.sqlite3")
    opened(log, path)


def test_what_does_not_disturb_the_past_costs_nothing(log, tmp_path, monkeypatch):
    """Flags, rests, and undo or slip of what came after the state need no second reading."""
    path = tmp_path / "state"
    opened(log, path)
    late = START + timedelta(days=40)
    flag = log.flag("c1", "which finger?", late)
    log.rest("c2", late)
    log.undo(flag.id, late)
    log.record(review(61, late))
    log.slip(review(61).id, "root", late)
    log.record(review(62, late))
    log.undo(review(62).id, late)
    assert fed(log, path, monkeypatch) == 1
    opened(log, path)


def test_a_state_of_anything_else_is_thrown_away(log, tmp_path, monkeypatch):
    """Other constants, another hour of the day, other blame, another version, another log: learned again."""
    path = tmp_path / "state"
    opened(log, path)
    assert fed(log, path, monkeypatch, constants=Constants(growth=1.2)) == 60
    assert fed(log, path, monkeypatch, rules=TeachingRules(blame=RULES.blame, day_starts_at_hour=0.0)) == 60
    assert fed(log, path, monkeypatch, rules=TeachingRules(blame={"root": "root"})) == 60
    assert fed(log, path, monkeypatch) == 0  # the first state is still there
    monkeypatch.setattr(saved, "FORMAT", saved.FORMAT + 1)
    assert fed(log, path, monkeypatch) == 60
    monkeypatch.setattr(saved, "_version", lambda sources: "another")
    assert fed(log, path, monkeypatch) == 60
    monkeypatch.undo()
    with ReviewLog(tmp_path / "second.sqlite3") as second:
        second.add(log.events())
        assert fed(second, path, monkeypatch) == 60
        opened(second, path)


def test_a_deck_does_not_matter(log, tmp_path, monkeypatch):
    """Rest, focus, rules of the session and the deck leave the state in use; cards of other seconds do not."""
    path = tmp_path / "state"
    opened(log, path)
    assert fed(log, path, monkeypatch, rules=TeachingRules(blame=RULES.blame, rested=frozenset({"c1"}))) == 0
    opened(log, path, cards=CARDS[:3])
    opened(log, path, cards=[])
    slow = [CardSpec(card.id, card.skills, seconds=30.0) for card in CARDS]
    assert opened(log, path, cards=slow).pace != opened(log, path).pace


@pytest.mark.parametrize("damage", [
    lambda path: path.write_bytes(b""),
    lambda path: path.write_bytes(b"\x00" * 100),
    lambda path: path.write_bytes(path.read_bytes()[:-3]),
    lambda path: path.write_bytes(path.read_bytes().replace(b"0.", b"1.", 1)),
    lambda path: path.write_bytes(path.read_bytes().split(b"\n", 1)[0] + b"\n{}"),
    lambda path: path.unlink(),
    lambda path: (path.unlink(), path.mkdir()),
])  # fmt: skip
def test_a_damaged_file_costs_only_time(log, tmp_path, monkeypatch, damage):
    """Whatever stands in the file's place, the log is learned from again, once, and no error is seen."""
    path = tmp_path / "state"
    opened(log, path)
    damage(path)
    opened(log, path)
    assert path.is_dir() or fed(log, path, monkeypatch) == 0  # written anew
    assert [name.name for name in tmp_path.iterdir() if name.name.endswith(".part")] == []


def test_a_folder_that_cannot_be_written_to_is_no_error(log, tmp_path):
    """Where no file can be made the log alone does."""
    opened(log, tmp_path / "no" / "such" / "folder" / "state")
    opened(log, None)


@pytest.mark.parametrize("own", [True, False])
def test_what_is_no_file_of_states_is_never_written_over(log, tmp_path, own):
    """A log that somebody calls as the file is called, this one or another, or a list of theirs: it stays as it is."""
    path = tmp_path / "log.memory"
    with ReviewLog(path) as named:
        for number in range(20):
            named.record(review(number))
        opened(named if own else log, path)
    assert path.read_bytes().startswith(b"SQLite format 3\0")  # SQLite's file format, 1.3
    lent = tmp_path / "lent.memory"
    lent.write_text("borrowed: a capo\n")
    opened(log, lent)
    assert lent.read_text() == "borrowed: a capo\n"


def test_an_older_copy_of_the_log_is_noticed(tmp_path):
    """A log put back from a copy and played on has as many events, but others."""
    path, home, copy = tmp_path / "state", tmp_path / "log.sqlite3", tmp_path / "copy.sqlite3"
    with ReviewLog(home) as log:
        for number in range(20):
            log.record(review(number))
    shutil.copy(home, copy)
    with ReviewLog(home) as log:
        for number in range(20, 30):
            log.record(review(number))
        opened(log, path)
    with ReviewLog(copy) as log:
        for number in range(30, 45):
            log.record(review(number))
        opened(log, path)


def test_a_review_without_skills_is_never_saved(tmp_path):
    """It takes its skills from the deck of the day, so that the state would be wrong under another."""
    path = tmp_path / "state"
    with ReviewLog(tmp_path / "log.sqlite3") as log:
        log.record(Review("c1", Grade.CLEAN, START, 5.0))
        opened(log, path)
        assert not path.exists()
        opened(log, path, cards=[])


def test_taking_back_an_old_review_asks_the_log(log, tmp_path):
    """A planner from saved state takes back, or amends, a review of long ago as exactly as one that learned all."""
    path = tmp_path / "state"
    opened(log, path)
    one, whole = planner(), planner()
    bring_forward(log, path, {"planner": one})
    history = list(log.reviews())
    for each in history:
        whole.record(each)
    for each in (one, whole):
        each.record(review(60))
        each.undo(review(10).id)
        each.amend(Review(**{name: getattr(review(20), name) for name in Review.__slots__} | {"slip": "root"}))
        each.undo(review(60).id)
    assert one.snapshot() == whole.snapshot()
    left = [each for each in history if each.id != review(10).id]
    assert one.snapshot()[0].keys() == Planner(CARDS, 1, left, RULES).snapshot()[0].keys()


def test_two_learners_share_a_file(log, tmp_path):
    """Each learner has its own place; a new one beside an old one reads the log and the old one does not."""

    class Counter:
        def __init__(self):
            self.seen, self.fed = 0, 0

        def record(self, review):
            self.seen += 1
            self.fed += 1

        def rests_on(self):
            return "counting"

        def export(self):
            return self.seen

        def restore(self, state):
            self.seen = state

        def history_from(self, history):
            self.history = history

    path = tmp_path / "state"
    bring_forward(log, path, {"planner": planner()})
    one = Counter()
    bring_forward(log, path, {"planner": planner(), "counter": one})
    assert (one.seen, one.fed) == (60, 60)
    log.record(review(60))
    two, plan = Counter(), planner()
    bring_forward(log, path, {"planner": plan, "counter": two})
    assert (two.seen, two.fed) == (61, 1)
    assert len(list(two.history())) == 61
    assert plan.snapshot() == opened(log, None).snapshot()


def test_the_file_is_text_without_surprises(log, tmp_path):
    """The file is a check and one JSON document, so that opening it can run nothing."""
    path = tmp_path / "state"
    opened(log, path)
    check, body = path.read_bytes().split(b"\n", 1)
    assert len(check) == 32
    assert set(json.loads(body)) == {"format", "states"}


@pytest.mark.long
@settings(max_examples=60)
@given(parts=st.lists(histories(), min_size=1, max_size=4))
def test_any_history_in_any_pieces_is_as_one(parts, tmp_path_factory):
    """After each piece of what three machines wrote, undone and slipped and joined, opening equals learning anew."""
    folder = tmp_path_factory.mktemp("saved")
    known: set[str] = set()
    with ReviewLog(folder / "log.sqlite3") as log:
        for part in parts:
            log.add(event for event in part if event.id not in known)
            known |= {event.id for event in part}
            opened(log, folder / "state", cards=[CardSpec(name, ("form:x",)) for name in "pqr"])


PACKAGE = saved._ROOT
CHOOSING = sorted(str(path.relative_to(PACKAGE)) for path in (PACKAGE / "planning").glob("*.py"))
PLANNING_ONLY = {"horizons_days": (1.0, 2.0), "utility_floors": (0.5, 0.5), "new_skill_discount_days": 3.0}


@pytest.fixture
def edited(tmp_path, monkeypatch):
    """Puts a copy of the package in place of the modules whose text is looked at; `edited(name)` changes one of it."""
    copy = tmp_path / "copy"
    shutil.copytree(PACKAGE, copy, ignore=shutil.ignore_patterns("__pycache__"))
    monkeypatch.setattr(saved, "_ROOT", copy)
    saved._version.cache_clear()

    def edit(name):
        with (copy / name).open("a") as file:
            file.write("# another version\n")
        saved._version.cache_clear()

    yield edit
    saved._version.cache_clear()


@pytest.mark.parametrize("module", [*CHOOSING, "memory/constants.py", "memory/states.py", "memory/refit.py"])
def test_another_way_of_choosing_keeps_what_was_learned(log, tmp_path, monkeypatch, edited, module):
    """A changed module that chooses, or that only reads what was learned, costs no second reading of the log."""
    path = tmp_path / "state"
    assert fed(log, path, monkeypatch) == 60
    edited(module)
    assert fed(log, path, monkeypatch) == 0


@pytest.mark.parametrize("module", saved._SOURCES)
def test_another_way_of_learning_learns_again(log, tmp_path, monkeypatch, edited, module):
    """A changed module that learns throws away what its other version learned."""
    path = tmp_path / "state"
    assert fed(log, path, monkeypatch) == 60
    edited(module)
    assert fed(log, path, monkeypatch) == 60


def test_every_module_that_learning_imports_is_looked_at():
    """The list of learning modules is closed: all of the package that the learner imports, but errors and values.

    `memory/constants.py` gives values only, and they are in the key by themselves.
    """
    found, left = set(), ["memory/learner.py"]
    while left:
        name = left.pop()
        found.add(name)
        for node in ast.walk(ast.parse((PACKAGE / name).read_text())):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("scheduler."):
                other = node.module.removeprefix("scheduler.").replace(".", "/") + ".py"
                assert (PACKAGE / other).is_file(), other
                left += [other] if other not in found else []
    assert found - {"errors.py", "memory/constants.py"} == set(saved._SOURCES)


def test_no_learning_module_reads_a_constant_of_choosing():
    """The constants that do not count for saved state are named by no module that learns."""
    for name in saved._SOURCES:
        assert not any(constant in (PACKAGE / name).read_text() for constant in PLANNING_ONLY), name


@pytest.mark.parametrize("name", [field.name for field in dataclasses.fields(Constants)])
def test_constants_of_choosing_keep_what_was_learned_and_those_of_learning_do_not(log, tmp_path, monkeypatch, name):
    """Every constant counts for the saved state exactly when learning rests on it."""
    usual = getattr(Constants(), name)
    others = {
        **PLANNING_ONLY,
        "first_half_lives_days": (0.5, 1.2, 9.0), "curves": (True,), "sharings": (0.0, 0.3), "learning_weights": False,
    }  # fmt: skip
    other = others.get(name, usual if isinstance(usual, tuple) else usual * 0.9)
    assert other != usual
    path = tmp_path / "state"
    assert fed(log, path, monkeypatch) == 60
    again = fed(log, path, monkeypatch, constants=Constants(**{name: other}))
    assert again == (0 if name in PLANNING_ONLY else 60)
    if name in PLANNING_ONLY:
        opened(log, path, constants=Constants(**{name: other}))
