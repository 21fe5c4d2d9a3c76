"""`neckwork choruses`: two demonstration choruses over the same changes."""

from __future__ import annotations

from typing import Any

import click

from drills.cli.line_output import density_option, frets_option, line_options, show_lines, why_option
from drills.cli.player_files import neck_options, player_of
from drills.cli.tune_options import asked_changes, feel_options, file_options, page_options, plain_option

__all__ = ["command"]


@click.command("choruses")
@click.argument("changes")
@density_option
@frets_option
@click.option("--seed", type=int, default=0, show_default=True, help="Another number, other lines.")
@why_option
@page_options
@plain_option
@feel_options
@line_options
@file_options
@neck_options
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
def command(
    changes: str,
    density: str,
    frets: tuple[int, int] | None,
    seed: int,
    why: bool,
    transpose: str | None,
    bars: tuple[int, int] | None,
    plain: bool,
    tempo: int | None,
    swing: bool | None,
    labels: str,
    play: bool,
    musicxml: str | None,
    pdf: str | None,
    paper: str,
    midi: str | None,
    wav: str | None,
    alone: bool,
    as_json: bool,
    **options: Any,
) -> None:
    """Show what the changes sound like as a line: one chorus of chord tones only, then one with the mode.

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
    page = asked_changes(player, changes, transpose=transpose, bars=bars, tempo=tempo, swing=swing)
    neck = player.neck(**options)
    finder = player.finder(neck)
    given = stage_material(page, finder, start=comfortable_start(page, neck))
    asked = EtudeOptions(density=density, frets=frets, seed=seed)
    made = near_the_path(lambda near: demonstration(page, neck, near), given, asked)
    files = {"musicxml": musicxml, "pdf": pdf, "midi": midi, "wav": wav}
    show_lines(
        player, [etude.line for etude in made], finder, files, plain=plain, labels=labels, paper=paper,
        play=play, alone=alone, why=why, as_json=as_json,
    )  # fmt: skip
