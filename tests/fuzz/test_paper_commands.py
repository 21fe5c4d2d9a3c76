"""Handouts, rosters and deck files from any command line: right exit codes, one clear line, no traceback."""

from __future__ import annotations

import contextlib
import io
import json
import os
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.cli import main
from tests.examples import examples

LAYOUTS = ("sets", "set", "key", "overview", "place", "neck", "weakest", "deck", "boxes", "necks", "tab", "bars")
VALUES = st.sampled_from(
    """m7|m7b5,7|+dim7|C|F#,Gb|H|654|543,432|999|Bb|C minor|arpeggio-from3|scale|grip|scale-three-per-string|
    grip-drop3-inv2|first|triads|roots|ear|nowhere|1|3|0|99|-1|A4|phone|x.pdf|x.svg|x.txt|x.zip|x.doc|no/such/x.pdf|.|..|
    2026-09-07|soon|3:7|flats|B. Teacher \x1b[2J|é♭𝄫||-|Student 1|Student 2|Cmaj7|ii of Bb|D Dorian|degrees|
    blank""".replace("\n    ", "").split("|")
) | st.text(max_size=6)
_OPTIONS = """
    --strings --quality --root --key --form --prompts --away --tuning --top-fret --capo -o --answers --paper --large
    --labels --box --left-handed --teacher --deck --count --columns --rows --student --handout --term --since --groups
    --format --on --title --later --starts --include --new-forms --force --json --help
"""
OPTIONS = st.sampled_from(_OPTIONS.split())
DECKS = ("", "new mine", "new", "check", "check first", "show", "show first", "move", "move mine 2")
STARTS = st.sampled_from(
    [["handout", layout] for layout in LAYOUTS]
    + [["roster", folder] for folder in ("lessons", ".", "nowhere")]
    + [["decks", *words.split()] for words in DECKS]
)
CARDS = (("C", "name"), ("F", "degree-Db-vii"), ("Q", "odd"), ("C", "name"), ("-", "-"))
LOG = {
    "format": "review-log",
    "version": 1,
    "events": [
        {
            "kind": "review", "id": f"{n:024x}", "log": "a" * 16, "stamp": f"2026-09-0{n + 1}T18:00:00Z",
            "at": f"2026-09-0{n + 1}T18:00:00+00:00", "card": f"E2A2D3G3B3E4/arpeggio/{root}/m7b5/432/{kind}",
            "grade": n % 3 + 1, "seconds": 4.0, "attempt": "first", "skills": ["form:a", "root:C@4D3"],
        }
        for n, (root, kind) in enumerate(CARDS)
    ],
}  # fmt: skip


@settings(max_examples=examples(300, 1500))
@given(start=STARTS, rest=st.lists(VALUES | OPTIONS, max_size=6))
def test_any_command_line_about_paper_ends_in_a_code_and_a_line(start, rest):
    """Whatever is typed: exit code 0, 1 or 2; what goes wrong is said in printable lines; no hidden file is left."""
    out, err = io.StringIO(), io.StringIO()
    with tempfile.TemporaryDirectory() as home:
        (Path(home) / "lessons").mkdir()
        (Path(home) / "lessons" / "Student 1.json").write_text(json.dumps(LOG), encoding="utf-8")
        (Path(home) / "lessons" / "Student 2.json").write_text(json.dumps(LOG)[:300], encoding="utf-8")
        before, there = os.environ.get("NECKWORK_HOME"), Path.cwd()
        os.environ["NECKWORK_HOME"] = str(Path(home) / "home")
        os.chdir(home)
        try:
            with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
                code = main([*start, *rest])
        finally:
            os.chdir(there)
            os.environ.pop("NECKWORK_HOME")
            if before is not None:
                os.environ["NECKWORK_HOME"] = before
        left = [path.name for path in Path(home).rglob(".*")]
    assert code in (0, 1, 2)
    assert left == []
    if code:
        said = err.getvalue()
        assert said.strip() and "Traceback" not in said and "a fault inside the tool" not in said
        assert all(character.isprintable() or character == "\n" for character in said), repr(said)


@pytest.mark.parametrize("command", [["handout"], ["roster"], ["decks", "new"], ["decks", "show"], ["decks", "move"]])
def test_every_command_about_paper_helps_with_an_example(command, capsys):
    """Help texts carry an example each."""
    assert main([*command, "--help"]) == 0
    assert "Examples: neckwork" in " ".join(capsys.readouterr().out.split())
