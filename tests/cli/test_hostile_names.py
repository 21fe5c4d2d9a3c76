"""Names from files that try to steer a terminal, a browser or a spreadsheet, through every output there is."""

from __future__ import annotations

import csv
import io
import json
import sqlite3
import zipfile
from xml.etree import ElementTree

import mido
import pytest
from icalendar import Calendar
from lxml import html
from pypdf import PdfReader

from scheduler.grade import Grade
from scheduler.log.events import Event, Flag, as_us
from scheduler.log.interchange_json import write_json
from scheduler.log.review_log import ReviewLog
from scheduler.review import Review
from tests.cli.hostile import FOUR, HOSTILE, NOW, in_file_names

CARD = "E2A2D3G3B3E4/arpeggio/C/m7/654/name"


@pytest.fixture(params=HOSTILE)
def home(request, tmp_path):
    """A player's home, with one hostile text in every place a file has for one; answers the folder and the text."""
    bad = request.param
    folder = tmp_path / "home"
    (folder / "decks").mkdir(parents=True)
    name = in_file_names(bad)
    quoted = json.dumps(bad)
    (folder / "decks" / f"{name}.toml").write_text(
        f"title = {quoted}\nabout = {quoted}\nteacher = {quoted}\n"
        '[[material]]\nqualities = ["m7"]\nstring_sets = ["654"]\n[fingerings]\n"m7 654" = "1 4 3 1 3"\n',
        encoding="utf-8",
    )
    (folder / "decks" / f"wrong {name}.toml").write_text(f"{quoted} = {quoted}\n", encoding="utf-8")
    line = " ".join(bad.splitlines()).replace("|", "").replace(";", "")
    (folder / "decks" / f"{name}.changes").write_text(
        f"title: {line}\n[{line[:30].replace(']', '').replace('[', '')}] | Cm7 | F7 | Bbmaj7 | % |\n", encoding="utf-8"
    )
    (folder / "decks" / f"bare {name}.changes").write_text("| Cm7 | F7 |\n", encoding="utf-8")
    (folder / "tunings.toml").write_text(
        f'[tuning.{quoted}]\ntitle = {quoted}\nopen = ["E2", "A2", "D3", "G3", "B3", "E4"]\n', encoding="utf-8"
    )
    (folder / "settings.toml").write_text(f"[instrument]\ntuning = {quoted}\n", encoding="utf-8")
    with ReviewLog(folder / "log.sqlite3") as log:
        log.record(Review(CARD, Grade.LOOKED, NOW, 3.0, skills=("form:x",), session="s"))
        log.rest(CARD, NOW)
        log.flag(CARD, bad, NOW)
        log.lock("subject", bad, NOW)
        log.ticket("subject", bad, NOW)
    _forge(folder / "log.sqlite3", bad)
    students = tmp_path / "class"
    students.mkdir()
    moment = NOW
    review = Review(CARD, Grade.LOOKED, moment, 3.0, skills=("form:x",), id="r")
    events = [
        Event("r", "l", as_us(moment), moment, review),
        Event("f", "l", as_us(moment) + 1, moment, Flag(CARD, bad)),
    ]
    with open(students / f"{name}.json", "w", encoding="utf-8") as out:
        write_json(events, out)
    (students / f"bad {name}.csv").write_text(bad, encoding="utf-8")
    return tmp_path, bad, name


def _forge(path, bad):
    """Rows that no version of the tool writes: another program has put the text into every column of text."""
    with sqlite3.connect(path) as db:
        db.execute(
            "INSERT INTO events (id, log, stamp_us, clock_us, offset_s, kind, card, skills, grade, seconds, attempt,"
            " session, slip) VALUES (?, ?, 9, 9, 0, 'review', ?, ?, 1, 1.0, 'first', ?, ?)",
            (bad, bad, f"E2A2D3G3B3E4/{bad}/C/m7/654/{bad}", json.dumps([bad, f"form:{bad}"]), bad, bad),
        )
        db.execute(
            "INSERT INTO events (id, log, stamp_us, clock_us, offset_s, kind, card)"
            " VALUES (?, ?, 10, 10, 0, 'rest', ?)",
            (f"{bad}2", bad, bad),
        )


def _clean(text):
    return [line for line in text.split("\n") if not line.removesuffix("\r").isprintable()]


