"""Records a player's files and what the program answers about them, for later versions to be held to.

    python -m tests.old_files.record FOLDER

plays a few sessions, makes every file a player can have, and writes them to FOLDER with ``answers.json`` beside
them. FOLDER must not exist: files that were recorded once are never written over.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
from collections.abc import Iterator
from dataclasses import asdict
from datetime import datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any

from data.invented_students import FIRST_DAY, Body, students
from data.make_demo_log import _Sitting, material_of
from scheduler.days.calendar import PracticeCalendar
from scheduler.log.events import Flag, Meet
from scheduler.log.fold import LogState
from scheduler.log.review_log import ReviewLog
from scheduler.memory.refit import Refit, write_refit
from scheduler.planning.planner import Planner
from tests.program import NECKWORK

__all__ = ["COMMANDS", "SETTINGS", "answer", "state_as_json"]

ZONE = "Europe/Berlin"
"""Where the player of the recorded files lives: a day's end depends on it."""

DAYS = 3
"""Sessions played."""

SETTINGS = (
    "--tuning", "drop-d", "--top-fret", "17", "--root-frets", "1", "11", "--open-roots", "--alternates",
    "--scale-mm", "640", "--reach-limit-mm", "115", "--left-handed", "--orientation", "box", "--labels", "fingers",
    "--ascii", "--plain", "--silent", "--minutes", "12.5", "--deck", "mine", "--day-starts-at", "5",
    "--days", "not Sundays", "--tempo-bpm", "72",
)  # fmt: skip
"""Every setting but the capo, each away from its default."""

COMMANDS = {
    "progress": ("progress", "--json", "--on", str(FIRST_DAY + timedelta(days=DAYS))),
    "statistics": ("progress", "--csv", "--on", str(FIRST_DAY + timedelta(days=DAYS))),
    "setup": ("setup",),
    "cards": ("cards", "mine", "--json"),
    "rested": ("wake",),
}
"""What is asked of the program, by the name under which its answer is kept."""


def answer(home: Path, *command: str) -> str:
    """What one command prints for the player whose files lie in `home`; the folder's own name is taken out."""
    environ = {**os.environ, "NECKWORK_HOME": str(home), "TZ": ZONE, "COLUMNS": "200", "PYTHONIOENCODING": "utf-8"}
    done = subprocess.run([*NECKWORK, *command], env=environ, capture_output=True, check=True, encoding="utf-8")
    return done.stdout.replace(str(home), "HOME")


def state_as_json(state: LogState) -> dict[str, Any]:
    """A log in effect as a JSON value."""
    return {
        "reviews": [
            asdict(one) | {"grade": int(one.grade), "at": one.at.isoformat(), "skills": list(one.skills)}
            for one in state.reviews
        ],
        "rested": sorted(state.rested),
        "flags": [
            [one.id, one.at.isoformat(), flag.card, flag.text]
            for one in state.flags
            if isinstance(flag := one.body, Flag)
        ],
        "locks": dict(state.locks),
        "tickets": dict(state.tickets),
        "meets": [[one.id, meet.card, list(meet.skills)] for one in state.meets if isinstance(meet := one.body, Meet)],
    }


def _played(log: ReviewLog) -> Iterator[str]:
    """Plays a few days with the program's own session; gives the cards met."""
    student = students(1, 1, DAYS)[0]
    material, rng = material_of(student), Random(1)
    body, planner = Body(student, rng), Planner(material.specs(), 1, rules=material.rules())
    calendar = PracticeCalendar(zone=ZONE)
    for number in range(DAYS):
        at = calendar.starts(FIRST_DAY + timedelta(days=number)) + timedelta(hours=14)
        _Sitting(student, body, material, planner, log, at, rng).play()
    yield from dict.fromkeys(review.card for review in log.reviews())


def _every_kind_of_event(log: ReviewLog) -> None:
    """Adds to a played log one of each thing that can be written, and some that take another back."""
    cards = list(_played(log))
    reviews = list(log.reviews())
    at = reviews[-1].at
    asked = log.flag(cards[0], "which finger on the flat seventh?\n\u266d7, or the open string?", at)
    log.flag(cards[1], "", at)
    log.undo(asked.id, at)
    log.flag(cards[2], '=1+1, "quoted"; and a tab\t', at)
    for card in cards[:4]:
        log.rest(card, at)
    log.wake(cards[1], at)
    log.slip(reviews[3].id, "shape", at)
    log.slip(reviews[4].id, "root", at)
    log.slip(reviews[4].id, None, at)
    log.undo(reviews[7].id, at)
    log.lock("arpeggio/m7/6-5-4", "1 4 3 1 3", at)
    log.lock("arpeggio/7/6-5-4", "2 1 4 1 3", at)
    log.lock("arpeggio/7/6-5-4", None, at)
    log.ticket("tune:blues-in-f", "3", at)
    log.ticket("tune:blues-in-f", "4", at)
    log.append(Meet(cards[5], reviews[-1].skills), at)  # lessons were once written so
    early = at - timedelta(days=1)
    log.rest(cards[6], early)  # a clock set back


def _record(home: Path) -> None:
    home.mkdir(parents=True)
    with ReviewLog(home / "log.sqlite3") as log:
        _every_kind_of_event(log)
        state = state_as_json(log.state())
    write_refit(home / "constants.json", Refit({"growth": 1.2, "unmet_recall": 0.9}, 210, 90, 0.61, 0.59))
    answer(home, "decks", "new", "mine", "--strings", "654,543", "--quality", "m7,7,maj7", "--key", "flats",
           "--top-fret", "12", "--later", "3:maj7", "--starts", "2026-01-05", "--new-forms", "2",
           "--teacher", "Teacher 1")  # fmt: skip
    answer(home, "setup", *SETTINGS)
    for kind in ("json", "csv"):
        answer(home, "export", "--format", kind, "-o", str(home / f"log.{kind}"))
    answers = {name: answer(home, *command) for name, command in COMMANDS.items()}
    text = json.dumps({"state": state, **answers}, ensure_ascii=False, indent=1)
    (home / "answers.json").write_text(text + "\n", encoding="utf-8")


def main() -> None:
    """Records into a new folder."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    folder = parser.parse_args().folder
    if folder.exists():
        parser.error(f"{folder}: is there already; recorded files are never written over")
    began = datetime.now()
    _record(folder)
    print(f"{folder}: recorded in {(datetime.now() - began).seconds} s")


if __name__ == "__main__":
    main()
