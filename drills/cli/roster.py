"""`neckwork roster`: the students' exported files in, one sheet out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from drills.cli.files import OUT_FILE
from drills.cli.output import echo
from drills.cli.player_files import PlayerFiles, kept_fingers, player_of
from drills.configuration.home import expanded
from drills.safe_text import one_line
from scheduler.atomic_write import write_whole

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime

    from drills.cards.deck import Deck
    from drills.diagrams.picture import Picture
    from drills.neck.tuning import Tuning
    from drills.roster.folder import StudentLog
    from drills.roster.lesson_book import LessonBook
    from drills.roster.roster_sheet import RosterSheet
    from drills.roster.student import Student
    from drills.shapes.finder import ShapeFinder

__all__ = ["command", "gap_handout"]

_DAY = click.DateTime(["%Y-%m-%d"])


@click.command("roster")
@click.argument("folder")
@click.option("--student", "name", metavar="NAME", help="The one-page view of one student, by the file's name.")
@click.option("--handout", type=OUT_FILE, help="With --student: the page for exactly that gap, as .pdf, .svg or .txt.")
@click.option("--term", is_flag=True, help="With --student: a report in plain language, for a parent or a file.")
@click.option("--since", metavar="DATE", type=_DAY, help="With --term: its first day; twelve weeks when left out.")
@click.option("--prepare", metavar="OUT", help="A folder for each student: page, handout, deck and phone page.")
@click.option("--answered", is_flag=True, help="With --student: their questions are answered; kept in your own book.")
@click.option("--words", metavar="TEXT", multiple=True, help="With --term: your own words, which end it; repeatable.")
@click.option("--groups", is_flag=True, help="Also name the students who share a cause.")
@click.option("--deck", metavar="DECK", help="The deck they were given: what was never met is named. Or a group's.")
@click.option("--format", "kind", type=click.Choice(["text", "md", "html", "pdf"]), help="text when left out.")
@click.option("--paper", type=click.Choice(["A4", "Letter"]), default="A4", show_default=True)
@click.option("--teacher", metavar="NAME", default="", help="Stands in the footer of a handout.")
@click.option("--left-handed", is_flag=True, default=None, help="Mirror the diagrams of a handout.")
@click.option("--output", "-o", type=OUT_FILE, help="Where to write; standard output when left out.")
@click.option("--on", "day", metavar="DATE", type=_DAY, help="The sheet of another day.")
def command(
    folder: str, name: str | None, deck: str | None, output: str | None, day: datetime | None, **options: Any
) -> None:
    """Read the files your students sent from FOLDER: who needs what, on one sheet.

    A student makes a file with `neckwork export -o NAME.json`. Files that cannot be read are named
    and passed over.

    --student "Student 3" is the page for one lesson, --handout gap.pdf prints that student's gap, --term tells
    a term in plain language, --answered marks their questions as answered, --groups says who shares a cause.

    A --deck with students makes it that group's sheet: each is judged by their own week, whoever sent nothing is named,
    and --prepare puts the deck, and a phone page of it, into each one's folder.

    \b
    Examples:
      neckwork roster lessons --groups
      neckwork roster lessons --format html -o roster.html
      neckwork roster lessons --student "Student 1"
      neckwork roster lessons --prepare monday
    """
    from dataclasses import replace
    from datetime import datetime

    from drills.roster.class_deck import only_the_group
    from drills.roster.folder import read_folder
    from drills.roster.groups import cause_in_common
    from drills.roster.lesson_book import read_book
    from drills.roster.roster_sheet import find_student, make_sheet
    from scheduler.days.practice_day import practice_day

    _refuse_misfits(name, output, options)
    player = player_of()
    # Only which day it is goes by the teacher's clock; a student's days are the student's own.
    today = day.date() if day else practice_day(datetime.now().astimezone(), player.settings.practice.day_starts_at)
    read, book = read_folder(folder, today), read_book(player.home.lessons)
    given = player.deck(deck) if deck else None
    silent: tuple[str, ...] = ()
    elsewhere = 0
    if given and given.students:
        read, silent, elsewhere = only_the_group(read, given)
    released = {name: _places(player, given, name, log, today) for name, log in read.logs.items()} if given else None
    sheet = replace(make_sheet(read, today, released, book.answered(today)), silent=silent, elsewhere=elsewhere)
    if options["groups"]:
        sheet = replace(sheet, groups=tuple(cause_in_common(sheet.students)))
    if options["prepare"]:
        from drills.cli.evening import prepare

        prepare(player, read, sheet, book, given if given and given.students else None, options)
        return
    if name is None:
        _write_sheet(sheet, output, options)
        return
    one = find_student(sheet, name)
    if options["answered"]:
        _answer(player, one, book, today)
        return
    log = read.logs[one.name]
    if options["handout"]:
        gap_handout(player, one, log, today, options, options["handout"])
        if output is None and not options["term"]:
            return
    _write_page(one, log, today, output, options, book)


def _answer(player: PlayerFiles, one: Student, book: LessonBook, today: date) -> None:
    """Writes into the teacher's book that a student's questions are answered; the student's log is never touched."""
    from drills.roster.lesson_book import BookEntry, LessonBook, write_book

    if not one.questions:
        echo(f"{one.name}: no question is open", err=True)
        return
    player.home.make()
    entry = BookEntry(one.name, today, "answered", ids=tuple(asked.id for asked in one.questions))
    write_book(player.home.lessons, LessonBook((*book.entries, entry)))
    for asked in one.questions:
        echo(f"answered: {asked.card}: {asked.text}" if asked.text else f"answered: {asked.card}")


