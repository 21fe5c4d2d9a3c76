"""Sets the sheet of a class beside each student's own `progress`, figure by figure; nothing may contradict.

`python -m tests.roster.class_beside_progress` makes a class of twenty, three of four with a planted cause, and prints
sheet and progress one after the other, to be read aloud, and every difference that is found.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import re
import sys
import tempfile
from pathlib import Path
from unittest import mock

from drills.cli import main as neckwork
from scheduler.log.events import Event, as_us
from scheduler.log.interchange_json import write_json
from tests.roster.planted_causes import practised

__all__ = ["KINDS", "Beside", "a_class", "beside", "differences"]

KINDS = ("roots", "form", "spelling", "")
"""What is planted in one student after another."""

_GOOD = re.compile(r"(?:Firm|Going well): (.+?), \d+ of")


_OF_A_CAUSE = r"where it is needed, \d+ of \d+ elsewhere|, as \d+ of \d+ slips named say"


class Beside:
    """What the teacher's sheet and page say of a student, and what the student's own progress says."""

    def __init__(self, row: str, page: str, progress: str, told: dict):
        self.row, self.page, self.progress, self.told = row, page, progress, told


def a_class(folder: Path, students: int, tries: int, first_seed: int) -> str:
    """Writes the files of so many students into a folder; the last day they played, as text."""
    folder.mkdir(exist_ok=True)
    last = ""
    for number in range(1, students + 1):
        reviews, _ = practised(first_seed + number, KINDS[(number - 1) % len(KINDS)], tries)
        events = [Event(one.id, f"{number:024x}", as_us(one.at), one.at, one) for one in reviews]
        with (folder / f"Student {number}.json").open("w", encoding="utf-8") as out:
            write_json(events, out)
        last = max(last, reviews[-1].at.date().isoformat())
    return last


def _said(home: Path, *words: str) -> str:
    out, err = io.StringIO(), io.StringIO()
    surroundings = mock.patch.dict(os.environ, {"NECKWORK_HOME": str(home), "COLUMNS": "200"})
    with surroundings, contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = neckwork(list(words))
    if code:
        raise RuntimeError(err.getvalue())
    return out.getvalue()


def beside(folder: Path, day: str, homes: Path) -> dict[str, Beside]:
    """Each student's row and page on the roster, and their own progress after their own file was taken in."""
    teacher = homes / "teacher"
    sheet = _said(teacher, "roster", str(folder), "--on", day)
    rows = dict(re.findall(r"^(Student \d+) (.+(?:\n    .+)*)", sheet, re.MULTILINE))
    found = {}
    for path in sorted(folder.iterdir()):
        own = homes / path.stem
        _said(own, "import", str(path), "--yes")
        found[path.stem] = Beside(
            rows[path.stem],
            _said(teacher, "roster", str(folder), "--on", day, "--student", path.stem),
            _said(own, "progress", "--on", day),
            json.loads(_said(own, "progress", "--on", day, "--json")),
        )
    return found


def differences(one: Beside) -> list[str]:
    """Where the two say different things of one student: counts, days, seconds, claims, slips, the cause's figures."""
    wrong = []

    def same(what: str, teacher: object, own: object) -> None:
        if teacher != own:
            wrong.append(f"{what}: the sheet says {teacher}, progress says {own}")

    places = one.told["by_strings_and_quality"]
    week = re.search(r"(\d+ of \d+), (\d+ of \d+) ", one.row)
    own_week = re.search(r"This week: (\d+ of \d+) clean; (\d) of 7 days, (\d+) min", one.progress)
    if week is None or own_week is None:
        return ["no count of the week"]
    days = re.search(r"Days played: (\d) of 7 \((\d+) minutes\)", one.page)
    same("this week", week[1], own_week[1])
    same("four weeks", week[2], "{clean} of {tries}".format(**one.told["first_try_clean"]))
    same("days and minutes", days and days.groups(), own_week.groups()[1:])
    seconds = [re.search(r"typical clean try: (\d+ s)", text) for text in (one.page, one.progress)]
    same("seconds", seconds[0] and seconds[0][1], seconds[1] and seconds[1][1])
    grades = {word: int(times) for word, times in re.findall(r"(Looked|Found it|Clean|In time) (\d+)", one.page)}
    same("grades", grades, one.told["grades"])
    claims = [
        set(re.findall(r"^ *((?:Weakest|To watch|Stronger|Firm|Going well|Not yet): .+)$", text, re.MULTILINE))
        for text in (one.page, one.progress)
    ]
    same("claims", *claims)
    slips: dict[str, int] = {}
    for place in places:
        for slip, times in place["slips"].items():
            slips[slip] = slips.get(slip, 0) + times
    named = re.search(r"slips: (.+)", one.row)
    same("slips", {w: int(n) for w, n in re.findall(r"(\w+) (\d+)", named[1])} if named else {}, slips)
    fix = re.search(r"to fix: (.+(?:\n      .+)*)", one.row)
    cause = " ".join(fix[1].split()) if fix else ""
    same("the cause", cause if re.search(_OF_A_CAUSE, cause) else None, one.told["cause"])
    same("the cause in words", one.told["cause"], _cause_of(one.progress))
    if counted := re.match(r"(.+): clean (\d+ of \d+) where it is needed, (\d+ of \d+) elsewhere", cause):
        needed = [place for place in places if _needs(counted[1], place)]
        same(counted[1], counted[2], _sum(needed))
        same(f"elsewhere than {counted[1]}", counted[3], _sum([place for place in places if place not in needed]))
    for good in _GOOD.findall(one.progress):
        if cause.startswith(good) or cause.startswith(f"the {good.replace(' on ', ' shape on ')}"):
            wrong.append(f"to fix is {cause}, and progress says it goes well")
    return wrong


def _cause_of(progress: str) -> str | None:
    """The cause that progress names on the screen, in its own sentence."""
    said = re.search(r"^The one thing to fix: (.+(?:\n(?!One suggestion).+)*)\.$", progress, re.MULTILINE)
    return " ".join(said[1].split()) if said else None


def _needs(cause: str, place: dict) -> bool:
    """Whether a place needs what the cause names: roots of its lowest string, its shape, its quality's spelling."""
    if roots := re.match(r"finding roots on string (\d)", cause):
        return bool(place["strings"].startswith(roots[1]))
    if shape := re.match(r"the (\S+) shape on ([\d-]+)(?: and ([\d-]+))?", cause):
        return place["quality"] == shape[1] and place["strings"] in shape.groups()[1:]
    if spelling := re.match(r"(?:spelling|the notes of) (\S+)", cause):
        return bool(place["quality"] == spelling[1].rstrip(","))
    raise ValueError(f"nobody counts this cause: {cause}")


def _sum(places: list[dict]) -> str:
    return f"{sum(place['clean'] for place in places)} of {sum(place['tries'] for place in places)}"


def main() -> int:
    """Prints sheet and progress of a class of twenty, and what differs; 1 where anything does."""
    found = []
    with tempfile.TemporaryDirectory() as room:
        day = a_class(Path(room) / "class", 20, 400, 7000)
        for name, one in beside(Path(room) / "class", day, Path(room)).items():
            print(f"== {name}\nThe sheet: {' '.join(one.row.split())}\n{one.progress}")
            found += [f"{name}: {said}" for said in differences(one)]
    print("\n".join(found) or "Nothing differs.")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
