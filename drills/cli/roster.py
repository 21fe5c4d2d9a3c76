"""`neckwork roster`: the students' exported files in, one sheet out."""

from __future__ import annotations

import click

from drills.cli.player import player_of

__all__ = ["command"]


@click.command("roster")
@click.argument("folder")
@click.option("--student", "name", metavar="NAME", help="The one-page view of one student, by the file's name.")
@click.option("--deck", metavar="DECK", help="The deck the students were given: what was never met is named.")
@click.option("--format", "kind", type=click.Choice(["text", "md", "html"]), default="text", show_default=True)
@click.option("--output", "-o", metavar="FILE", help="Where to write; standard output when left out.")
@click.option("--on", "day", metavar="DATE", type=click.DateTime(["%Y-%m-%d"]), help="The sheet of another day.")
def command(folder: str, name: str | None, deck: str | None, kind: str, output: str | None, day) -> None:
    """Read the files your students sent from FOLDER: who needs what, on one sheet.

    A student makes a file with `neckwork export -o NAME.json`. Files that cannot be read are named
    and passed over.

    Example: neckwork roster lessons/ --format html -o roster.html
    """
    import shutil
    from datetime import datetime

    from drills.roster.folder import read_folder
    from drills.roster.page_of_one import student_sections
    from drills.roster.sheet import find_student, make_sheet
    from drills.roster.writing import page_text, sheet_text
    from scheduler.calendar import practice_day

    player = player_of()
    hour = player.settings.practice.day_starts_at
    today = day.date() if day else practice_day(datetime.now().astimezone(), hour)
    released = _places(player, deck, today) if deck else ()
    sheet = make_sheet(read_folder(folder), today, hour, released)
    width = shutil.get_terminal_size((100, 24)).columns
    if name is None:
        text = sheet_text(sheet, kind, width)
    else:
        one = find_student(sheet, name)
        text = page_text(one.name, today, student_sections(one, today), kind, width)
    if output is None or output == "-":
        click.echo(text, nl=False)
        return
    with open(output, "w", encoding="utf-8", newline="\n") as out:
        out.write(text)
    done = f"students: {len(sheet.students)}; files passed over: {len(sheet.passed)}; written to {output}"
    click.echo(done, err=True)


def _places(player, deck: str, today) -> list[tuple[str, str]]:
    """String sets and qualities of the deck that are released by a day, in its order."""
    from drills.cards.material import gather

    cards = gather(
        player.deck(deck), player.neck(), table=player.table, today=today, walker=player.walker
    ).cards.values()
    return list(dict.fromkeys((card.set_name, card.quality) for card in cards if card.is_shape))
