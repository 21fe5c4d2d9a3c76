"""Prints shapes on standard output as the player reads them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drills.cli.output import echo
from drills.cli.player_files import PlayerFiles
from drills.diagrams.answer import answer_lines
from drills.shapes.shape import Shape

if TYPE_CHECKING:
    from drills.shapes.finder import ShapeFinder

__all__ = ["draw_shapes", "say_phrases"]


def draw_shapes(
    player: PlayerFiles,
    shapes: list[Shape],
    strings: int,
    *,
    plain: bool,
    labels: str | None,
    box: bool | None,
    left_handed: bool | None,
    plain_characters: bool | None,
) -> None:
    """Draws each shape, or says it in lines; None takes the player's setting.

    strings: how many the neck has that the shapes were found on.
    """
    import shutil
    import sys

    from drills.configuration.diagram_style import DiagramStyle, draws_lines

    # A player without a settings file has the defaults, and need not wait for the file to be looked for again.
    reading = player.settings.reading if player.home.settings.exists() else DiagramStyle()
    for number, shape in enumerate(shapes):
        if number:
            echo()
        lines = answer_lines(
            shape,
            strings,
            width=shutil.get_terminal_size().columns,
            labels=labels or reading.labels,
            box=(reading.orientation == "box") if box is None else box,
            left_handed=reading.left_handed if left_handed is None else left_handed,
            ascii_only=(reading.ascii or not draws_lines(sys.stdout)) if plain_characters is None else plain_characters,
            plain=plain or reading.plain,
        )
        for line in lines:
            echo(line)


def say_phrases(player: PlayerFiles, finder: ShapeFinder, shapes: list[Shape], *, plain: bool) -> None:
    """A short line at each shape's place, as tablature or in words; where there is none, that is said."""
    import shutil

    from drills.cli.tune_options import say
    from drills.lines.line_text import line_speech, tab_lines
    from drills.lines.phrase_in_place import phrase_in_place

    width = shutil.get_terminal_size().columns
    spoken = plain or player.settings.reading.plain
    for shape in shapes:
        line = phrase_in_place(finder, shape)
        if line is None:
            say(player, ["", f"{shape.name} on {shape.strings}: no short line fits at this place"])
            continue
        say(player, ["", *(line_speech(line) if spoken else tab_lines(line, width=width))])
