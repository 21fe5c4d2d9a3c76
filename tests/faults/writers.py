"""Every command that writes, the player it is tried on, and what must hold of that player's files afterwards."""

from __future__ import annotations

import io
import json
import random
import shutil
import tempfile
import tomllib
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from drills.cards.deck import find_deck, read_deck
from drills.cards.material import gather
from drills.neck.neck import Neck
from scheduler.errors import SchedulerError
from scheduler.grade import Grade
from scheduler.log.copies import copies_of
from scheduler.log.events import Event, as_us
from scheduler.log.interchange_csv import write_csv
from scheduler.log.interchange_json import read_json, write_json
from scheduler.log.review_log import ReviewLog
from scheduler.review import Review
from tests.faults.children import GRADING, Ended, run, run_full_screen
from tests.faults.failpoint import Failpoint

__all__ = ["WRITERS", "Lab", "Writer"]

START = datetime.now(UTC).replace(microsecond=0) - timedelta(days=60)
LOG = "log.sqlite3"


@dataclass(frozen=True, slots=True)
class Writer:
    """A command that writes. `{0}` in its arguments is the folder of files that go in and come out.

    prepare: what is done to the home before; taken_in: how many events it adds, all or none; ahead: how many
    `prepare` adds; once: what the command says in refusal when it has been done already.
    """

    name: str
    args: tuple[str, ...]
    keys: str = ""
    full_screen: bool = False
    prepare: Callable[[Path], None] = field(default=lambda home: None)
    taken_in: int = 0
    ahead: int = 0
    once: str = ""


def _ahead(home: Path) -> None:
    at = datetime.now(UTC)
    with ReviewLog(home / LOG) as log:
        stamp = as_us(at + timedelta(days=400))
        log.add([Event(f"ahead{n}", "other", stamp + n, at, Review("c", Grade.CLEAN, at, 3.0, id=f"ahead{n}"))
                 for n in range(20)])  # fmt: skip


def _taken_in(home: Path) -> None:
    with ReviewLog(home / LOG) as log:
        log.add(_events("x", 12, log.id), source="other.json", at=START)


OTHERS = 40

WRITERS = (
    Writer("session, lines", ("session", "--plain", "--quiet"), GRADING),
    Writer("session, full screen", ("session", "--quiet"), full_screen=True),
    Writer("sample", ("sample", "--plain", "--quiet"), "\n\n" + "\nc\n\nl\n1\n\n" * 4 + "q\n\n\n"),
    Writer("placement", ("placement", "--plain", "--quiet"), "\n\n" + "\nc\n\nf\n1\n\n" * 4 + "q\n\n\n"),
    Writer("import, JSON", ("import", "--yes", "{0}/other.json"), taken_in=OTHERS),
    Writer("import, CSV", ("import", "--yes", "{0}/other.csv"), taken_in=OTHERS),
    Writer("join", ("join", "--yes", "{0}/other.sqlite3"), taken_in=OTHERS),
    Writer("log back", ("log", "back"), prepare=_taken_in, taken_in=1, ahead=12, once="no import"),
    Writer("log mend", ("log", "mend"), prepare=_ahead, ahead=20),
    Writer("log salvage", ("log", "salvage"), once="exists already"),
    Writer("export, JSON", ("export", "-o", "{0}/out.json")),
    Writer("export, CSV", ("export", "--format", "csv", "-o", "{0}/out.csv")),
    Writer("export, HTML", ("export", "--format", "html", "-o", "{0}/out.html")),
    Writer("refit", ("refit",)),
    Writer("setup", ("setup", "--top-fret", "12", "--left-handed")),
    Writer("decks new", ("decks", "new", "mine", "--strings", "432", "--quality", "m7", "--force")),
    Writer("roster", ("roster", "{0}/class", "--format", "html", "-o", "{0}/roster.html")),
    Writer("wake", ("wake", "--all")),
)


def _events(mark: str, count: int, log: str) -> list[Event]:
    rng = random.Random(mark)
    cards = gather(read_deck(find_deck("first", None)), Neck()).cards
    names = sorted(cards)[:40]
    found = []
    for number in range(count):
        at = START + timedelta(days=number % 50, seconds=40 * number)
        card = rng.choice(names)
        grade = rng.choice((*Grade, Grade.CLEAN, Grade.CLEAN))
        one = Review(card, grade, at, rng.uniform(2, 9), skills=cards[card].skills, spent=rng.uniform(9, 30),
                     session="s", predicted=rng.random(), id=f"{mark}{number:05d}")  # fmt: skip
        found.append(Event(one.id, log, as_us(at), at, one))
    return found


def _firm(log: str) -> list[Event]:
    """Some cards in time on many days, so that they are firm."""
    cards = gather(read_deck(find_deck("first", None)), Neck()).cards
    found = []
    for day in range(41, 59, 2):
        for number, card in enumerate(sorted(cards)[:14]):
            at = START + timedelta(days=day, hours=2, seconds=40 * number)
            one = Review(card, Grade.IN_TIME, at, 3.0, skills=cards[card].skills, spent=12.0, session="f",
                         id=f"f{day}{number:05d}")  # fmt: skip
            found.append(Event(one.id, log, as_us(at), at, one))
    return found


