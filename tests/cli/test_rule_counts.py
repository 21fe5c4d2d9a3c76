"""The rules' counts, G1 and G25, from end to end: the real program in processes of its own, files in between."""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess

import openpyxl
import pytest

from tests.program import NECKWORK

GRADES = {"l": (1, "Looked", 2), "f": (2, "Found it", 6), "c": (3, "Clean", 9), "t": (4, "In time", 3)}
"""drills/RULES.md, G25: twenty cards graded 2 lowest, 6 second, 9 third, 3 top. Key: number, words, how often."""

ORDER = "clfcctfcflcfctcfccft"
"""In some order; a grade's place in a sitting must not matter."""


def environ(home) -> dict[str, str]:
    """The environment of a player whose files lie in `home`."""
    return {**os.environ, "NECKWORK_HOME": str(home), "TERM": "dumb", "COLUMNS": "80"}


def neckwork(home, *args: str) -> str:
    """What the program prints; fails with what it complained of."""
    done = subprocess.run([*NECKWORK, *args], env=environ(home), capture_output=True, check=False)
    assert done.returncode == 0, done.stderr.decode()
    return done.stdout.decode()


@pytest.mark.parametrize(
    ("focus", "count"),
    [
        ((), 144),
        (("--strings", "5-4-3"), 48),
        (("--quality", "m7"), 36),
        (("--strings", "5-4-3", "--quality", "m7"), 12),
        (("--quality", "+dim7"), 180),
        (("--key", "Bb", "--strings", "5-4-3"), 7),
    ],
)
def test_the_size_of_the_deck(tmp_path, focus, count):
    """Rule G1: 144 cards; one set 48, one quality 36, both 12, dim7 added 180, a key on one set 7."""
    found = json.loads(neckwork(tmp_path, "cards", "first", *focus, "--json"))
    assert len(found["cards"]) == len({card["id"] for card in found["cards"]}) == count
    assert found["left_out"] == []


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    """The home of a player who graded twenty cards in one sitting, typed line by line."""
    folder = tmp_path_factory.mktemp("home")
    child = subprocess.Popen(
        [*NECKWORK, "session", "first", "--plain", "--quiet", "--minutes", "30"],
        env=environ(folder), stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, encoding="utf-8",
    )  # fmt: skip
    left = list(ORDER)
    for line in child.stdout:
        asked = line.strip()
        if asked.startswith("How did it go?"):
            answer = left.pop(0)
        elif asked.endswith("Play it, then Enter.") and not left:
            answer = "q"
        elif asked.startswith("Enter ") or asked.endswith("then Enter."):
            answer = ""
        else:
            continue
        child.stdin.write(f"{answer}\n")
        child.stdin.flush()
    child.stdin.close()
    assert child.wait(timeout=60) == 0
    assert left == []
    return folder


def test_the_screen_the_tables_and_the_page_say_one_count(home, tmp_path):
    """Rule G25: first tries, further asks that day and what was new today make 12 of 20; the screen, JSON, CSV and
    the page say the same first tries."""
    report = json.loads(neckwork(home, "progress", "--json"))
    parts = [report[name] for name in ("first_try_clean", "asked_again_the_same_day", "new_today")]
    assert (sum(part["clean"] for part in parts), sum(part["tries"] for part in parts)) == (12, 20)
    first = parts[0]["clean"], parts[0]["tries"]
    assert 0 < first[1] < 20
    assert f"{first[0]} of {first[1]} clean" in neckwork(home, "progress")
    assert sum(report["grades"].values()) == first[1]
    assert all(report["grades"].get(words, 0) <= many for _, words, many in GRADES.values())
    for group in ("total", "week", "place", "gap"):
        table = csv.DictReader(io.StringIO(neckwork(home, "progress", "--csv")))
        rows = [row for row in table if row["group"] == group]
        counted = sum(int(row["clean"]) for row in rows), sum(int(row["tries"]) for row in rows)
        # A gap is between two plays of a card, so first meetings have none.
        assert counted == first if group != "gap" else counted <= first
    neckwork(home, "progress", "--html", str(tmp_path / "page.html"))
    assert f"{first[0]} of {first[1]}" in (tmp_path / "page.html").read_text(encoding="utf-8")


def test_the_export_has_twenty_graded_rows_that_sum(home, tmp_path):
    """Rule G25: 20 graded rows with time, card, set, quality, root, grade, summing 2/6/9/3, in a
    spreadsheet too; what was played again after a miss is stored and flagged, and no sum counts it."""
    text = neckwork(home, "export", "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    graded = [row for row in rows if row["attempt"] == "first"]
    assert len(graded) == 20
    assert all(row[name] for row in graded for name in ("time", "card", "set", "quality", "root", "grade"))
    for number, words, many in GRADES.values():
        assert [(row["grade"], row["result"]) for row in rows].count((str(number), words)) == many
    again = [row for row in rows if row["attempt"] == "repeat"]
    assert len(again) >= 2 and {row["grade"] for row in again} == {""}
    misses = [number for number, row in enumerate(rows) if row["result"] == "Looked"]
    assert all(rows[number + 1]["card"] == rows[number]["card"] for number in misses)
    assert all(rows[number + 1]["attempt"] == "repeat" for number in misses)
    book = openpyxl.Workbook()
    for line in csv.reader(io.StringIO(text, newline="")):
        book.active.append([int(cell) if cell.isdecimal() else cell for cell in line])
    book.save(tmp_path / "reviews.xlsx")
    header, *lines = openpyxl.load_workbook(tmp_path / "reviews.xlsx").active.iter_rows(values_only=True)
    numbers = [line[header.index("grade")] for line in lines if line[header.index("grade")]]
    assert (len(numbers), sum(numbers)) == (20, 2 * 1 + 6 * 2 + 9 * 3 + 3 * 4)


@pytest.mark.parametrize("kind", ["csv", "json"])
def test_taken_in_elsewhere_it_is_the_same(home, tmp_path, kind):
    """Rule G25: the export comes back, twice, to the same counts, the same file and the same session."""
    name = str(tmp_path / f"reviews.{kind}")
    neckwork(home, "export", "--format", kind, "-o", name)
    other = tmp_path / "other"
    for _ in range(2):
        neckwork(other, "import", "--yes", name)
    for args in (("progress", "--json"), ("export", "--format", kind), ("progress", "--ahead", "9")):
        assert neckwork(other, *args) == neckwork(home, *args)


def test_the_core_card_is_spoken_as_printed(home):
    """Rule G25: check 2 in the words a screen reader says."""
    assert (
        "string 6 fret 8 C root, finger 2; string 5 fret 7 E third, finger 1; string 5 fret 10 G fifth, finger 4; "
        "string 4 fret 9 B seventh, finger 3; string 4 fret 10 C octave, finger 4."
    ) in neckwork(home, "shape", "Cmaj7", "--strings", "654", "--plain")
