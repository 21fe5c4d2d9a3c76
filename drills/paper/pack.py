"""A teaching pack: a handout, its blank, its text and the sound of its shapes in one archive."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence
from datetime import datetime

from drills.paper.handouts import handout_pdf, handout_text
from drills.paper.page_style import Footer, PageStyle
from drills.paper.sheet import Sheet
from drills.shapes.shape import Shape
from drills.sound.midi import midi_bytes
from drills.sound.patterns import line, strum, up_down
from drills.sound.score import Score
from drills.sound.tempo import beat_s
from drills.sound.wav import wav_bytes

__all__ = ["pack_bytes", "shape_score"]


def shape_score(shape: Shape, tempo_bpm: float = 60.0) -> Score:
    """A shape as it is practised: a grip strummed for a bar, a line in quarters up and back down.

    Raises SoundError for a tempo out of bounds.
    """
    quarter = beat_s(tempo_bpm)
    title = f"{shape.name} {shape.strings}"
    if shape.form.kind == "grip":
        return Score(strum(shape, 0.0, 4 * quarter), tempo_bpm, title=title)
    return Score(
        line(up_down(shape) if shape.form.returns else shape, 0.0, quarter, last_s=2 * quarter), tempo_bpm, title=title
    )


def pack_bytes(
    sheets: Sequence[Sheet],
    style: PageStyle,
    footer: Footer,
    at: datetime,
    *,
    tempo_bpm: float = 80.0,
    wav: bool = True,
) -> bytes:
    """A ZIP archive: ``handout.pdf``, ``blank.pdf``, ``handout.txt`` and ``sounds/`` with a file for each shape.

    at: the date of every entry, so that the same pack gives the same bytes. wav: whether
    recordings go in beside the MIDI files.
    """
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:

        def put(name: str, content: bytes) -> None:
            # The format counts years from 1980.
            entry = zipfile.ZipInfo(name, (max(at.year, 1980), at.month, at.day, at.hour, at.minute, at.second))
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, content)

        put("handout.pdf", handout_pdf(sheets, style, footer, "key", at))
        put("blank.pdf", handout_pdf(sheets, style, footer, "blank", at))
        put("handout.txt", handout_text(sheets, style, footer).encode("utf-8"))
        shapes = [panel.shape for sheet in sheets for panel in sheet.drawn if panel.shape is not None]
        for number, shape in enumerate(dict.fromkeys(shapes), 1):
            score = shape_score(shape, tempo_bpm)
            name = f"sounds/{number:03d} {_file_name(shape)}"
            put(f"{name}.mid", midi_bytes(score))
            if wav:
                put(f"{name}.wav", wav_bytes(score))
    return held.getvalue()


def _file_name(shape: Shape) -> str:
    name = f"{shape.name} {shape.strings}" + (" grip" if shape.form.kind == "grip" else "")
    return "".join(character if character.isalnum() or character in " -#()+" else "_" for character in name)
