"""`neckwork shape`: one chord's shapes, on screen or as JSON."""

from __future__ import annotations

from typing import Any

import click

from drills.cli.files import OUT_FILE
from drills.cli.output import echo, echo_json
from drills.cli.player_files import neck_options, player_of
from drills.configuration.diagram_style import LABELS
from drills.errors import NotPlayableError

__all__ = ["command"]


@click.command("shape")
@click.argument("name")
@click.option("--strings", metavar="SETS", help="String sets, e.g. 654 or 654,543; the three usual ones when left out.")
@click.option(
    "--form",
    default="arpeggio",
    metavar="FORM",
    help="arpeggio, grip, scale, or one such as arpeggio-from3 or enclosures.",
)
@click.option("--labels", type=click.Choice(LABELS), help="What stands in the dots.")
@click.option("--box", is_flag=True, default=None, help="Draw the upright chord box instead of the sideways neck.")
@click.option("--left-handed", is_flag=True, default=None, help="Mirror the drawing.")
@click.option("--plain", is_flag=True, help="Say it in lines for a screen reader.")
@click.option("--ascii", "plain_characters", is_flag=True, default=None, help="Draw with plain characters only.")
@click.option("--phrase", is_flag=True, help="A short line in the same place too, over an arpeggio.")
@click.option("--svg", type=OUT_FILE, help="Write the drawings as SVG, a file each.")
@click.option("--pdf", type=OUT_FILE, help="Write the drawings as PDF, a page each.")
@click.option("--musicxml", type=OUT_FILE, help="Write staff and tablature as MusicXML.")
@click.option("--midi", type=OUT_FILE, help="Write the notes as a Standard MIDI File.")
@neck_options
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
def command(
    name: str, strings: str | None, form: str, as_json: bool, plain: bool, phrase: bool, **options: Any
) -> int | None:
    """Show the shape of NAME: a chord (Cmaj7), a mode (C Dorian) or a degree (ii of Bb).

    String 1 is on top, fret numbers above, the root in brackets. Chords are read as musicians write them: Cmaj7
    CM7 CΔ C-7 Cø C°7 C-Δ C+7 c#-7 C7/E. C13 and G7alt are answered with the seventh chord inside, and what is
    left out is said.

    \b
    Examples:
      neckwork shape F#m7 --strings 543
      neckwork shape "ii of Bb" --form grip
      neckwork shape "C Dorian" --strings 654 --labels notes
      neckwork shape Cmaj7 --strings 654 --box --left-handed --labels fingers
      neckwork shape Cmaj7 --plain
      neckwork shape Cmaj7 --strings 654 --phrase
      neckwork shape Cmaj7 --strings 654 --pdf cmaj7.pdf --svg cmaj7.svg --musicxml cmaj7.musicxml --midi cmaj7.mid
    """
    from drills.shapes.answers import shapes_named
    from drills.shapes.form import ARPEGGIO

    files = {kind: options.pop(kind) for kind in ("svg", "pdf", "musicxml", "midi")}
    drawing = {field: options.pop(field) for field in ("labels", "box", "left_handed", "plain_characters")}
    player = player_of()
    finder = player.finder(player.neck(**options))
    found, reasons = shapes_named(finder, name, form, strings, player.table)
    if phrase and any(shape.form != ARPEGGIO for shape in found):
        raise click.UsageError("--phrase goes with arpeggios from their root: leave --form out")
    if found and any(files.values()):
        from drills.cli.shape_files import write_shapes

        write_shapes(player, finder, found, files, drawing)
    elif as_json:
        from drills.shapes.answers import alternates_of, shape_json

        answer = [shape_json(shape, alternates_of(finder, shape)) for shape in found]
        if phrase:
            from drills.lines.line_text import line_json
            from drills.lines.phrase_in_place import phrase_in_place

            lines = [phrase_in_place(finder, shape) for shape in found]
            answer = [each | {"phrase": line and line_json(line)} for each, line in zip(answer, lines, strict=True)]
        echo_json(answer)
    elif found:
        from drills.cli.shape_output import draw_shapes

        draw_shapes(player, found, finder.tuning.strings, plain=plain, **drawing)
        if phrase:
            from drills.cli.shape_output import say_phrases

            say_phrases(player, finder, found, plain=plain)
    for reason in reasons:
        echo(f"left out: {reason}", err=True)
    if not found:
        raise NotPlayableError(f"{name[:40]}: nothing fits this neck; try other strings or another form")
    return None
