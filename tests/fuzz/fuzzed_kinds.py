"""Every kind of text, file, command and key that reaches the program, how it is drawn, and who reads it."""

from __future__ import annotations

import contextlib
import io
import json
import os
import random
import shutil
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from unittest import mock

from drills.cards.deck import find_deck, list_decks, read_deck
from drills.cards.focus import parse_focus
from drills.cards.kinds import KINDS as PROMPTS
from drills.cards.material import gather
from drills.changes.changes_reading import parse_changes
from drills.changes.changes_source import shipped_changes
from drills.changes.lead_sheet import read_musicxml
from drills.changes.playing_order import played_bars
from drills.configuration.diagram_style import DiagramStyle
from drills.configuration.settings import read_settings
from drills.lines.lead_sheet_xml import changes_musicxml
from drills.neck.neck import Neck
from drills.neck.strings import parse_strings
from drills.neck.tuning import parse_tuning, read_tunings
from drills.session import terminal
from drills.session.drill import Drill
from drills.session.plain import spoken
from drills.session.screens import screen
from drills.shapes.answers import named_chord
from drills.shapes.form import parse_form
from drills.theory.interval import Interval
from drills.theory.key import parse_degree, parse_key
from drills.theory.mode import mode_named
from drills.theory.note import Note, Pitch
from drills.theory.quality import read_qualities, shipped_qualities
from drills.theory.symbol import parse_chord
from scheduler.days.calendar import PracticeCalendar
from scheduler.grade import Grade
from scheduler.log.events import Meet
from scheduler.log.interchange import not_ahead, read_events
from scheduler.log.review_log import ReviewLog
from scheduler.planning.planner import Planner
from scheduler.review import Review
from tests.log_exports import export_csv, export_json

__all__ = ["FUZZED", "Bench", "Fuzzed", "changed_text"]