def _commands(tmp_path, name):
    out, deck, tune = tmp_path / "out", name, f"{tmp_path}/home/decks/{name}.changes"
    lead = f"{out}/lead.musicxml"
    return [
        ["decks"], ["decks", "--json"], ["decks", "show", deck], ["decks", "show", deck, "--json"],
        ["decks", "check", deck], ["decks", "check", f"wrong {deck}"], ["cards", deck], ["cards", deck, "--json"],
        ["cards", f"wrong {deck}"], ["setup"],
        ["tune"], ["tune", tune], ["tune", tune, "--json"], ["tune", tune, "--plain"],
        ["tune", f"{tmp_path}/home/decks/bare {name}.changes"],
        ["tune", tune, "--musicxml", lead], ["tune", lead], ["path", tune], ["stages", tune], ["etude", tune],
        ["etude", tune, "--musicxml", f"{out}/e.musicxml", "--pdf", f"{out}/e.pdf", "--midi", f"{out}/e.mid"],
        ["choruses", tune, "--plain"], ["ready", tune], ["ready", tune, "--json"],
        ["progress"], ["progress", "--json"], ["progress", "--csv"], ["progress", "--ahead", "7"],
        ["progress", "--html", f"{out}/p.html"], ["progress", "--ics", f"{out}/p.ics"],
        ["wake"], ["refit"], ["log"], ["log", "back", "--list"],
        *(["export", "--format", kind] for kind in FOUR),
        *(["export", "--format", kind, "-o", f"{out}/log.{kind}"] for kind in FOUR),
        *(["roster", f"{tmp_path}/class", "--on", "2026-03-03", "--format", kind] for kind in ("text", "md", "html")),
        ["roster", f"{tmp_path}/class", "--on", "2026-03-03", "--format", "html", "-o", f"{out}/r.html"],
        ["roster", f"{tmp_path}/class", "--on", "2026-03-03", "--format", "pdf", "-o", f"{out}/r.pdf"],
        ["handout", "deck", "--deck", deck, "--teacher", name, "-o", f"{out}/h.pdf"],
        ["handout", "deck", "--deck", deck, "--teacher", name],
        ["handout", "key", "--key", "C", "--teacher", name, "-o", f"{out}/h.svg"],
        ["session", deck, "--plain", "--quiet"], ["session", "--changes", tune, "--plain", "--quiet"],
        ["import", f"{out}/log.json"], ["import", f"{tmp_path}/class/bad {name}.csv"],
        ["cards", "no\x1b]0;x\x07\u202e"],
    ]  # fmt: skip


def test_every_output_is_free_of_what_steers(neckwork, home, monkeypatch):
    """Screen, HTML, SVG, PDF, Markdown, iCalendar, MusicXML, MIDI, CSV and JSON, for deck, tune, student and log."""
    tmp_path, bad, name = home
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    (tmp_path / "out").mkdir()
    done = 0
    for args in _commands(tmp_path, name):
        ran = neckwork(*args)
        done += ran.code == 0
        assert _clean(ran.out) == [] and _clean(ran.err) == [], args
        assert "fault inside" not in ran.err, (args, ran.err)
    assert done >= 38
    for path in sorted((tmp_path / "out").iterdir()):
        _check_file(path, bad)
    assert len(list((tmp_path / "out").iterdir())) >= 12


def _check_file(path, bad):
    suffix = path.suffix.lstrip(".")
    if suffix == "pdf":
        reader = PdfReader(path)
        said = (
            "\n".join(page.extract_text() for page in reader.pages) + "\n" + "\n".join(map(str, reader.metadata or []))
        )
        assert _clean(said) == []
        return
    if suffix == "mid":
        texts = [one.name for track in mido.MidiFile(path).tracks for one in track if one.type == "track_name"]
        assert texts and all(text.isprintable() for text in texts)
        return
    if suffix in ("zip",):
        assert zipfile.ZipFile(path).testzip() is None
        return
    text = path.read_bytes().decode("utf-8")
    assert _clean(text) == [], path
    if suffix in ("svg", "musicxml"):
        assert "script" not in {one.tag.rpartition("}")[2] for one in ElementTree.fromstring(text).iter()}
    elif suffix == "html":
        page = html.document_fromstring(text)
        assert not page.xpath("//script | //img | //@onerror")
    elif suffix == "ics":
        assert Calendar.from_ical(text)
    elif suffix == "csv":
        cells = [cell for row in csv.reader(io.StringIO(text)) for cell in row]
        assert all(cell[:1] not in "=+@" or not cell for cell in cells), cells


def test_the_forged_rows_are_there(home):
    """The fixture does what it says: the forged rows are in the log."""
    tmp_path, bad, _ = home
    with ReviewLog(tmp_path / "home" / "log.sqlite3", writable=False) as log:
        assert any(bad in one.card for one in log.reviews())
