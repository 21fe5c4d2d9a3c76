"""The evening before: one folder a student with page, handout of the gap, deck and phone page, and an index outside."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from drills.cli.output import echo
from drills.cli.player_files import PlayerFiles
from drills.cli.roster import gap_handout
from drills.configuration.home import expanded
from drills.errors import DrillsError, NotPlayableError, SettingsError
from scheduler.atomic_write import write_whole

if TYPE_CHECKING:
    from drills.roster.folder import Read, StudentLog
    from drills.roster.lesson_book import LessonBook
    from drills.roster.roster_sheet import RosterSheet

__all__ = ["prepare"]

_SESSIONS = 7
"""So many sessions lie in a phone page: until the next lesson."""


def prepare(player: PlayerFiles, read: Read, sheet: RosterSheet, book: LessonBook, options: dict[str, Any]) -> None:
    """Fills the folder that --prepare names, and says what could not be made.

    A student's folder holds nothing of another student's, and of the teacher's book only what is said to them.
    """
    from drills.roster.page_of_one import student_sections
    from drills.roster.roster_files import page_text, sheet_text

    out = expanded(options["prepare"])
    if out.exists() and not out.is_dir():
        raise SettingsError(f"--prepare {out}: is a file; give the name of a folder")
    links, today = {}, sheet.today
    for one in sheet.students:
        folder = out / one.name
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        sections = [*book.for_student(one.name, today), *student_sections(one, today, to_student=True)]
        write_whole(folder / "page.html", page_text(one.name, today, sections, "html"), private=True)
        links[one.name] = f"{one.name}/page.html"
        log = read.logs[one.name]
        try:
            gap_handout(player, one, log, today, options, str(folder / "gap.pdf"))
        except NotPlayableError as error:
            echo(str(error), err=True)
        try:
            _deck_and_phone(player, folder, one.name, log, sheet)
        except DrillsError as error:
            echo(f"{one.name}: no deck and no phone page ({error})", err=True)
    write_whole(out / "index.html", sheet_text(sheet, "html", links=links), private=True)
    echo(f"{out}: {len(sheet.students)} students, {len(sheet.passed)} files passed over; begin at index.html", err=True)


def _deck_and_phone(player: PlayerFiles, folder: Path, name: str, log: StudentLog, sheet: RosterSheet) -> None:
    """A deck of what the gap asks for, and a page that plays it as the student's own log would have it."""
    from drills.cards.deck import read_deck
    from drills.cards.deck_tools import new_deck
    from drills.cards.material import gather
    from drills.phone.phone_page import PhoneRequest, phone_page
    from drills.roster.gap import gap_deck
    from drills.roster.roster_sheet import find_student
    from scheduler.planning.planner import Planner
    from scheduler.review import new_id

    path = folder / "deck.toml"
    write_whole(path, new_deck(gap_deck(find_student(sheet, name), log, sheet.today)), private=True)
    reading, practice = player.settings.reading, player.settings.practice
    material = gather(
        read_deck(path, player.table, player.home.decks),
        player.neck(),
        table=player.table,
        tune_reader=player.tune_reader,
    )
    planner = Planner(material.specs(), 0, (), material.rules(rested=log.state.rested))
    for review in log.state.reviews:
        planner.record(review)
    made = datetime.combine(sheet.today, datetime.min.time()).astimezone() + timedelta(hours=18)
    begins = [made + timedelta(days=number) for number in range(_SESSIONS)]
    request = PhoneRequest(new_id(), name, made, begins, practice.minutes, False, practice.day_starts_at)
    write_whole(folder / "phone.html", phone_page(material, planner, reading, request), private=True)
