"""`neckwork path`: the roots through the changes, by the nearest root or planned."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from drills.cli.output import echo_json
from drills.cli.player_files import neck_options, player_of
from drills.cli.tune_options import (
    FRETS,
    ROOT_STRINGS,
    START,
    PagePart,
    asked_changes,
    gathered,
    page_options,
    plain_option,
    say,
)

if TYPE_CHECKING:
    from drills.shapes.root_places import RootPlace

__all__ = ["command"]


@click.command("path")
@click.argument("changes")
@click.option("--from", "start", type=START,
              help="Where the first root lies: a string, or a place such as 6/8; left out, three passes.")  # fmt: skip
@click.option("--planned", is_flag=True, help="Least movement over the whole, instead of step by step.")
@click.option("--measure", type=click.Choice(["frets", "position", "mm"]), default="frets", show_default=True,
              help="What a plan keeps small: frets, hand position or millimetres.")  # fmt: skip
@click.option("--loop", is_flag=True, help="Count the way back to the first chord, for a chorus that repeats.")
@click.option("--root-strings", type=ROOT_STRINGS, help="Strings that may carry roots, such as 65.  [654]")
@click.option("--strings", hidden=True)
@click.option("--frets", type=FRETS, help="Lowest and highest fret for roots.  [1-12]")
@page_options
@plain_option
@neck_options
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
@gathered(part=PagePart)
def command(
    changes: str,
    start: int | RootPlace | None,
    planned: bool,
    measure: str,
    loop: bool,
    root_strings: tuple[int, ...] | None,
    strings: str | None,
    frets: tuple[int, int] | None,
    part: PagePart,
    plain: bool,
    as_json: bool,
    **options: Any,
) -> None:
    """Walk the roots of CHANGES: chords in quotes, the name of a page, or a file.

    Step by step, or --planned for the least movement in all, from strings 6, 5 and 4 in turn. It always says
    which.

    \b
    Examples:
      neckwork path "Cm7 F7 Bbmaj7" --from 6
      neckwork path blues-in-f --planned --loop
    """
    import shutil
    from dataclasses import replace
    from functools import partial

    from drills.harmony import path_text
    from drills.harmony.planned_path import passes, planned_path
    from drills.harmony.root_path import PLANNED, STEP_BY_STEP, step_path

    if strings is not None:
        raise click.UsageError(
            "--strings is a string set, and a path has none: for the strings that may carry roots say --root-strings, "
            "such as --root-strings 65"
        )
    if measure != "frets" and not planned:
        raise click.UsageError("--measure goes with --planned: step by step always counts frets")
    player = player_of()
    page = asked_changes(player, changes, part)
    neck = player.neck(**options)
    if frets is not None:
        neck = replace(neck, root_frets=(max(1, frets[0]), frets[1]), open_roots=neck.open_roots or not frets[0])
    if start is None:
        method = PLANNED if planned else STEP_BY_STEP
        all_passes = passes(page, neck, method=method, strings=root_strings, measure=measure, loop=loop)
        as_data = partial(path_text.passes_json, all_passes)
        as_speech = partial(path_text.passes_speech, all_passes)
        as_lines = partial(path_text.passes_lines, all_passes)
    else:
        found = (
            planned_path(page, neck, start=start, strings=root_strings, loop=loop, measure=measure)
            if planned
            else step_path(page, neck, start=start, strings=root_strings, loop=loop)
        )
        as_data = partial(path_text.path_json, found)
        as_speech = partial(path_text.path_speech, found)
        as_lines = partial(path_text.path_lines, found)
    if as_json:
        echo_json(as_data())
    elif plain or player.settings.reading.plain:
        say(player, as_speech())
    else:
        say(player, as_lines(shutil.get_terminal_size().columns))