AT = datetime(2026, 3, 1, 18, 0, tzinfo=UTC)
CARD = "E2A2D3G3B3E4/arpeggio/C/m7/654/name"
ODD = (
    "\x00", "\x1b[2J", "\x1b]0;x\x07", "\u202e", "\u200b", "\ufeff", "\u2028", "\ud800", "\ufffd", "é", "e\u0301", "𝄫",
    "♭",
    "١", "２", "\x7f", "\x85", "\t", "\n", "\r\n", " ", "", "'", '"', "\\", "%s", "{}", "../", "~x", "&amp;", "<b>",
    "=1+1",
    "-1", "0", "1e999", "99999999999999999999", "NaN", "null", "true", "0x10", "1_0", "#", "b", "/", "(", ")", "[", "]",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Fuzzed:
    """One kind of input. share: of a million inputs. draw: makes one; read: what the program does with it.

    `read` may raise what the program refuses with, and nothing else.
    """

    name: str
    share: int
    draw: Callable[[random.Random], object]
    read: Callable[[object], None]


def changed_text(rng: random.Random, seeds: Sequence[str], words: Sequence[str], most: int = 4) -> str:
    """One of the valid texts with changes: pieces taken out, doubled, moved, put in, of another text, or cut off."""
    text = rng.choice(seeds)
    for _ in range(rng.randint(0, most)):
        at = rng.randint(0, len(text))
        until = min(len(text), at + rng.choice((1, 1, 2, 5, 20)))
        way = rng.randrange(9)
        if way == 0:
            text = text[:at] + text[until:]
        elif way == 1:
            text = text[:until] + text[at:]
        elif way == 2:
            text = text[:at] + text[at:until] * rng.choice((2, 3, 40)) + text[until:]
        elif way in (3, 4, 5):
            text = text[:at] + rng.choice(words) + text[at if way == 3 else until :]
        elif way == 6:
            text = text[:at] + rng.choice(ODD) + text[until:]
        elif way == 7:
            other = rng.choice(seeds)
            begin = rng.randint(0, len(other))
            text = text[:at] + other[begin : begin + rng.choice((3, 30, 300))] + text[at:]
        else:
            text = text[:at] if rng.random() < 0.2 else text[:at] + chr(rng.randrange(1, 0x3000)) + text[until:]
    return text


def _text(seeds: Sequence[str], words: Sequence[str], most: int = 4) -> Callable[[random.Random], str]:
    return lambda rng: changed_text(rng, seeds, words, most)


def _reading(read: Callable[[str], object]) -> Callable[[object], None]:
    def taken(value: object) -> None:
        read(str(value))

    return taken


class Bench:
    """Files that inputs are written to, and a player's home for command lines, in the folder `folder`."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self.home = folder / "home"
        self._home_files: dict[Path, bytes] = {}
        self._material: dict[str, object] = {}
        exports = self._exports()
        self.fuzzed = tuple(self._kinds(*exports))

    def _exports(self) -> tuple[str, str]:
        """JSON and CSV of a log with every kind of event, which is the log of the home too."""
        self.home.mkdir()
        with ReviewLog(self.home / "log.sqlite3") as log:
            skills = ("form:x", "root:C@6E2")
            review = log.record(Review(CARD, Grade.FOUND, AT, 4.0, skills=skills, session="s", id="r1")).id
            log.slip(review, "root", AT)
            log.rest(CARD, AT)
            log.wake(CARD, AT)
            log.flag(CARD, "why?", AT)
            log.lock("arpeggio/0+0.0+3.1+2.2+0.2+2", "2 4 3 1 3", AT)
            log.ticket("seen:caution", "yes", AT)
            log.append(Meet(CARD, ("form:x",)), AT)
            for day in range(6):
                log.record(Review(CARD, Grade.CLEAN, AT + timedelta(days=day), 3.0, skills=skills, spent=9.0))
            log.undo(review, AT)
            as_json, as_csv = io.StringIO(), io.StringIO(newline="")
            export_json(log, as_json)
            export_csv(log, as_csv)
            chosen = {log.id: "l" * 24} | {event.id: f"e{number:023}" for number, event in enumerate(log.events())}
        texts = [as_json.getvalue(), as_csv.getvalue()]
        for drawn, fixed in chosen.items():  # ids are drawn by chance, and the same number is to draw the same input
            texts = [text.replace(drawn, fixed) if len(drawn) == len(fixed) else text for text in texts]
        (self.home / "settings.toml").write_text("[instrument]\ntop_fret = 17\n", encoding="utf-8")
        (self.home / "log.json").write_text(texts[0], encoding="utf-8")
        (self.home / "log.csv").write_text(texts[1], encoding="utf-8", newline="")
        self._home_files = {one: one.read_bytes() for one in self.home.iterdir()}
        return texts[0], texts[1]

    def _kinds(self, as_json: str, as_csv: str) -> list[Fuzzed]:
        pages = [path.read_text(encoding="utf-8") for path in shipped_changes().values()]
        decks = [path.read_text(encoding="utf-8") for path in list_decks(None)]
        sheets = [changes_musicxml(parse_changes(page)) for page in sorted(pages, key=len)[:3]]
        chord_words = tuple("CDEFGABHb#♭♯m7øΔ°+-()/69135") + ("maj", "min", "dim", "aug", "sus4", "add9", "alt", "b5")
        toml = (
            "=",
            "[",
            "]",
            '"m7"',
            "true",
            "[]",
            "{}",
            "-1",
            "1.5",
            "[[material]]",
            "# ",
            "\n",
            "title",
            "roots",
            "''",
        )
        words = {name: text.split() for name, text in (("deck", " ".join(decks)), ("changes", " ".join(pages)))}
        json_words = (
            '"',
            ",",
            "{",
            "}",
            "[",
            "]",
            "null",
            "-1",
            "1e400",
            "true",
            '"kind"',
            '"x"',
            "\n",
            '"undo"',
            "\\u0000",
        )
        xml_words = ("<", ">", "</", "/>", "<harmony>", "</measure>", "<!DOCTYPE x>", "<!ENTITY a 'b'>", "&a;", "&#0;",
                     "<![CDATA[",
                     "<repeat direction='backward'/>", "-3", "999999999", "<kind>", "xmlns='x'")  # fmt: skip
        rules = ("every day", "weekdays", "not sundays", "Mondays and Thursdays", "FREQ=DAILY;INTERVAL=2",
                 "FREQ=WEEKLY;BYDAY=MO,TH",
                 "RRULE:FREQ=DAILY;COUNT=10", "FREQ=WEEKLY;UNTIL=20271231;WKST=SU", "FREQ=DAILY;BYMONTH=2",
                 "FREQ=WEEKLY;UNTIL=00010101")  # fmt: skip
        rule_words = ("FREQ=", "DAILY", "YEARLY", ";", "BYDAY=", "MO", "-1", "INTERVAL=366", "COUNT=99999",
                      "UNTIL=00010101", "mon",
                      "UNTIL=20260230T250000Z", "BYMONTH=2,2", ",", "not ", "weekend", "99999", "=")  # fmt: skip
        settings = ('[practice]\nminutes = 15\ndays = "weekdays"\nday_starts_at = 4\n[instrument]\ntop_fret = 17\n'
                    'tuning = "drop-d"\n',
                    '[instrument]\ntuning = "E2 A2 D3 G3 B3 E4"\nscale_mm = 640\ncapo = 2\n[reading]\n'
                    'left_handed = true\nlabels = "fingers"\n',
                    "[practice]\nmusic = false\n[reading]\nascii = true\n")  # fmt: skip
        tunings = ('[tuning.mine]\nopen = ["C2", "G2", "D3", "A3", "E4", "G4"]\ntitle = "Fifths"\nscale_mm = 650\n',)
        qualities = ('[quality.mine]\ndegrees = ["1", "3", "5", "6", "b7"]\nsemitones = [0, 4, 7, 9, 10]\ntier = 3\n'
                     'symbols = ["7add6"]\nmodes = ["Mixolydian"]\nmet = "here"\n',)  # fmt: skip
        chords = [
            f"{root}{kind}"
            for root in ("C", "F#", "Bb", "E♭")
            for quality in shipped_qualities()
            for kind in quality.symbols
        ]
        keys = ("C", "Bb minor", "F# major", "c", "E flat", "Dorian")
        pitches = ("E2", "A2", "Bb1", "C#4", "F𝄪3", "B-1")
        sheet_lines = self._sheet_lines(sheets)
        return [
            Fuzzed("chord names", 200_000, _text(chords, chord_words), _reading(parse_chord)),
            Fuzzed("chords asked for", 30_000, _text(("ii of Bb", "C Dorian", "V7 of c minor", "Cmaj7"), chord_words),
                   _reading(lambda text: named_chord(text, shipped_qualities()))),
            Fuzzed("keys", 60_000, _text(keys, ("major", "minor", "flat", "#", "b", "♭")), _reading(parse_key)),
            Fuzzed("degrees", 40_000, _text(("ii of Bb", "V of C minor", "bVII of F", "#iv of Eb", "I of G"),
                                            tuple("ivIVø7b#°")), _reading(parse_degree)),
            Fuzzed("notes, pitches, intervals", 60_000, _text((*pitches, "P5", "b3", "-M2", "A11"),
                                                              tuple("PMmAd-b#0123456789")),
                   _reading(_small)),
            Fuzzed("modes and qualities", 30_000, _text(("dorian", "lydian b7", "m7b5", "maj7"), ("dorian", "b7", "7",
                                                                                                  "#", "m")),
                   _reading(_mode_or_quality)),
            Fuzzed("tunings", 90_000, _text(("E2 A2 D3 G3 B3 E4", "B0 E1 A1 D2 G2", "G4,C4,E4,A4"), pitches),
                   _reading(parse_tuning)),
            Fuzzed("string sets and forms", 60_000,
                   _text(("654", "6-5-4,432", "543,432", "arpeggio-from3-down", "scale-dorian", "grip-drop2-inv1"),
                         ("6", "5", "4", "3", "-", ",", "arpeggio", "-down", "-from5", "scale-", "inv3")),
                   _reading(_strings_or_form)),
            Fuzzed("RRULEs and practice days", 60_000, _text(rules, rule_words), _reading(_practice_days)),
            Fuzzed("JSON exports", 60_000, _text((as_json, *self._documents(as_json)), json_words), self._exported),
            Fuzzed("CSV exports", 60_000, _text((as_csv, as_csv.replace(",", ";"), "\n".join(as_csv.splitlines()[:2])),
                                               (",", ";", "\t", '"', "\n", "review", "clean",
                                                "2026-03-01T18:00:00+00:00", "'=1", "-")),
                   self._exported),
            Fuzzed("settings", 60_000, _text(settings, toml), self._file("settings.toml",
                                                                         lambda path: read_settings(path))),
            Fuzzed("tables of tunings and qualities", 30_000, _text((*tunings, *qualities), toml),
                   self._file("table.toml", _either_table)),
            Fuzzed("decks", 30_000, _text(decks, (*toml, *words["deck"])), self._file("deck.toml", _deck)),
            Fuzzed("changes of tunes", 40_000, _text(self._short_pages(pages), (*words["changes"], "|", ":|", "%", "(",
                                                                                "/")),
                   _reading(_changes)),
            Fuzzed("MusicXML", 40_000, _text(sheet_lines, xml_words), self._file("sheet.musicxml", _sheet)),
            Fuzzed("packed MusicXML and bytes", 10_000, _bytes(sheet_lines[0]), self._raw("sheet.mxl", _sheet)),
            Fuzzed("command lines", 20_000, _command_line, self._command),
            Fuzzed("key sequences", 12_000, _key_sequence, self._keys),
            Fuzzed("typed lines", 5_000, _typed_lines, self._lines),
            Fuzzed("pasted bytes", 3_000, _pasted, self._paste),
        ]  # fmt: skip

    @staticmethod
    def _documents(as_json: str) -> list[str]:
        """Short documents: one event each, and one with members in another order."""
        events = json.loads(as_json)["events"]
        found = [json.dumps({"format": "review-log", "version": 1, "events": [event]}) for event in events[:8]]
        return [*found, json.dumps({"events": events[:2], "version": 1, "format": "review-log"}, indent=1)]

    @staticmethod
    def _short_pages(pages: list[str]) -> list[str]:
        return sorted(pages, key=len)[:10]

    @staticmethod
    def _sheet_lines(sheets: list[str]) -> list[str]:
        """The sheets with at most their first measures, so that one is read in a millisecond."""
        found = []
        for sheet in sheets:
            head, *measures = sheet.split("<measure ")
            tail = measures[-1].partition("</measure>")[2]
            kept = [f"<measure {one.partition('</measure>')[0]}</measure>" for one in measures[:4]]
            found.append(head + "".join(kept) + tail)
        return found

    def _file(self, name: str, read: Callable[[Path], object]) -> Callable[[object], None]:
        def taken(value: object) -> None:
            path = self._folder / name
            path.write_bytes(str(value).encode("utf-8", "surrogatepass"))
            read(path)

        return taken

    def _raw(self, name: str, read: Callable[[Path], object]) -> Callable[[object], None]:
        def taken(value: object) -> None:
            assert isinstance(value, bytes)
            (self._folder / name).write_bytes(value)
            read(self._folder / name)

        return taken

    @staticmethod
    def _exported(value: object) -> None:
        """What `import` does with a file: every event read and taken in, and the log answers."""
        content = str(value).encode("utf-8", "surrogatepass")
        with ReviewLog(":memory:") as log:
            log.add(not_ahead(read_events(content, "file", log.id), "file", AT + timedelta(days=9)))
            log.latest()
            log.standing()

    def _command(self, value: object) -> None:
        """A command line in this process; a fault of the program's own comes out as it is."""
        from drills.cli import main

        for one in self.home.rglob("*"):
            if one.is_file() and one not in self._home_files:
                one.unlink()
        for one, content in self._home_files.items():
            if not one.is_file() or one.stat().st_size != len(content) or one.suffix == ".toml":
                shutil.rmtree(one, ignore_errors=True)
                one.write_bytes(content)
        assert isinstance(value, list)
        out, err = io.StringIO(), io.StringIO()
        environment = {"NECKWORK_HOME": str(self.home), "NECKWORK_TRACEBACK": "1", "TERM": "dumb"}
        before = Path.cwd()
        try:
            os.chdir(self.home)
            with (
                mock.patch.dict(os.environ, environment),
                mock.patch.object(sys, "stdin", io.StringIO("")),
                contextlib.redirect_stdout(out),
                contextlib.redirect_stderr(err),
            ):
                code = main([word.replace("{0}", str(self.home)) for word in value])
        finally:
            os.chdir(before)
        said = err.getvalue()
        if code not in (0, 1, 2, 130) or (code in (1, 2) and not (said.strip() or out.getvalue().strip())):
            raise AssertionError(f"exit code {code}, said {said!r}")
        if any(not (c.isprintable() or c in "\n\r") for c in said):
            raise AssertionError(f"not printable: {said!r}")

    def _drill(self, log: ReviewLog, every_kind: bool) -> Drill:
        name = "every" if every_kind else "first"
        if name not in self._material:
            prompts = ",".join(PROMPTS) if every_kind else None
            focus = parse_focus(shipped_qualities(), strings="543", root="Bb,F", quality="m7,7", prompt=prompts)
            self._material[name] = gather(read_deck(find_deck("first", None)), Neck(), focus=focus)
        material = self._material[name]
        planner = Planner(material.specs(), 0, (), material.rules())  # type: ignore[attr-defined] # kept as object
        clock = _Clock()
        drill = Drill(material, planner, log, clock, minutes=5.0, caution=False)  # type: ignore[arg-type] # as above
        drill_clock[0] = clock
        return drill

    def _keys(self, value: object) -> None:
        """Keys one after another, the screen drawn after some."""
        assert isinstance(value, tuple)
        every_kind, keys = value
        with ReviewLog(":memory:") as log:
            drill = self._drill(log, every_kind)
            for number, (key, seconds, width, height) in enumerate(keys):
                drill_clock[0].at += timedelta(seconds=seconds)
                drill.press(key)
                drill.tick()
                if number % 4 == 0 and len(screen(drill, DiagramStyle(), width, height)) > height:
                    raise AssertionError(f"a screen higher than {height}")
            spoken(drill)

    def _lines(self, value: object) -> None:
        """A session in lines, fed with lines until they end."""
        assert isinstance(value, tuple)
        every_kind, lines = value
        given = iter(lines)

        def read() -> str:
            drill_clock[0].at += timedelta(seconds=3)
            try:
                return next(given)
            except StopIteration:
                raise EOFError from None

        with ReviewLog(":memory:") as log:
            code = terminal.run_lines(self._drill(log, every_kind), read, lambda line: None)
        if code not in (0, 130):
            raise AssertionError(f"exit code {code}")

    def _paste(self, value: object) -> None:
        """Bytes as a terminal sends them, all at once, into a full-screen session."""
        from prompt_toolkit.application import create_app_session
        from prompt_toolkit.input import create_pipe_input
        from prompt_toolkit.output import DummyOutput

        assert isinstance(value, bytes)
        with ReviewLog(":memory:") as log, create_pipe_input() as pipe:
            drill = self._drill(log, True)
            # A terminal always ends what it has begun to paste; until then prompt_toolkit takes every byte for text.
            pipe.send_bytes(value + b"\x1b[201~\x03\x03")
            with create_app_session(input=pipe, output=DummyOutput()):
                code = terminal.run(drill, DiagramStyle(), {}, source=pipe, sink=DummyOutput())
        if code not in (0, 130):
            raise AssertionError(f"exit code {code}")


class _Clock:
    def __init__(self) -> None:
        self.at = AT

    def __call__(self) -> datetime:
        return self.at


drill_clock = [_Clock()]
"""The clock of the drill being played; a list, so that the one in use can be changed."""

FUZZED = (
    "chord names", "changes of tunes", "decks", "tunings", "settings", "JSON exports", "CSV exports", "MusicXML",
    "RRULEs and practice days", "command lines", "key sequences", "pasted bytes",
)  # fmt: skip
"""The kinds that no run may leave out."""


def _small(text: str) -> None:
    for read in (Note.parse, Pitch.parse, Interval.parse, Interval.from_degree):
        _refusable(read, text)


def _mode_or_quality(text: str) -> None:
    _refusable(mode_named, text)
    shipped_qualities().named(text)


def _strings_or_form(text: str) -> None:
    _refusable(parse_strings, text)
    parse_form(text)


def _refusable(read: Callable[[str], object], text: str) -> None:
    from drills.errors import DrillsError

    with contextlib.suppress(DrillsError):
        read(text)


def _practice_days(text: str) -> None:
    calendar = PracticeCalendar(text)
    calendar.count(date(2026, 1, 1), date(2026, 3, 1))


def _either_table(path: Path) -> None:
    from drills.errors import DrillsError

    with contextlib.suppress(DrillsError):
        read_tunings(path)
    read_qualities(path)


def _deck(path: Path) -> None:
    read_deck(path)


def _changes(text: str) -> None:
    page = parse_changes(text)
    played_bars(page.sections, page.form)


def _sheet(path: Path) -> None:
    read_musicxml(path)


def _bytes(sheet: str) -> Callable[[random.Random], bytes]:
    import zipfile

    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as out:
        out.writestr(
            zipfile.ZipInfo("META-INF/container.xml"),
            '<container><rootfiles><rootfile full-path="a.xml"/></rootfiles></container>',
        )
        out.writestr(zipfile.ZipInfo("a.xml"), sheet, zipfile.ZIP_DEFLATED)
    whole = packed.getvalue()

    def draw(rng: random.Random) -> bytes:
        if rng.random() < 0.1:
            return rng.randbytes(rng.randint(0, 200))
        found = bytearray(whole)
        for _ in range(rng.randint(1, 6)):
            found[rng.randrange(len(found))] = rng.randrange(256)
        return bytes(found[: rng.randint(0, len(found))] if rng.random() < 0.2 else found)

    return draw


_WORDS = (
    "Cmaj7", "C#m7b5", "ii of Bb", "C Dorian", "H7", "", "654", "543,432", "6-5-4", "99", "first", "nowhere", "m7",
    "+dim7", "Bb",
    "C minor", "arpeggio", "scale", "grip", "name", "degree", "12", "-3", "1e9", "E2 A2 D3 G3 B3 E4", "bass",
    "not sundays", "\x1b[2J",
    "é♭𝄫", "../..", "*", "--", "-", "~x; y", "\udcff", "{0}/log.json", "{0}/log.csv", "{0}/log.sqlite3", "{0}",
    "blues-in-f", "1-4",
    "2026-03-01", "9999-12-31", "0001-01-01", "mine", "out.html", "nowhere/out", "a" * 300,
)  # fmt: skip
_OPTIONS = (
    "--json", "--csv", "--strings", "--quality", "--root", "--key", "--form", "--prompt", "--tuning", "--top-fret",
    "--capo",
    "--open-roots", "--alternates", "--labels", "--box", "--left-handed", "--plain", "--ascii", "--format", "--days",
    "--minutes",
    "--changes", "--transpose", "--from", "--by", "--version", "--help", "-h", "--nonsense", "--since", "--until", "-o",
    "--yes",
    "--log", "--player", "--ahead", "--on", "--html", "--deck", "--all", "--list", "--force",
)  # fmt: skip
_COMMANDS = (
    "shape", "shape", "cards", "ready", "decks", "setup", "progress", "export", "import", "join", "wake", "log", "path",
    "tune",
    "roster", "session", "sample", "nothing", "", "--version",
)  # fmt: skip
_UNDER = {"decks": ("new", "check", "show"), "log": ("back", "mend", "salvage")}


def _command_line(rng: random.Random) -> list[str]:
    command = rng.choice(_COMMANDS)
    line = [command]
    if command in _UNDER and rng.random() < 0.6:
        line.append(rng.choice(_UNDER[command]))
    for _ in range(rng.randint(0, 5)):
        word = rng.choice(_WORDS)
        if rng.random() < 0.2:
            word = changed_text(rng, _WORDS, ODD, 2)
        line.append(rng.choice(_OPTIONS) if rng.random() < 0.45 else word.replace("\0", ""))
    return line


_KEYS = (
    "enter", "enter", "enter", "right", "left", "up", "down", "pageup", "pagedown", " ", "l", "f", "c", "t", "1", "2",
    "3", "4",
    "u", "n", "r", "a", "s", "?", "g", "p", "h", "x", "k", "v", "m", "w", "d", "i", "!", "escape", "tab", "backspace",
    "f1",
    "c-a", "é", "\u202e", "<cursor-position-response>",
)  # fmt: skip


def _key_sequence(rng: random.Random) -> tuple[bool, list[tuple[str, float, int, int]]]:
    keys = []
    for _ in range(rng.randint(1, 25)):
        key = rng.choice(_KEYS) if rng.random() < 0.9 else chr(rng.randrange(1, 0x3000))
        seconds = rng.choice((0.01, 1.0, 5.0, 5.0, 40.0, 3_600.0, -86_400.0)) if rng.random() < 0.2 else 3.0
        keys.append((key, seconds, rng.randint(20, 160), rng.randint(5, 50)))
    return rng.random() < 0.5, keys


_TYPED = ("", "", "", "c", "f", "t", "l", "u", "q", "h", "w", "Bbm7", "6/8 5/7", "found it", "looked", "!",
          "my hand hurts", "p", "r", "x",
          "\x1b[5~", "1", "next", "Bb Db F Ab")  # fmt: skip


def _typed_lines(rng: random.Random) -> tuple[bool, list[str]]:
    lines = [
        rng.choice(_TYPED) if rng.random() < 0.85 else changed_text(rng, _TYPED, ODD) for _ in range(rng.randint(1, 30))
    ]
    return rng.random() < 0.5, lines


_SENT = (
    b"\r", b"\r", b"c", b"f", b"t", b"l", b"\x1b[A", b"\x1b[D", b"\x1b[5~", b"\x1b", b"\x1b[200~pasted\rtext\x1b[201~",
    b"\x1b[200~",
    b"\x1b[<0;1;1M", b"\x1b[1;1R", b"\x1b]0;x\x07", b"\xff\xfe", b"\xc3", "é♭".encode(), b"\x00", b"\x1bO",
    b"\x1b[99;99;99u", b"q",
    b"u", b"w", b"h", b"\t", b"\x7f", b"\x04", b"\x1a"[:0], b"Cmaj7\n", b"a" * 500,
)  # fmt: skip


def _pasted(rng: random.Random) -> bytes:
    parts = [
        rng.choice(_SENT) if rng.random() < 0.8 else rng.randbytes(rng.randint(1, 30))
        for _ in range(rng.randint(1, 20))
    ]
    # What stops or ends the program itself is tried in a terminal of its own.
    return b"".join(parts).replace(b"\x1a", b"")
