"""Gives lines over changes on screen, in spoken words, as data, in files or as sound; and their options."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import click

from drills.cli.output import echo_json
from drills.cli.player_files import PlayerFiles
from drills.cli.tune_options import (
    FRETS,
    STRING_SET,
    Command,
    LineFiles,
    feel_options,
    file_options,
    numbered,
    page_options,
    plain_option,
    say,
    sound_out,
    write_pages,
    write_text,
)
from drills.configuration.diagram_style import FINGERS_FIRST
from drills.configuration.home import expanded

if TYPE_CHECKING:
    from drills.lines.line import Line
    from drills.shapes.finder import ShapeFinder
    from drills.sound.score import Score

__all__ = [
    "LineView",
    "density_option",
    "frets_option",
    "line_options",
    "show_lines",
    "sounding",
    "strings_option",
    "write_line",
]

density_option = click.option(
    "--density", type=click.Choice(["quarters", "eighths", "triplets", "space", "phrases"]), default="phrases",
    show_default=True, help="Notes to a beat; space leaves rests, phrases breathe and mix rhythms.",
)  # fmt: skip
"""How many notes a line that is made has."""

frets_option = click.option(
    "--frets", type=FRETS, help="Lowest and highest fret, such as 5-10; left out, around the path."
)
"""Where on the neck a line is made."""


strings_option = click.option(
    "--strings", "on", type=STRING_SET, help="One string set for everything, such as 654; left out, all strings."
)
"""On which strings lines, roots and shapes lie."""


def line_options(command: Command) -> Command:
    """What of the changes is read, and how the lines over them are shown, played and written."""
    for option in reversed((
        click.option("--why", is_flag=True, help="Say why each note is there."),
        page_options,
        plain_option,
        feel_options,
        click.option("--labels", type=click.Choice(FINGERS_FIRST), default="fingers",
                     show_default=True, help="What stands under the counts."),
        click.option("--play", is_flag=True, help="Play it: count-in, band and line. Ctrl-C stops."),
        file_options,
    )):  # fmt: skip
        command = option(command)
    return command


@dataclass(frozen=True, slots=True)
class LineView:
    """How lines are shown.

    plain: as spoken lines. labels: what stands under the counts. play: whether they sound. why: whether each note
    says why it is there. as_json: as one JSON document.
    """

    plain: bool
    labels: str
    play: bool
    why: bool
    as_json: bool


def sounding(line: Line, finder: ShapeFinder, alone: bool) -> Score:
    """The line as a score: by itself, or over the band."""
    from drills.band.over_band import over_band
    from drills.lines.backing import line_score

    return line_score(line) if alone else over_band([line], finder)


def write_line(
    line: Line,
    finder: ShapeFinder,
    files: LineFiles,
    number: int = 1,
    count: int = 1,
) -> None:
    """Writes a line to each of the files asked for but the PDF, numbered when it is one of several."""
    asked = {"musicxml": files.musicxml, "midi": files.midi, "wav": files.wav}
    names = {kind: numbered(name, number, count) for kind, name in asked.items() if name}
    if "musicxml" in names:
        from drills.lines.score_xml import line_musicxml

        write_text(names["musicxml"], line_musicxml(line), line.title)
    if "midi" in names or "wav" in names:
        sound_out(sounding(line, finder, files.alone), wav=names.get("wav"), midi=names.get("midi"))


def show_lines(
    player: PlayerFiles, lines: list[Line], finder: ShapeFinder, files: LineFiles, view: LineView, *,
    in_turn: bool = False,
) -> None:  # fmt: skip
    """Gives the lines in the way asked for; files first, else data, speech or tablature, and then sound.

    in_turn: whether they sound as choruses of one performance, in one file too.
    """
    import shutil

    from drills.lines.etude_text import broken_rules, etude_json, why_lines
    from drills.lines.line_stretch import with_stretch
    from drills.lines.line_text import line_speech, tab_lines

    lines = [with_stretch(line, finder.neck) for line in lines]
    if files:
        write_pages(files, lines, title=lines[0].changes.title or "Etude line", labels=view.labels)
        one = in_turn and not files.alone
        each = replace(files, midi=None, wav=None) if one else files
        for number, line in enumerate(lines, 1):
            write_line(line, finder, each, number, len(lines))
        if one and (files.midi or files.wav):
            from drills.band.over_band import over_band

            wav, midi = (expanded(name) if name else None for name in (files.wav, files.midi))
            sound_out(over_band(lines, finder), wav=wav, midi=midi)
        return
    width = shutil.get_terminal_size().columns
    if view.as_json:
        found = [etude_json(line) for line in lines]
        echo_json(found[0] if len(found) == 1 else found)
        return
    spoken = view.plain or player.settings.reading.plain
    for number, line in enumerate(lines):
        shown = line_speech(line) if spoken else tab_lines(line, width=width, row=view.labels)
        about = [*(why_lines(line, width) if view.why else []), *broken_rules(line, width)]
        say(player, [*([""] if number else []), *shown, "", *about])
    if view.play:
        if in_turn and not files.alone:
            from drills.band.over_band import over_band

            sound_out(over_band(lines, finder), play=True)
            return
        for line in lines:
            sound_out(sounding(line, finder, files.alone), play=True)
