"""`neckwork path`: the roots through the changes, by the nearest root or planned."""

from __future__ import annotations

import click

from drills.cli.player_files import neck_options, player_of
from drills.cli.tune_options import FRETS, START, STRINGS, asked_changes, page_options, plain_option, say

__all__ = ["command"]


@click.command("path")
@click.argument("changes")
@click.option("--from", "start", type=START,
              help="Where the first root lies: a string, or a place such as 6/8; left out, three passes.")  # fmt: skip
@click.option("--planned", is_flag=True, help="Least movement over the whole, instead of step by step.")
@click.option("--measure", type=click.Choice(["frets", "position", "mm"]), default="frets", show_default=True,
              help="What a plan keeps small: frets, hand position or millimetres.")  # fmt: skip
@click.option("--loop", is_flag=True, help="Count the way back to the first chord, for a chorus that repeats.")
@click.option("--strings", type=STRINGS, help="Strings that may carry roots, such as 65.  [654]")
@click.option("--frets", type=FRETS, help="Lowest and highest fret for roots.  [1-12]")
@page_options
@plain_option
@neck_options
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
def command(
    changes: str, start, planned: bool, measure: str, loop: bool, strings, frets, transpose: str | None, bars,
    plain: bool, as_json: bool, **options,
) -> None:  # fmt: skip
    """Walk the roots of CHANGES: chords in quotes, the name of a page, or a file.

    Step by step, or --planned for the least movement in all, from strings 6, 5 and 4 in turn. It always says
    which.

    \b
    Examples:
      neckwork path "Cm7 F7 Bbmaj7" --from 6
      neckwork path blues-in-f --planned --loop
    """
    import json
    import shutil
    from dataclasses import replace

    from drills.harmony import path_text
    from drills.harmony.planned_path import passes, planned_path
    from drills.harmony.root_path import PLANNED, STEP_BY_STEP, step_path

    if measure != "frets" and not planned:
        raise click.UsageError("--measure goes with --planned: step by step always counts frets")
    player = player_of()
    page = asked_changes(player, changes, transpose=transpose, bars=bars)
    neck = player.neck(**options)
    if frets is not None:
        neck = replace(neck, root_frets=(max(1, frets[0]), frets[1]), open_roots=neck.open_roots or not frets[0])
    if start is None:
        method = PLANNED if planned else STEP_BY_STEP
        found = passes(page, neck, method=method, strings=strings, measure=measure, loop=loop)
        forms = path_text.passes_json, path_text.passes_speech, path_text.passes_lines
    elif planned:
        found = planned_path(page, neck, start=start, strings=strings, loop=loop, measure=measure)
        forms = path_text.path_json, path_text.path_speech, path_text.path_lines
    else:
        found = step_path(page, neck, start=start, strings=strings, loop=loop)
        forms = path_text.path_json, path_text.path_speech, path_text.path_lines
    as_data, as_speech, as_lines = forms
    if as_json:
        click.echo(json.dumps(as_data(found), ensure_ascii=False))
    elif plain or player.settings.reading.plain:
        say(player, as_speech(found))
    else:
        say(player, as_lines(found, shutil.get_terminal_size().columns))
