"""Files that an earlier version wrote are read as that version read them.

The files in ``2026-11`` were written by the program as it was in that month, and ``answers.json`` holds what it then
said of them; `tests.old_files.record` made both. They are never made again: a later version is held to them.
"""

from __future__ import annotations

import io
import json
import re
import shutil
from pathlib import Path

import pytest

from drills.configuration.home import Home
from drills.configuration.settings import Settings, read_settings
from scheduler.log.interchange import import_file
from scheduler.log.review_log import ReviewLog
from scheduler.memory.refit import read_refit
from tests.log_exports import export_json
from tests.old_files.record import COMMANDS, answer, main, state_as_json

OLD = Path(__file__).parent / "2026-11"
ANSWERS = json.loads((OLD / "answers.json").read_text(encoding="utf-8"))
AS_THEN = dict(ANSWERS)
"""What the earlier version said, counts by its own definition of a first try among it."""

ANSWERS |= json.loads((OLD / "counts.json").read_text(encoding="utf-8"))
"""The same, with the counts since a first try is the first ask of a card on a practice day, and the sentences since
claims need evidence."""

LATER_SETTINGS = {"colour": "colour                       auto\n"}
"""Settings that came after the files were written, and how each is shown where a file does not speak of it."""

LATER_FIELDS = {"progress": '"cause": null, '}
"""Fields that came into an answer later, as they stand in it; the others are as they were."""


def without_later_fields(name: str, told: str) -> str:
    """An answer without what came into it later, which is there once."""
    if field := LATER_FIELDS.get(name):
        assert told.count(field) == 1
        return told.replace(field, "")
    return told


@pytest.fixture
def home(tmp_path):
    """A copy of the old player's folder, so that opening it cannot touch the recorded one."""
    folder = tmp_path / "home"
    shutil.copytree(OLD, folder)
    return folder


@pytest.mark.parametrize("name", COMMANDS)
def test_each_command_answers_as_it_did(home, name):
    """Progress as numbers and as a table, every setting, the cards of the saved deck, what is set aside."""
    told = answer(home, *COMMANDS[name])
    if name == "setup":
        for line in LATER_SETTINGS.values():
            assert told.count(line) == 1
            told = told.replace(line, "")
    assert without_later_fields(name, told) == ANSWERS[name]


def test_progress_answers_as_it_did_without_the_saved_memory(home):
    """The file beside the log only saves time: with and without it the numbers are the same."""
    (home / "log.memory").unlink()
    assert without_later_fields("progress", answer(home, *COMMANDS["progress"])) == ANSWERS["progress"]


def test_counts_changed_only_by_what_a_first_try_is():
    """What the earlier version called first tries is today's, with the further asks and those of lesson days."""
    then, now = (json.loads(told["progress"]) for told in (AS_THEN, ANSWERS))
    parts = [now[name] for name in ("first_try_clean", "asked_again_the_same_day", "new_today")]
    assert then["first_try_clean"]["tries"] == sum(part["tries"] for part in parts)
    assert then["first_try_clean"]["clean"] == sum(part["clean"] for part in parts)


def test_an_old_log_says_what_it_said(home):
    """Every review, rest, flag, lock, ticket and meeting in effect, with what was taken back left out."""
    with ReviewLog(home / "log.sqlite3") as log:
        assert state_as_json(log.state()) == ANSWERS["state"]
    for kind in ("reviews", "rested", "flags", "locks", "tickets", "meets"):
        assert ANSWERS["state"][kind], kind


def test_an_old_log_opens_without_being_changed(home):
    """Opened for reading it stays the same file, byte for byte."""
    with ReviewLog(home / "log.sqlite3", writable=False) as log:
        assert len(list(log.events())) > len(ANSWERS["state"]["reviews"])
    assert (home / "log.sqlite3").read_bytes() == (OLD / "log.sqlite3").read_bytes()


def without_days(written: bytes, kind: str) -> bytes:
    """An export without the practice day and whether a review was a first try, which old ones do not tell."""
    if kind == "json":
        return re.sub(rb', "first_of_day": (?:true|false), "practice_day": "[0-9-]{10}"', b"", written)
    return re.sub(rb",(?:[01],[0-9-]{10}|first_of_day,practice_day)\r\n", b"\r\n", written)


@pytest.mark.parametrize("kind", ["json", "csv"])
def test_an_old_log_exports_as_it_did(home, kind):
    """The same bytes in each form, and in addition only what is told of the practice day."""
    answer(home, "export", "--format", kind, "-o", str(home / f"again.{kind}"))
    assert without_days((home / f"again.{kind}").read_bytes(), kind) == (OLD / f"log.{kind}").read_bytes()


def test_an_old_json_export_is_taken_in_and_given_out_the_same(tmp_path):
    """All events come in, the log in effect is the old one, and it exports the same events; once in, all are known."""
    with ReviewLog(tmp_path / "new.sqlite3") as log:
        added = import_file(log, OLD / "log.json")
        assert state_as_json(log.state()) == ANSWERS["state"]
        out = io.StringIO()
        assert export_json(log, out) == added.new
        assert json.loads(out.getvalue()) == json.loads((OLD / "log.json").read_text(encoding="utf-8"))
        assert import_file(log, OLD / "log.json") == (0, added.new)
        assert import_file(log, OLD / "log.sqlite3") == (0, added.new)


def test_an_old_csv_export_brings_back_every_review(home):
    """The reviews in effect are those of the old log, and they export the same bytes again."""
    with ReviewLog(home / "new.sqlite3") as log:
        import_file(log, OLD / "log.csv")
        assert state_as_json(log.state())["reviews"] == ANSWERS["state"]["reviews"]
    again = home / "again.csv"
    answer(home, "export", "--format", "csv", "--log", str(home / "new.sqlite3"), "-o", str(again))
    assert without_days(again.read_bytes(), "csv") == (OLD / "log.csv").read_bytes()


def test_old_settings_are_each_read(home):
    """No value falls back on its default, which each was recorded away from (only the capo was left alone)."""
    found, usual = read_settings(home / "settings.toml", Home(home).tunings), Settings()
    assert found.tuning_name == "drop-d"
    for part in ("neck", "reading", "practice"):
        for field in getattr(found, part).__dataclass_fields__:
            if field != "capo" and field not in LATER_SETTINGS:
                assert getattr(getattr(found, part), field) != getattr(getattr(usual, part), field), field


def test_old_constants_are_in_use(home):
    """What a fit kept is read, and it is not the usual."""
    found = read_refit(home / "constants.json")
    assert found is not None
    assert dict(found.factors) == {"growth": 1.2, "unmet_recall": 0.9}
    assert (found.fitted_on, found.judged_on, found.before, found.after) == (210, 90, 0.61, 0.59)
    assert found.constants.growth == pytest.approx(1.2 * 1.6)


def test_recorded_files_are_never_written_over(monkeypatch, capsys):
    """Recording refuses a folder that is there."""
    monkeypatch.setattr("sys.argv", ["record", str(OLD)])
    with pytest.raises(SystemExit):
        main()
    assert "never written over" in capsys.readouterr().err
