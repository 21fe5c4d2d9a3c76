"""Damage every file of a player, one fault at a time, and compare each answer with that of the whole files.

    python -m tests.faults.damage [FLIPS] [SEED] [FILE ...]

cuts each file at every 512 bytes and flips FLIPS single bits (2,000) in each, drawn by SEED; FILE: only those of
`DAMAGED_FILES`, or log.counts, and no cuts. README.md beside this
file keeps the last table. An outcome is one of

- right: the same events, reviews, state of cards, digest, saved memory or settings as before;
- refused: an error of the program's own, in words;
- noticed: fewer events at the end of the log, and the log says how many are lost;
- other setting: settings that can be read and say something else, which no program can tell from a wish;
- wrong: anything else, a fault of the program.

A cut or a flip in the log must also leave every other whole event to be saved: `whole_rows` hands out nothing that
was not written.
"""

from __future__ import annotations

import random
import shutil
import sys
import tempfile
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from drills.configuration.settings import read_settings
from drills.errors import DrillsError
from scheduler.card import CardSpec
from scheduler.errors import SchedulerError
from scheduler.grade import Grade
from scheduler.log.events import SetAside
from scheduler.log.review_log import ReviewLog
from scheduler.log.rows import from_row
from scheduler.planning.planner import Planner
from scheduler.review import Review
from scheduler.saved.learned_states import bring_forward
from scheduler.saved.saved_digest import saved_digest

__all__ = ["DAMAGED_FILES", "Fault", "Player", "cuts", "flips", "main", "played"]

START = datetime(2026, 1, 5, 18, tzinfo=UTC)
LATER = START + timedelta(days=400)
LOG = "log.sqlite3"
DAMAGED_FILES = (LOG, f"{LOG}-wal", "log.memory", "log.seal", "settings.toml")
SHORT, LONG, IN_WAL = 300, 2_200, 60
"""Reviews in a log, in one long enough for `log.counts`, and those of either in the write-ahead log alone."""

STEP = 512
_KINDS = ("right", "refused", "noticed", "other setting", "wrong")
SETTINGS = """\
[practice]
minutes = 15
day_starts_at = 4

[instrument]
top_fret = 17
tuning = "drop-d"

[reading]
left_handed = true
labels = "fingers"
"""


