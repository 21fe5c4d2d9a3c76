"""Writes shapes to files in open formats: SVG, PDF, MusicXML and MIDI."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from drills.cli.output import echo
from drills.cli.player_files import PlayerFiles
from drills.configuration.home import expanded
from drills.shapes.finder import ShapeFinder
from drills.shapes.shape import Shape
from scheduler.atomic_write import write_whole

if TYPE_CHECKING:
    from drills.sound.score import Tone

__all__ = ["write_shapes"]


def write_shapes(
    player: PlayerFiles, finder: ShapeFinder, shapes: list[Shape], files: dict[str, str | None], drawing: dict[str, Any]
) -> None:
    """Writes each format asked for.

    files: name by ``svg``, ``pdf``, ``musicxml`` and ``midi``, None for those not wanted;
    several SVG drawings are numbered. drawing: options of the drawing, None as the player has set.
    """
    from drills.diagrams.grid_picture import shape_picture

    reading = player.settings.reading
    box, left_handed = drawing["box"], drawing["left_handed"]
    pictures = [
        shape_picture(
            shape,
            finder.tuning.strings,
            drawing["labels"] or reading.labels,
            "box" if box or (box is None and reading.orientation == "box") else "neck",
            reading.left_handed if left_handed is None else left_handed,
        )
        for shape in shapes
    ]
    title = shapes[0].name
    paths = {kind: expanded(name) for kind, name in files.items() if name}
    if path := paths.get("svg"):
        from drills.diagrams.picture_svg import svg_text

        for number, picture in enumerate(pictures, 1):
            each = path if len(pictures) == 1 else path.with_name(f"{path.stem}-{number}{path.suffix}")
            write_whole(each, svg_text(picture, fonts=True))
    if path := paths.get("pdf"):
        from drills.diagrams.picture_pdf import pdf_bytes

        write_whole(path, pdf_bytes(pictures, title=title))
    if path := paths.get("musicxml"):
        from drills.diagrams.musicxml import musicxml_text

        write_whole(path, musicxml_text(shapes, finder.tuning, title=title, capo=finder.neck.capo))
    if path := paths.get("midi"):
        from drills.paper.pack import shape_score
        from drills.sound.midi import save_midi
        from drills.sound.score import Score, later

        tones: list[Tone] = []
        start = 0.0
        for shape in shapes:
            score = shape_score(shape)
            tones += later(score.tones, start)
            # The next begins on the next full bar of four seconds, at a quarter a second.
            start += -(-(score.length_s - 0.1) // 4) * 4
        save_midi(Score(tuple(tones), 60.0, title=title), path)
    for kind, path in paths.items():
        echo(f"{path}: {title} as {kind}", err=True)
