"""What a long log has taught is saved beside it, so that opening the log does not read it all again.

The log is the truth, and the file of states is a cache. For each learner
(a planner, for instance) it holds a state, what else that state rests on, and
which events of which log it stands for. Deleting the file costs only the time
to learn again. A state is stale, and thrown away, when

- its key differs: the modules that learn, Python, or `SavedLearner.rests_on`;
- the log does not continue it (`ReviewLog.continues`): it is another log, or an
  earlier review was joined, taken back, set aside or given its slip;
- the file is damaged or of another `FORMAT`.

What reviews without skills taught is never saved.
"""

from __future__ import annotations

import hashlib
import json
import re
import sys
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any, Protocol

from scheduler.atomic_write import write_whole
from scheduler.log.fold import fold
from scheduler.log.review_log import ReviewLog
from scheduler.review import Review

__all__ = ["FORMAT", "LONG", "SavedLearner", "bring_forward", "read_states", "state_key", "write_states"]

FORMAT = 1
"""Version of the file. A file of another version is thrown away."""

LONG = 10_000
"""More events than this take a second or more to learn from."""

_KEPT = 6
"""A file holds at most this many states: those of several learners, and of decks whose cards take other times."""

_HEAD_BYTES = 33
_HEAD = re.compile(rb"[0-9a-f]{32}\n|[0-9a-f]*|\0*")
"""A file of states begins with a checksum and the end of a line. After a crash it may hold less, or zeros."""

_ENTRY = {"key", "log", "seq", "last_id", "order", "state"}

_ROOT = Path(__file__).parent.parent
"""The folder of the package whose modules made a state."""

_SOURCES = (
    "card.py",
    "days/practice_day.py",
    "grade.py",
    "memory/committee.py",
    "memory/curve.py",
    "memory/growth.py",
    "memory/learner.py",
    "memory/learning_constants.py",
    "memory/ordinal.py",
    "memory/pace.py",
    "memory/played.py",
    "memory/skill_memory.py",
    "review.py",
)
"""The modules that learn. A state learned by another version of them is thrown away. How cards are chosen from what
was learned does not matter to it. The values of the constants count too, by `rests_on`."""


class SavedLearner(Protocol):
    """An object that learns from reviews, one at a time, in the order of the log."""

    def record(self, review: Review) -> None:
        """Learn from one review."""

    def rests_on(self) -> Any:
        """What the state rests on besides the reviews, as a JSON value."""

    def export(self) -> Any:
        """The state, as a JSON value; floats come back to the last bit."""

    def restore(self, state: Any) -> None:
        """Take over an exported state in place of one's own, which is that of no reviews."""

    def history_from(self, history: Callable[[], Iterable[Review]]) -> None:
        """Where all reviews learned so far can be had again."""


def bring_forward(
    log: ReviewLog,
    path: Path | None,
    learners: Mapping[str, SavedLearner],
    long: Callable[[int], None] = lambda _: None,
) -> None:
    """Bring fresh learners to where the log stands, by the saved state at `path` as far as it goes.

    learners: by name; each is in the state of no reviews. path: the file,
    written anew when anything was learned; None to learn from the log alone.
    long: told about how many events are to be read when they are many.
    The result is the same to the last bit with the file, without it, and
    with any other file in its place.
    """
    entries = read_states(path) if path is not None else []
    keys = {name: state_key(name, learner.rests_on()) for name, learner in learners.items()}
    fingerprint = log.fingerprint()
    done: dict[str, dict[str, Any]] = {}
    behind: dict[int, list[str]] = {}
    for name, learner in learners.items():
        entry = next((one for one in entries if one["key"] == keys[name]), None)
        seq = 0
        if entry is not None and log.continues(entry["log"], entry["seq"], entry["last_id"], entry["order"]):
            learner.restore(entry["state"])
            seq, done[name] = entry["seq"], entry
        behind.setdefault(seq, []).append(name)
    bare = False
    for seq, names in behind.items():
        if seq == fingerprint.last_seq and seq:
            continue
        if fingerprint.last_seq - seq > LONG:
            long(fingerprint.last_seq - seq)
        order = tuple(done[names[0]]["order"]) if names[0] in done else (0, "")
        fed = log.reviews_after(seq, until=fingerprint.last_seq)
        order, without = _feed([learners[name] for name in names], fed, order)
        bare = bare or without
        for name in names:
            done[name] = {
                "key": keys[name], "log": log.id, "seq": fingerprint.last_seq, "last_id": fingerprint.last_id,
                "order": list(order), "state": learners[name].export(),
            }  # fmt: skip
    for learner in learners.values():
        learner.history_from(lambda: _as_of(log, fingerprint.last_seq))
    if path is not None and not bare and any(seq < fingerprint.last_seq for seq in behind):
        others = [one for one in entries if one["key"] not in keys.values()]
        write_states(path, ([*done.values(), *others])[:_KEPT])


def _feed(
    learners: list[SavedLearner], reviews: Iterable[tuple[int, Review]], order: tuple[int, str]
) -> tuple[tuple[int, str], bool]:
    """Teach the reviews. Return the order of the last one, and whether any named no skills.

    A review that names no skills takes them from the deck in use. What it taught must not be saved, because another
    deck may give it other skills.
    """
    bare = False
    for stamp_us, review in reviews:
        for learner in learners:
            learner.record(review)
        bare = bare or not review.skills
        order = (stamp_us, review.id)
    return order, bare


def _as_of(log: ReviewLog, seq: int) -> tuple[Review, ...]:
    """The reviews in effect when the event numbered `seq` was the last."""
    return fold(event for number, event in log.since(0) if number <= seq).reviews


def state_key(name: str, rests_on: Any, sources: tuple[str, ...] = _SOURCES) -> str:
    """The key of a state: a digest of its name, of what it rests on (a JSON value) and of the modules that made it."""
    text = json.dumps([name, _version(sources), rests_on], sort_keys=True, default=str)
    return hashlib.blake2b(text.encode(), digest_size=16).hexdigest()


@cache
def _version(sources: tuple[str, ...]) -> str:
    """A digest that differs for every other version of the modules, and of Python."""
    found = hashlib.blake2b(sys.version.encode(), digest_size=16)
    for name in sources:
        found.update((_ROOT / name).read_bytes())
    return found.hexdigest()


def read_states(path: Path) -> list[dict[str, Any]]:
    """The states in the file; none when it is missing, damaged or of another version."""
    try:
        check, body = path.read_bytes().split(b"\n", 1)
        if check.decode("ascii") != hashlib.blake2b(body, digest_size=16).hexdigest():
            return []
        document = json.loads(body)
        states = document["states"] if document["format"] == FORMAT else []
        return [one for one in states if one.keys() >= _ENTRY]
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return []


def write_states(path: Path, entries: list[dict[str, Any]]) -> None:
    """Write the file whole or not at all. A folder that cannot be written to raises no error.

    A file of this name that holds something else, such as a log, is left as it is.
    """
    if not _is_ours(path):
        return
    body = json.dumps({"format": FORMAT, "states": entries}, separators=(",", ":")).encode()
    with suppress(OSError):
        check = hashlib.blake2b(body, digest_size=16).hexdigest().encode("ascii")
        write_whole(path, check + b"\n" + body, private=True)


def _is_ours(path: Path) -> bool:
    """Whether the path is free to write to: nothing is there, or a file of states, or what a crash has left of one."""
    try:
        with path.open("rb") as file:
            head = file.read(_HEAD_BYTES)
    except FileNotFoundError:
        return True
    except OSError:
        return False
    return _HEAD.fullmatch(head) is not None
