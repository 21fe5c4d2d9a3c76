"""`neckwork choruses`: two demonstration choruses over the same changes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from drills.cli.line_output import LineView, density_option, frets_option, line_options, show_lines, strings_option
from drills.cli.player_files import neck_options, player_of
from drills.cli.tune_options import LineFiles, PagePart, TempoAndFeel, asked_changes, gathered

if TYPE_CHECKING:
    from drills.neck.strings import StringSet

__all__ = ["command"]


@click.command("choruses")
@click.argument("changes")
@density_option
@frets_option
@strings_option
@click.option("--seed", type=int, default=0, show_default=True, help="Another number, other lines.")
@line_options
@neck_options
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
@gathered(part=PagePart, feel=TempoAndFeel, view=LineView, files=LineFiles)
def command(
    changes: str,
    density: str,
    frets: tuple[int, int] | None,
    on: StringSet | None,
    seed: int,
    part: PagePart,
    feel: TempoAndFeel,
    view: LineView,
    files: LineFiles,
    **options: Any,
) -> None:
    """Show what the changes sound like as a line: one chorus of chord tones only, then one with the mode.

    --play, --midi and --wav give them as one performance, the second after the first, over the band; with --alone
    each by itself.

    \b
    Examples:
      neckwork choruses blues-in-f --frets 5-10 --wav choruses.wav
      neckwork choruses blues-in-f --musicxml choruses.musicxml
    """
    from drills.lines.etude_line import demonstration
    from drills.lines.etude_options import EtudeOptions
    from drills.tunes.stages.etude_stages import near_the_path
    from drills.tunes.stages.stage_material import comfortable_start, stage_material

    player = player_of()
    page = asked_changes(player, changes, part, feel)
    neck = player.neck(**options)
    finder = player.finder(neck)
    given = stage_material(page, finder, start=comfortable_start(page, neck, on.numbers[:1] if on else None), on=on)
    asked = EtudeOptions(density=density, frets=frets, seed=seed, strings=on.numbers if on else None)
    made = near_the_path(lambda near: demonstration(page, neck, near), given, asked)
    show_lines(player, [etude.line for etude in made], finder, files, view, in_turn=True)
