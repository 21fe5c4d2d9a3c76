"""`neckwork path`: the roots through the changes, by the nearest root or planned."""

from __future__ import annotations

import click

from drills.cli.player import neck_options, player_of

__all__ = ["command"]


@click.command("path")
@click.argument("changes")
@click.option(
    "--from", "start", type=click.IntRange(1, 12), help="String of the first root; three passes when left out."
)
@click.option("--planned", is_flag=True, help="Least movement over the whole, instead of step by step.")
@click.option("--measure", type=click.Choice(["frets", "position", "mm"]), default="frets", show_default=True,
              help="What a plan keeps small: frets, hand position or millimetres.")  # fmt: skip
@click.option("--loop", is_flag=True, help="Count the way back to the first chord, for a chorus that repeats.")
@click.option("--transpose", metavar="KEY", help="Play the changes in another key.")
@click.option("--plain", is_flag=True, help="Say it in lines for a screen reader.")
@neck_options
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
def command(
    changes: str, start: int | None, planned: bool, measure: str, loop: bool, transpose: str | None, plain: bool,
    as_json: bool, **options,
) -> None:  # fmt: skip
    """Walk the roots of CHANGES: chords in quotes, the name of a shipped page, or a file.

    Example: neckwork path "Cm7 F7 Bbmaj7" --from 6
    """
    import shutil

    from drills.tunes import path_text
    from drills.tunes.path import PLANNED, STEP_BY_STEP, step_path
    from drills.tunes.plan import passes, planned_path
    from drills.tunes.source import changes_from
    from drills.tunes.transpose import transposed_to

    if measure != "frets" and not planned:
        raise click.UsageError("--measure goes with --planned: step by step always counts frets")
    player = player_of()
    page = changes_from(changes, player.table, (player.home.decks,))
    if transpose:
        page = transposed_to(page, transpose)
    for remark in page.remarks:
        click.echo(remark, err=True)
    neck = player.neck(**options)
    width = shutil.get_terminal_size().columns
    if start is None:
        walked = passes(page, neck, method=PLANNED if planned else STEP_BY_STEP, loop=loop)
        if as_json:
            import json

            click.echo(json.dumps(path_text.passes_json(walked), ensure_ascii=False))
        else:
            click.echo("\n".join(path_text.passes_lines(walked, width)))
        return
    if planned:
        path = planned_path(page, neck, start=start, loop=loop, measure=measure)
    else:
        path = step_path(page, neck, start=start, loop=loop)
    if as_json:
        import json

        click.echo(json.dumps(path_text.path_json(path), ensure_ascii=False))
    elif plain or player.settings.reading.plain:
        click.echo("\n".join(path_text.path_speech(path)))
    else:
        click.echo("\n".join(path_text.path_lines(path, width)))