def _refuse_misfits(name: str | None, output: str | None, options: dict[str, Any]) -> None:
    if name is None:
        for option in ("handout", "term", "answered"):
            if options[option]:
                raise click.UsageError(f"--{option} is about one student: add --student NAME")
    if options["since"] and not options["term"]:
        raise click.UsageError("--since is the first day of a term report: add --term")
    if options["words"] and not options["term"]:
        raise click.UsageError("--words end a term report: add --term")
    if options["kind"] is None:
        options["kind"] = "pdf" if (output or "").lower().endswith(".pdf") else "text"
    if options["kind"] == "pdf" and output in (None, "-"):
        raise click.UsageError("--format pdf goes to a file: add -o FILE.pdf")


def _write_sheet(sheet: RosterSheet, output: str | None, options: dict[str, Any]) -> None:
    if options["kind"] == "pdf":
        from drills.roster.roster_pages import sheet_pictures

        _write_pdf(sheet_pictures(sheet, options["paper"]), output)
    else:
        from drills.roster.page_of_one import student_sections
        from drills.roster.roster_files import sheet_text

        pages = {one.name: student_sections(one, sheet.today) for one in sheet.students}
        _write_text(sheet_text(sheet, options["kind"], _columns(), pages=pages), output)
    if output not in (None, "-"):
        done = f"students: {len(sheet.students)}; files passed over: {len(sheet.passed)}; written to {output}"
        echo(done, err=True)


def _write_page(
    one: Student, log: StudentLog, today: date, output: str | None, options: dict[str, Any], book: LessonBook
) -> None:
    from datetime import timedelta

    if options["term"]:
        from drills.roster.term import TERM_WEEKS, term_sections

        since = options["since"].date() if options["since"] else today - timedelta(weeks=TERM_WEEKS) + timedelta(days=1)
        if since > today:
            raise click.UsageError(f"--since {since}: expected a day no later than {today}")
        sections = term_sections(log, since, today, [one_line(text) for text in options["words"] if one_line(text)])
    else:
        from drills.roster.page_of_one import student_sections

        sections = [*student_sections(one, today), *book.for_student(one.name, today)]
    if options["kind"] == "pdf":
        from drills.roster.roster_pages import page_pictures

        _write_pdf(page_pictures(one.name, today, sections, options["paper"]), output)
    else:
        from drills.roster.roster_files import page_text

        _write_text(page_text(one.name, today, sections, options["kind"], _columns()), output)
    if output not in (None, "-"):
        echo(f"{one.name}: written to {output}", err=True)


def gap_handout(
    player: PlayerFiles, one: Student, log: StudentLog, today: date, options: dict[str, Any], output: str
) -> None:
    """Writes the page for exactly one student's gap; raises NotPlayableError where there is none."""
    from dataclasses import replace
    from datetime import datetime

    from drills.cli.handout import write_handout
    from drills.neck.inlays import inlay_dots
    from drills.paper.page_style import Footer, PageStyle
    from drills.roster.gap import gap_sheet
    from drills.shapes.finder import ShapeFinder

    neck, locks = player.neck(), kept_fingers(log.state)
    used = neck

    def finder_of(tuning: Tuning) -> ShapeFinder:
        # A card's tuning is as it sounds: with the teacher's own capo only where it is the teacher's tuning.
        nonlocal used
        used = neck if tuning == neck.sounding else replace(neck, tuning=tuning, capo=0)
        return ShapeFinder(used, locks)

    sheet = gap_sheet(one, log, today, finder_of, player.table)
    reading, left_handed = player.settings.reading, options["left_handed"]
    style = PageStyle(
        options["paper"], orientation=reading.orientation,
        left_handed=reading.left_handed if left_handed is None else left_handed, dots=inlay_dots(used),
    )  # fmt: skip
    teacher = one_line(options["teacher"])
    footer = Footer(str(used.sounding), used.top_fret, teacher, f"{today.day} {today:%B %Y}", teacher)
    write_handout([sheet], style, footer, "both", output, datetime.now().astimezone().replace(microsecond=0))


def _columns() -> int:
    import shutil

    return shutil.get_terminal_size((100, 24)).columns


def _write_text(text: str, output: str | None) -> None:
    if output is None or output == "-":
        echo(text, nl=False)
        return
    write_whole(expanded(output), text)


def _write_pdf(pages: Sequence[Picture], output: str | None) -> None:
    from drills.diagrams.picture_pdf import pdf_bytes

    if output is None:
        raise click.UsageError("--format pdf goes to a file: add -o FILE.pdf")
    write_whole(expanded(output), pdf_bytes(pages))


def _places(player: PlayerFiles, deck: Deck, name: str, log: StudentLog, today: date) -> list[tuple[str, str]]:
    """String sets and qualities of the deck that are released for a student by a day, in its order; on their neck."""
    from drills.cards.group_decks import deck_of_student
    from drills.cards.material import gather
    from drills.progress.card_parts import place_of
    from drills.roster.class_deck import neck_of

    own = deck_of_student(deck, name)
    if not own.released(today):
        return []
    neck = neck_of(log, player.neck())
    material = gather(own, neck, table=player.table, today=today, tune_reader=player.tune_reader)
    return [place for place in dict.fromkeys(map(place_of, material.cards)) if place is not None]
