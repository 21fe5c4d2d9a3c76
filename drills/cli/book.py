"""`neckwork book`: a teacher's own book of lessons."""

from __future__ import annotations

from datetime import datetime

import click

from drills.cli.files import OUT_FILE
from drills.cli.output import echo
from drills.cli.player_files import player_of
from drills.configuration.home import expanded

__all__ = ["command"]


@click.command("book")
@click.argument("student")
@click.option("--note", metavar="TEXT", multiple=True, help="For your own eyes: never on a page of a student.")
@click.option("--say", metavar="TEXT", multiple=True, help="Goes to the student: on the page that roster prepares.")
@click.option("--set", "set_", metavar="TEXT", multiple=True, help="What the student is to practise this week.")
@click.option("--next", "next_", metavar="TEXT", multiple=True, help="What comes next, for your own eyes.")
@click.option(
    "--heard", nargs=3, multiple=True, metavar="CARD GRADE OWN",
    help="What you heard: your grade, then the student's own, e.g. \"Cm7, strings 6-5-4\" \"Found it\" Clean.",
)  # fmt: skip
@click.option(
    "--on", "day", metavar="DATE", type=click.DateTime(["%Y-%m-%d"]), help="The lesson's day; today if left out."
)
@click.option("--output", "-o", type=OUT_FILE, help="Where to write the book of this student as Markdown.")
def command(
    student: str, note: tuple[str, ...], say: tuple[str, ...], set_: tuple[str, ...], next_: tuple[str, ...],
    heard: tuple[tuple[str, str, str], ...], day: datetime | None, output: str | None,
) -> None:  # fmt: skip
    """Keep a book of lessons: write into it, or show a student's entries as Markdown, the newest lesson first.

    One file holds it all, lessons.toml beside your settings. What is given with --say and --set stands on the
    student's page that `neckwork roster FOLDER --prepare OUT` writes; a --note never leaves the book.

    \b
    Examples:
      neckwork book "Student 1" --note "rushes the change" --say "Slowly this week." --set "m7 on 6-5-4, five a day"
      neckwork book "Student 1" --heard "Cm7, strings 6-5-4" "Found it" Clean
      neckwork book "Student 1"
    """
    from datetime import date

    from drills.roster.lesson_book import BookEntry, HeardCard, LessonBook, book_markdown, read_book, write_book
    from drills.safe_text import one_line
    from scheduler.atomic_write import write_whole
    from scheduler.grade import Grade

    home = player_of().home
    book = read_book(home.lessons)
    on = day.date() if day else date.today()
    name = one_line(student)
    if not name:
        raise click.UsageError("STUDENT: expected a name")
    new = [
        BookEntry(name, on, kind, one_line(text))
        for kind, texts in (("note", note), ("say", say), ("set", set_), ("next", next_))
        for text in texts
        if one_line(text)
    ]
    labels = {grade.label.casefold(): grade.label for grade in Grade}
    for card, *grades in heard:
        for grade in grades:
            if grade.casefold() not in labels:
                raise click.UsageError(f"--heard {grade[:40]!r}: expected a grade, one of {', '.join(labels.values())}")
        teacher, own = (labels[grade.casefold()] for grade in grades)
        new.append(BookEntry(name, on, "heard", heard=HeardCard(one_line(card), teacher, own)))
    near = _near_name(name, {entry.student for entry in book.entries})
    if new:
        home.make()
        book = LessonBook((*book.entries, *new))
        write_book(home.lessons, book)
        echo(f"{name}: {len(new)} written to {home.lessons}", err=True)
        if near:
            echo(f"{name} is new in the book, and {near} is there: was that meant?", err=True)
    entries = book.of(name)
    if output or not new:
        if not entries:
            meant = f" (nearest: {near})" if near else ""
            echo(f"{name}: nothing is written of this student yet{meant}; --note begins it", err=True)
            return
        text = book_markdown(name, entries)
        if output and output != "-":
            write_whole(expanded(output), text, private=True)
        else:
            echo(text, nl=False)


def _near_name(name: str, known: set[str]) -> str:
    """The known name that a new one was perhaps meant to be, or ""; a known one, or another number, was meant."""
    from difflib import get_close_matches

    def letters(text: str) -> str:
        return "".join(letter for letter in text.casefold() if not letter.isdigit())

    if name.casefold() in {one.casefold() for one in known}:
        return ""
    near = get_close_matches(name, sorted(known), n=1)
    return near[0] if near and letters(near[0]) != letters(name) else ""
