"""The options that the commands about a tune share: which changes, their key, tempo and feel, files and sound."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar, cast

import click

from drills.cli.files import OUT_FILE
from drills.cli.output import echo
from drills.configuration.home import expanded
from scheduler.atomic_write import write_whole

if TYPE_CHECKING:
    from drills.changes.changes import Changes
    from drills.cli.player_files import PlayerFiles
    from drills.lines.line import Line
    from drills.sound.score import Score

__all__ = [
    "FRETS",
    "ROOT_STRINGS",
    "START",
    "STRING_SET",
    "Command",
    "LineFiles",
    "PagePart",
    "TempoAndFeel",
    "asked_changes",
    "feel_options",
    "file_options",
    "gathered",
    "numbered",
    "page_options",
    "plain_option",
    "say",
    "sound_out",
    "write_pages",
    "write_text",
]


class _Start(click.ParamType[Any]):
    """A string, or a place: ``6`` or ``6/8``."""

    name = "string or place"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        import re

        if isinstance(value, str) and (match := re.fullmatch(r"([1-9]|1[0-2])(?:/([0-9]{1,2}))?", value)):
            from drills.shapes.root_places import RootPlace

            string = int(match[1])
            return string if match[2] is None else RootPlace(string, int(match[2]))
        self.fail(f"{value[:24]!r}: expected a string such as 6, or string and fret such as 6/8", param, ctx)


class _Frets(click.ParamType[tuple[int, int]]):
    """A window of frets: ``5-10``."""

    name = "frets"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        import re

        if isinstance(value, str) and (match := re.fullmatch(r"([0-9]{1,2})-([0-9]{1,2})", value)):
            low, high = int(match[1]), int(match[2])
            if low <= high <= 36:
                return low, high
        self.fail(f"{value[:24]!r}: expected lowest and highest fret such as 5-10", param, ctx)


class _Bars(click.ParamType[tuple[int, int]]):
    """Bars in playing order: ``17-24`` or ``8``; a pickup is 0."""

    name = "bars"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        import re

        if isinstance(value, str) and (match := re.fullmatch(r"(0|[1-9][0-9]{0,3})(?:-(0|[1-9][0-9]{0,3}))?", value)):
            return int(match[1]), int(match[2] or match[1])
        self.fail(f"{value[:24]!r}: expected first and last bar such as 17-24", param, ctx)


class _RootStrings(click.ParamType[tuple[int, ...]]):
    """Root strings: ``654`` or ``6,5``."""

    name = "strings"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        digits = value.replace(",", "").replace("-", "") if isinstance(value, str) else ""
        if digits.isascii() and digits.isdecimal() and "0" not in digits and len(set(digits)) == len(digits):
            return tuple(map(int, digits))
        self.fail(f"{value[:24]!r}: expected different strings such as 654", param, ctx)


class _OneSet(click.ParamType[Any]):
    """One string set: ``654``."""

    name = "set"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        from drills.errors import TuningError
        from drills.neck.strings import parse_strings

        try:
            return parse_strings(value) if isinstance(value, str) else value
        except TuningError as error:
            self.fail(str(error), param, ctx)


Command = TypeVar("Command", bound=Callable[..., object])
"""What an option is added to."""

START, FRETS, ROOT_STRINGS, STRING_SET = _Start(), _Frets(), _RootStrings(), _OneSet()


@dataclass(frozen=True, slots=True)
class PagePart:
    """Which part of a page is read: the key it is moved to, and its first and last bar; None for as written."""

    transpose: str | None = None
    bars: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class TempoAndFeel:
    """Quarter notes a minute, and whether eighths swing; None for what the page says."""

    tempo: int | None = None
    swing: bool | None = None

    @property
    def asked(self) -> str | None:
        """The feel asked for by name: straight, or None where the page decides or asks for swing."""
        return "straight" if self.swing is False else None


@dataclass(frozen=True, slots=True)
class LineFiles:
    """The files to write, None for those that are not asked for.

    paper, staff: of the PDF, and whether a staff stands above its tablature. alone: whether a line sounds without a
    band.
    """

    musicxml: str | None
    pdf: str | None
    paper: str
    staff: bool
    midi: str | None
    wav: str | None
    alone: bool

    def __bool__(self) -> bool:
        """Whether any file is asked for."""
        return any((self.musicxml, self.pdf, self.midi, self.wav))


def gathered(**kinds: type[Any]) -> Callable[[Command], Command]:
    """Hands options that belong together to a command as one value.

    kinds: the command's parameter, and the dataclass whose fields are the options it takes.
    """

    def decorate(command: Command) -> Command:
        @wraps(command)
        def call(**given: Any) -> object:
            for name, kind in kinds.items():
                given[name] = kind(**{field.name: given.pop(field.name) for field in fields(kind)})
            return command(**given)

        return cast(Command, call)

    return decorate


def page_options(command: Command) -> Command:
    """What is read: in which key, and which bars."""
    for option in reversed((
        click.option("--transpose", metavar="KEY", help="Play the changes in another key."),
        click.option("--bars", type=_Bars(), help="These bars only, counted as played, such as 17-24."),
    )):  # fmt: skip
        command = option(command)
    return command


def plain_option(command: Command) -> Command:
    """Whether it is said instead of drawn."""
    return click.option("--plain", is_flag=True, help="Say it in lines for a screen reader.")(command)


def feel_options(command: Command) -> Command:
    """Tempo and feel; left out, those of the page."""
    for option in reversed((
        click.option("--tempo", type=click.IntRange(30, 300), help="Quarter notes a minute.  [the page's, or 80]"),
        click.option("--swing/--straight", default=None, help="How eighths fall.  [as the page says]"),
    )):  # fmt: skip
        command = option(command)
    return command


def file_options(command: Command) -> Command:
    """Files to write instead of showing."""
    for option in reversed((
        click.option("--musicxml", type=OUT_FILE, help="Write staff and tablature as MusicXML."),
        click.option("--pdf", type=OUT_FILE, help="Write staff and tablature as pages to print."),
        click.option("--paper", type=click.Choice(["A4", "Letter"]), default="A4", show_default=True,
                     help="With --pdf."),
        click.option("--staff/--no-staff", default=True,
                     help="With --pdf: a staff above the tablature.  [default: staff]"),
        click.option("--midi", type=OUT_FILE, help="Write a Standard MIDI File: count-in, band and line."),
        click.option("--wav", type=OUT_FILE, help="Write the same as a WAV file."),
        click.option("--alone", is_flag=True, help="With --midi, --wav and --play: the line without the track."),
    )):  # fmt: skip
        command = option(command)
    return command


def asked_changes(player: PlayerFiles, text: str, part: PagePart, feel: TempoAndFeel = TempoAndFeel()) -> Changes:
    """The changes as asked for; what the reader should be told goes to standard error."""
    from drills.changes.changes_source import changes_from
    from drills.harmony.transpose import transposed_to

    page = changes_from(text, player.table, player.page_folders)
    for remark in page.remarks:
        echo(remark, err=True)
    if part.transpose:
        page = transposed_to(page, part.transpose)
    if part.bars is not None:
        from drills.changes.playing_order import excerpt

        page = excerpt(page, *part.bars)
    if feel.tempo is not None:
        page = replace(page, tempo=float(feel.tempo))
    if feel.swing is not None:
        page = replace(page, feel="swing" if feel.swing else "straight")
    return page


def say(player: PlayerFiles, lines: list[str]) -> None:
    """Prints lines, in plain characters where the player or the terminal asks for them."""
    import sys

    from drills.configuration.diagram_style import draws_lines
    from drills.harmony.page_text import plain_symbols

    plain = (player.home.settings.exists() and player.settings.reading.ascii) or not draws_lines(sys.stdout)
    for line in lines:
        echo(plain_symbols(line) if plain else line)


def numbered(name: str, number: int, count: int) -> Path:
    """The file for one of several: ``blues.mid``, or ``blues-2.mid`` when there are more."""
    path = expanded(name)
    return path if count == 1 else path.with_name(f"{path.stem}-{number}{path.suffix}")


def write_text(path: Path, text: str, what: str) -> None:
    """Writes a text file, whole or not at all, and says so on standard error."""
    write_whole(path, text)
    echo(f"{path}: {what}", err=True)


def write_pages(files: LineFiles, lines: list[Line], *, title: str, idea: str = "", labels: str = "fingers") -> None:
    """Writes lines as pages of staff and tablature to a PDF, where one is asked for, and says so on standard error."""
    from drills.diagrams.picture_pdf import pdf_bytes
    from drills.lines.line_pages import line_pages
    from drills.paper.page_style import PAPERS

    if not files.pdf:
        return
    path = expanded(files.pdf)
    pages = line_pages(lines, PAPERS[files.paper], title=title, idea=idea, row=labels, staff=files.staff)
    write_whole(path, pdf_bytes(pages, title=title))
    echo(f"{path}: {title}, {len(pages)} page{'' if len(pages) == 1 else 's'}", err=True)


_TO_A_FILE = "No sound: nothing on this machine plays it; --wav FILE writes it to a file that others play."


def sound_out(
    score: Score, *, wav: Path | None = None, midi: Path | None = None, play: bool = False, volume: float = 1.0,
    as_music: bool = False,
) -> None:  # fmt: skip
    """Writes the score to the files asked for, and plays it to its end.

    volume: 0 to 1, of the ceiling that no sound of the tool passes. as_music: whether the file is as loud as other
    music, and may be FLAC or Ogg; below full volume it keeps the quiet ceiling too.
    """
    if wav is not None and as_music and volume == 1.0:
        from drills.sound.track_file import save_track

        save_track(score, wav)
        echo(f"{wav}: {score.title}, {score.length_s:.1f} s", err=True)
    elif wav is not None:
        from drills.sound.wav import save_wav

        save_wav(score, wav, volume=volume)
        echo(f"{wav}: {score.title}, {score.length_s:.1f} s", err=True)
    if midi is not None:
        from drills.sound.midi import save_midi

        save_midi(score, midi)
        echo(f"{midi}: {score.title}", err=True)
    if play:
        from drills.sound.playback import NO_SOUND, Playback

        with Playback(volume=volume) as sound:
            sound.play(score)
            sound.wait(score.length_s + 5)
            if notice := sound.take_notice():
                # Nothing else goes on here, and a file can be played elsewhere.
                echo(_TO_A_FILE if notice == NO_SOUND else notice, err=True)