class Lab:
    """A player with a year behind them, ready to be copied for every try, in the folder `folder`."""

    def __init__(self, folder: Path, reviews: int = 330) -> None:
        self._folder = folder
        self._base = folder / "base"
        files = self._base / "files"
        (files / "class").mkdir(parents=True)
        (files / "settings.toml").write_text("", encoding="utf-8")
        home = self._base / "home"
        (home / "decks").mkdir(parents=True)
        (home / "settings.toml").write_text("[instrument]\ntop_fret = 17\n", encoding="utf-8")
        (home / "decks" / "mine.toml").write_text('title = "Mine"\n[[block]]\nqualities = ["7"]\n', encoding="utf-8")
        with ReviewLog(home / LOG) as log:
            log.add(_events("r", reviews, log.id))
            log.add(_firm(log.id))
            log.ticket("caution", "read", START)
            log.rest("c", START)
        other = _events("o", OTHERS, "other")
        with ReviewLog(files / "other.sqlite3") as log:
            log.add(other)
        with (files / "other.json").open("w", encoding="utf-8") as out:
            write_json(other, out)
        with (files / "other.csv").open("w", encoding="utf-8", newline="") as out, ReviewLog(":memory:") as log:
            log.add(other)
            write_csv(log.review_rows(), out)
        shutil.copy(files / "other.json", files / "class" / "Student 1.json")
        for name in ("out.json", "out.csv", "out.html", "roster.html"):
            (files / name).write_text("what was there before\n", encoding="utf-8")
        run(("session", "--plain", "--quiet"), home, keys="\n\nq\n\n")  # what was learned is saved beside the log
        self._known = self._ids(home / LOG)
        self._whole: dict[str, dict[str, bytes]] = {}

    def home(self, writer: Writer) -> Path:
        """A fresh home, as `writer` finds it; files that go in and out lie in ``files`` beside it."""
        room = self._folder / "try"
        shutil.rmtree(room, ignore_errors=True)
        shutil.copytree(self._base, room)
        writer.prepare(room / "home")
        return room / "home"

    def start(
        self, writer: Writer, home: Path, point: Failpoint | None = None, kill_after_s: float | None = None
    ) -> Ended:
        """Run the command on a home."""
        args = [part.format(home.parent / "files") for part in writer.args]
        if writer.full_screen:
            return run_full_screen(args, home, point, kill_after_s=kill_after_s)
        return run(args, home, point, writer.keys, kill_after_s)

    def dry(self, writer: Writer) -> Ended:
        """A run without a fault; what it leaves is what a whole file looks like."""
        home = self.home(writer)
        ended = self.start(writer, home)
        self._whole[writer.name] = _contents(home.parent / "files")
        return ended

    def faults(self, writer: Writer, home: Path, ended: Ended) -> list[str]:
        """What does not hold of the files of a home after the command ended, in sentences; none when all holds."""
        found = []
        try:
            with ReviewLog(home / LOG) as log:
                found += log.faults()
                if log.lost:
                    found.append(f"the log says that {log.lost} events are lost")
            events = self._ids(home / LOG)
        except SchedulerError as error:
            return [f"the log does not open: {error}"]
        if gone := self._known - events:
            found.append(f"{len(gone)} of the events from before are gone")
        new = len(events) - len(self._known) - writer.ahead
        kept = new + _rescued(home, ended)
        if kept < ended.acknowledged:
            found.append(f"{ended.acknowledged} were acknowledged, {new} are in the log, {kept - new} kept elsewhere")
        if writer.taken_in and new not in (0, writer.taken_in):
            found.append(f"{new} of {writer.taken_in} events were taken in")
        for copy in copies_of(home / LOG):
            with ReviewLog(copy, writable=False) as log:
                found += log.faults()
        salvaged = home / "log-salvaged.sqlite3"
        try:
            if salvaged.exists() and self._known - self._ids(salvaged):
                found.append("what was salvaged is not whole")
        except SchedulerError as error:
            found.append(f"what was salvaged does not open: {error}")
        for path in (home / "settings.toml", *home.glob("decks/*.toml")):
            try:
                tomllib.loads(path.read_text(encoding="utf-8"))
            except ValueError as error:
                found.append(f"{path.name} is half: {error}")
        for path in home.glob("constants*.json"):
            json.loads(path.read_text(encoding="utf-8"))
        before, whole = _contents(self._base / "files"), self._whole[writer.name]
        for name, content in _contents(home.parent / "files").items():
            if content not in (before.get(name), whole.get(name)) and not _is_whole(name, content):
                found.append(f"{name} is half written")
        return found

    @staticmethod
    def _ids(path: Path) -> set[str]:
        with ReviewLog(path) as log:
            return {event.id for event in log.events()}


def _rescued(home: Path, ended: Ended) -> int:
    """How many reviews and lessons a session that could not write has left elsewhere, fit to be taken in."""
    texts = [line for line in ended.err.splitlines() if line.startswith('{"format"')]
    for folder in (home, Path(tempfile.gettempdir())):
        for path in folder.glob("unwritten-*.json"):
            texts.append(path.read_text(encoding="utf-8"))
            path.unlink()
    with ReviewLog(":memory:") as log:
        for text in texts:
            log.add(read_json(io.StringIO(text), "what was kept"))
        return sum(event.kind in ("review", "meet") for event in log.events())


def _contents(folder: Path) -> dict[str, bytes]:
    """The files that come out, by name; a part left behind does not bear the name of a file."""
    return {one.name: one.read_bytes() for one in folder.iterdir() if one.is_file() and one.suffix != ".part"
            and not one.name.startswith("other.sqlite3")}  # fmt: skip


def _is_whole(name: str, content: bytes) -> bool:
    """Whether a file that differs from that of another run, which has the time in it, ends as it should."""
    if name.endswith(".json"):
        try:
            json.loads(content)
        except ValueError:
            return False
        return True
    return name.endswith(".html") and content.rstrip().endswith(b"</html>")
