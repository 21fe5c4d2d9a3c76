"""`neckwork tune`: a page of changes, its keys and modes, and the whole neck for each chord."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from drills.cli.files import OUT_FILE
from drills.cli.output import echo, echo_json
from drills.cli.player_files import neck_options, player_of
from drills.cli.tune_options import PagePart, asked_changes, gathered, page_options, plain_option, say, write_text

if TYPE_CHECKING:
    from drills.cli.player_files import PlayerFiles

__all__ = ["command"]


@click.command("tune")
@click.argument("changes", required=False)
@click.option("--map", "whole_neck", is_flag=True, help="The whole neck: every chord tone of each chord.")
@click.option("--bar", type=click.IntRange(0, 9999), help="With --map: the chords of this bar only.")
@click.option("--labels", type=click.Choice(["degrees", "notes"]), help="With --map: what stands on the neck.")
@page_options
@plain_option
@neck_options
@click.option("--musicxml", type=OUT_FILE, help="Write the page as a MusicXML lead sheet, repeats written out.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
@gathered(part=PagePart)
def command(
    changes: str | None,
    whole_neck: bool,
    bar: int | None,
    labels: str | None,
    musicxml: str | None,
    part: PagePart,
    plain: bool,
    as_json: bool,
    **options: Any,
) -> None:
    """Read CHANGES: the bars, the key each chord is heard in, and the mode that follows.

    CHANGES: chords in quotes, the name of a page, a .changes file or a MusicXML lead sheet. Left out,
    the pages there are. Another mode is written after its chord, such as Cm7{Aeolian} or G7{V of C minor}.

    A page is plain text: bars between |, % for the bar before, |: :| with |1. and |2. endings, sections [A],
    key: and metre: at the head or in a section, N.C., slash chords, ; for a new line. Your own go into the
    decks folder that setup names. --map is the whole neck, every chord tone of a bar.

    \b
    Examples:
      neckwork tune
      neckwork tune blues-in-f --transpose Bb
      neckwork tune blues-in-f --map --bar 6
    """
    import shutil

    from drills.errors import NotPlayableError
    from drills.harmony import neck_map, page_text
    from drills.harmony.harmony import analyse

    player = player_of()
    width = shutil.get_terminal_size().columns
    if changes is None:
        if musicxml:
            raise click.UsageError("--musicxml writes one page; name it before the option")
        _list(player, as_json)
        return
    if (bar or labels) and not whole_neck:
        raise click.UsageError("--bar and --labels go with --map")
    page = asked_changes(player, changes, part)
    plain = plain or player.settings.reading.plain
    if musicxml:
        from drills.lines.lead_sheet_xml import changes_musicxml

        write_text(Path(musicxml).expanduser(), changes_musicxml(page), f"{page.title or 'Changes'}, a lead sheet")
        return
    if whole_neck:
        found = neck_map.neck_maps(page, player.neck(**options))
        found = found if bar is None else tuple(each for each in found if bar in each.bars)
        if not found:
            raise NotPlayableError(f"bar {bar}: no chord there; the changes have {_bars(len(page.bars))}")
        kind = "notes" if (labels or player.settings.reading.labels) == "notes" else "degrees"
        if as_json:
            echo_json([neck_map.map_json(each) for each in found])
            return
        for number, each in enumerate(found):
            lines = neck_map.map_speech(each) if plain else neck_map.map_lines(each, labels=kind, width=width)
            say(player, ["", *lines] if number else lines)
        return
    functions = analyse(page)
    if as_json:
        echo_json(page_text.page_json(page, functions))
    elif plain:
        say(player, page_text.page_speech(page, functions))
    else:
        say(player, [*page_text.chart_lines(page, width), "", *page_text.mode_lines(page, functions, width)])


def _list(player: PlayerFiles, as_json: bool) -> None:
    """The pages that ship and the player's own."""
    from drills.changes.changes_reading import read_changes
    from drills.changes.changes_source import known_pages
    from drills.errors import ChangesError

    pages: list[tuple[str, str, int]] = []
    for name, path in known_pages(player.page_folders).items():
        try:
            page = read_changes(path, player.table)
            pages.append((name, page.title, len(page.bars)))
        except ChangesError as error:
            echo(str(error), err=True)
    if as_json:
        rows = [{"name": name, "title": title, "bars": bars} for name, title, bars in pages]
        echo_json(rows)
        return
    longest = max((len(name) for name, _, _ in pages), default=0)
    say(player, [f"{name.ljust(longest)}  {title}, {_bars(bars)}" for name, title, bars in pages])


def _bars(count: int) -> str:
    return f"{count} bar{'s' * (count != 1)}"