@dataclass(frozen=True, slots=True)
class Fault:
    """One damage: `file` is cut to `at` bytes, or the bit `at` is flipped."""

    file: str
    kind: str
    at: int

    def strike(self, whole: bytes) -> bytes:
        """The damaged content of a file."""
        if self.kind == "cut":
            return whole[: self.at]
        damaged = bytearray(whole)
        damaged[self.at // 8] ^= 1 << self.at % 8
        return bytes(damaged)


def played(home: Path, reviews: int, in_wal: int) -> None:
    """A player's files: `reviews` reviews and what goes with them, the last `in_wal` in the write-ahead log."""
    rng = random.Random(5)
    home.mkdir(parents=True)
    (home / "settings.toml").write_text(SETTINGS, encoding="utf-8")
    before = home.with_name(f"{home.name}-before")
    before.mkdir()

    def play(log: ReviewLog, first: int, count: int) -> None:
        for number in range(first, first + count):
            at = START + timedelta(hours=number)
            card = f"arpeggio/{rng.choice(('C', 'F', 'B♭'))}/{rng.choice(('m7', '7'))}/{rng.randrange(9)}"
            grade = rng.choice(tuple(Grade))
            log.record(
                Review(card, grade, at, rng.uniform(1, 9), skills=(f"form:{card[-1]}", "root:C@6"),
                       spent=rng.uniform(9, 30), session="s", predicted=rng.random(), id=f"r{number:05d}")
            )  # fmt: skip
            if number % 17 == 3:
                log.slip(f"r{number:05d}", "root", at)
            if number % 23 == 7:
                log.undo(f"r{number - 1:05d}", at)
            if number % 29 == 11:
                log.rest(card, at)
                log.flag(card, "why the third finger?", at)
                log.lock("form:x", "1234", at)

    with ReviewLog(before / LOG) as log:
        play(log, 0, reviews - in_wal)
        log.append(SetAside(("r00002", "r00005")), START + timedelta(hours=reviews))
        bring_forward(log, before / "log.memory", {"planner": _planner()})
    log = ReviewLog(before / LOG)
    play(log, reviews - in_wal, in_wal)
    for one in before.iterdir():  # as a killed program leaves them
        shutil.copy(one, home / one.name)
    log.close()
    shutil.rmtree(before)


def _planner() -> Planner:
    return Planner([CardSpec(f"arpeggio/C/m7/{number}", (f"form:{number}", "root:C@6")) for number in range(9)])


class Player:
    """A player's whole files and what they answer.

    only_digest: of the log only that is asked, for a log so long that what it adds up to is saved beside it.
    """

    def __init__(self, home: Path, *, only_digest: bool = False) -> None:
        self.home = home
        self.only_digest = only_digest
        self.files = {one.name: one.read_bytes() for one in home.iterdir()}
        # Making the digest's file is part of the whole state, and only long logs have one.
        self.log, self.settings = self._log(), self._settings()
        self.files.update({one.name: one.read_bytes() for one in home.iterdir() if one.name not in self.files})
        self._put_back()

    def outcome(self, fault: Fault) -> str:
        """What comes of a fault; afterwards the files are as before."""
        try:
            (self.home / fault.file).write_bytes(fault.strike(self.files[fault.file]))
            if fault.file == "settings.toml":
                return self._settings_outcome()
            if not self.only_digest and not self._saves_only_what_was_written():
                return "wrong"
            self._put_back()
            (self.home / fault.file).write_bytes(fault.strike(self.files[fault.file]))
            try:
                found = self._log()
            except SchedulerError:
                return "refused"
            if found == self.log:
                return "right"
            events = found["events"]
            return "noticed" if found["lost"] and events == self.log["events"][: len(events)] else "wrong"
        except Exception as error:  # an error without words of ours is a fault of the program, whatever it is
            print(f"{fault}: {type(error).__name__}: {error}", file=sys.stderr)
            return "wrong"
        finally:
            self._put_back()

    def _put_back(self) -> None:
        for one in self.home.iterdir():
            one.unlink()
        for name, content in self.files.items():
            (self.home / name).write_bytes(content)

    def _log(self) -> dict[str, Any]:
        """All that is asked of a log: by itself, and with what is saved beside it."""
        with ReviewLog(self.home / LOG) as log:
            if self.only_digest:
                return {"lost": log.lost, "digest": saved_digest(log, self.home / "log.counts", LATER)}
            planner = _planner()
            bring_forward(log, self.home / "log.memory", {"planner": planner})
            latest = log.latest()
            return {
                "lost": log.lost,
                "id": log.id,
                "events": [event for _, event in log.since(0)],
                "in order": list(log.events()),
                "reviews": list(log.reviews()),
                "standing": log.standing(),
                "latest": latest,
                "digest": saved_digest(log, self.home / "log.counts", LATER),
                "rows": list(log.digest_rows()),
                "next": planner.next(LATER),
                "memory": planner.export(),
            }

    def _settings(self) -> Any:
        return read_settings(self.home / "settings.toml", self.home / "tunings.toml")

    def _settings_outcome(self) -> str:
        try:
            found = self._settings()
        except DrillsError:
            return "refused"
        return "right" if found == self.settings else "other setting"

    def _saves_only_what_was_written(self) -> bool:
        try:
            log = ReviewLog(self.home / LOG, writable=False, checked=False)
        except SchedulerError:
            return True
        written = {event.id: event for event in self.log["events"]}
        with log:
            return all(written.get(event.id) == event for event in map(from_row, log.whole_rows()))


def cuts(player: Player, name: str) -> Iterator[Fault]:
    """A cut at every 512 bytes."""
    return (Fault(name, "cut", at) for at in range(0, len(player.files[name]), STEP))


def flips(player: Player, name: str, count: int, rng: random.Random) -> Iterator[Fault]:
    """So many flipped bits, each by itself."""
    bits = len(player.files[name]) * 8
    return (Fault(name, "flip", rng.randrange(bits)) for _ in range(count))


def main(count: int = 2_000, seed: int = 13, only: Sequence[str] = ()) -> int:
    """Print the table; answers how many outcomes were wrong."""
    rng = random.Random(seed)
    wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        print(f"{count} flips a file, seed {seed}\n\n| file | bytes | fault | tries | {' | '.join(_KINDS)} |")
        print("|---" * (len(_KINDS) + 4) + "|")
        for reviews, names in ((SHORT, DAMAGED_FILES), (LONG, ("log.counts",))):
            home = Path(folder) / str(reviews)
            played(home, reviews, IN_WAL)
            player = Player(home, only_digest=reviews == LONG)
            for name in names if not only else [name for name in names if name in only]:
                if not only:
                    wrong += _row(player, name, "cut", cuts(player, name))
                wrong += _row(player, name, "flip", flips(player, name, count, rng))
    return wrong


def _row(player: Player, name: str, kind: str, faults: Iterable[Fault]) -> int:
    """Print one row; answers how many outcomes were wrong."""
    found: Counter[str] = Counter()
    for one in faults:
        outcome = player.outcome(one)
        found[outcome] += 1
        if outcome == "wrong":
            print(one, file=sys.stderr)
    counts = " | ".join(str(found[outcome]) for outcome in _KINDS)
    print(f"| {name} | {len(player.files[name]):,} | {kind} | {found.total()} | {counts} |", flush=True)
    return found["wrong"]


if __name__ == "__main__":
    sys.exit(min(1, main(*map(int, sys.argv[1:3]), only=sys.argv[3:])))
