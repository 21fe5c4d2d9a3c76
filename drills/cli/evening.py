"""The evening before: one folder a student with page, handout of the gap, deck and phone page, and an index outside."""

from __future__ import annotations

from dataclasses import replace
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
    from datetime import date

    from drills.cards.deck import Deck
    from drills.roster.folder import Read, StudentLog
    from drills.roster.lesson_book import LessonBook
    from drills.roster.roster_sheet import RosterSheet

__all__ = ["prepare"]

_SESSIONS = 7
"""So many sessions lie in a phone page: until the next lesson."""


def prepare(
    player: PlayerFiles, read: Read, sheet: RosterSheet, book: LessonBook, group: Deck | None, options: dict[str, Any]
) -> None:
    """Fills the folder that --prepare names, and says what could not be made.

    group: the deck of the students, where one is given: each gets it by their own dates, and a phone page of it, in
    place of a deck of what they missed. A student's folder holds nothing of another student's, and of the teacher's
    book only what is said to them.
    """
    from drills.cards.deck_tools import new_deck
    from drills.roster.folder import StudentLog
    from drills.roster.gap import gap_deck
    from drills.roster.page_of_one import student_sections
    from drills.roster.roster_files import page_text, sheet_text
    from scheduler.log.fold import fold

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
        missing = "no deck and no phone page"
        try:
            if group is None:
                write_whole(folder / "deck.toml", new_deck(gap_deck(one, log, today)), private=True)
            else:
                _write_group_deck(player, folder, one.name, group)
            missing = "no phone page"
            _write_phone(player, folder, one.name, log, today)
        except DrillsError as error:
            echo(f"{one.name}: {missing} ({error})", err=True)
    for name in sheet.silent:  # a beginner has sent nothing yet
        folder = out / name
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        missing = "no deck and no phone page"
        try:
            if group:
                _write_group_deck(player, folder, name, group)
                missing = "no phone page"
            _write_phone(player, folder, name, StudentLog(fold(())), today)
        except DrillsError as error:
            echo(f"{name}: {missing} ({error})", err=True)
    write_whole(out / "index.html", sheet_text(sheet, "html", links=links), private=True)
    beginners = f", {len(sheet.silent)} who sent nothing yet" if sheet.silent else ""
    known, passed = len(sheet.students), len(sheet.passed)
    done = f"{known} student{'s' * (known != 1)}{beginners}, {passed} file{'s' * (passed != 1)} passed over"
    echo(f"{out}: {done}; begin at index.html", err=True)


def _write_group_deck(player: PlayerFiles, folder: Path, name: str, group: Deck) -> None:
    """The group's deck as one student has it, and beside it the pages of changes that do not ship with the tool."""
    from drills.cards.group_decks import deck_of_student, deck_toml
    from drills.changes.changes_source import known_pages, shipped_changes

    own, blocks = deck_of_student(group, name), []
    pages = {found.stem: found for found in known_pages(player.page_folders).values()}
    for block in own.blocks:
        page = Path(block.changes) if Path(block.changes).is_absolute() else pages.get(block.changes)
        if block.changes and page and page not in shipped_changes().values():
            write_whole(folder / page.name, page.read_bytes(), private=True)
            blocks.append(replace(block, changes=page.name))
        else:
            blocks.append(block)
    write_whole(folder / "deck.toml", deck_toml(replace(own, blocks=tuple(blocks))), private=True)


def _write_phone(player: PlayerFiles, folder: Path, name: str, log: StudentLog, today: date) -> None:
    """A page that plays the folder's deck on the student's neck, as their own log would have it."""
    from drills.cards.deck import read_deck
    from drills.cards.material import gather
    from drills.phone.phone_page import PhoneRequest, phone_page
    from drills.roster.class_deck import neck_of
    from scheduler.planning.planner import Planner
    from scheduler.review import new_id

    reading, practice = player.settings.reading, player.settings.practice
    material = gather(
        read_deck(folder / "deck.toml", player.table, player.home.decks),
        neck_of(log, player.neck()),
        table=player.table,
        # It is the evening before a lesson: a week that begins with the lesson is on the page.
        today=today + timedelta(days=1),
        tune_reader=player.tune_reader,
    )
    planner = Planner(material.specs(), 0, (), material.rules(rested=log.state.rested))
    for review in log.state.reviews:
        planner.record(review)
    made = datetime.combine(today, datetime.min.time()).astimezone() + timedelta(hours=18)
    begins = [made + timedelta(days=number) for number in range(_SESSIONS)]
    request = PhoneRequest(new_id(), name, made, begins, practice.minutes, False, practice.day_starts_at)
    write_whole(folder / "phone.html", phone_page(material, planner, reading, request), private=True)
