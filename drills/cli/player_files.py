"""The files of the player that every command needs: home, settings, tables, log."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from drills.cli.output import echo
from drills.configuration.home import Home, expanded, find_home
from drills.neck.neck import Neck

if TYPE_CHECKING:
    from drills.cards.deck import Block, Deck
    from drills.cards.stops_and_joints import StopsAndJoints
    from drills.configuration.settings import Settings
    from drills.shapes.finder import ShapeFinder
    from drills.theory.key import Key
    from drills.theory.quality import QualityTable
    from scheduler.days.calendar import PracticeCalendar
    from scheduler.log.fold import LogState
    from scheduler.log.review_log import ReviewLog
    from scheduler.memory.constants import Constants
    from scheduler.saved.learned_states import SavedLearner

__all__ = [
    "CHANGES_FIELDS",
    "NECK_FIELDS",
    "PLAYER",
    "PlayerFiles",
    "changes_options",
    "day_given",
    "focus_options",
    "kept_fingers",
    "minor_remarks",
    "neck_options",
    "player_of",
]

_Command = TypeVar("_Command", bound=Callable[..., Any])
"""A function that options are added to: a command, or one that becomes a command."""


@dataclass
class PlayerFiles:
    """The player's files, read when first asked for. `log_path` overrides the home's log.

    shared: the home that the homes of further players lie in.
    """

    home: Home
    log_path: Path
    shared: Home | None = None

    @property
    def called(self) -> str:
        """Who plays, in words, where more than one do; otherwise nothing."""
        shared = self.shared or self.home
        names = shared.players()
        if self.home == shared:
            return f"Player without a name; --player for {', '.join(names)}" if names else ""
        name = self.home.folder.name
        if name not in names:
            return f"Player {name}, new here"
        return f"Player {name}" if len(names) > 1 or shared.log.exists() else ""

    @cached_property
    def settings(self) -> Settings:
        """The settings file, or the defaults."""
        from drills.configuration.settings import read_settings

        return read_settings(self.home.settings, self.home.tunings)

    @cached_property
    def table(self) -> QualityTable:
        """Qualities, shipped and own."""
        from drills.theory.quality import read_qualities

        return read_qualities(self.home.qualities)

    @cached_property
    def constants(self) -> Constants | None:
        """The memory's constants as fitted to this player, or None for the usual ones."""
        if not self.home.constants.exists():
            return None
        from scheduler.memory.refit import read_refit

        found = read_refit(self.home.constants)
        return found.constants if found else None

    def neck(self, **given: Any) -> Neck:
        """The player's neck with what was given on the command line (None: as set)."""
        tuning = given.pop("tuning", None)
        # Most players set nothing, and `shape` is to answer at once: no file, no settings to import.
        neck = self.settings.neck if tuning is not None or self.home.settings.exists() else Neck()
        if tuning is not None:
            from drills.configuration.settings import changed

            neck = changed(
                replace(self.settings, changed_fields=frozenset()),
                "instrument",
                "tuning",
                tuning,
                self.home.tunings,
                "--tuning",
            ).neck
        return replace(neck, **{field: value for field, value in given.items() if value is not None})

    def has_log(self) -> bool:
        """Whether there is a log; raises LogError when there was one and it is lost."""
        from scheduler.log.copies import refuse_lost

        refuse_lost(self.log_path)
        return self.log_path.exists()

    def open_log(self, *, checked: bool = True) -> ReviewLog:
        """The log, made on first use; says so where events that were counted are no longer there."""
        from scheduler.log.review_log import ReviewLog

        if self.log_path == self.home.log:
            self.home.make()
        self.log_path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        return self._told(ReviewLog(self.log_path, checked=checked))

    def read_log(self, *, checked: bool = True) -> ReviewLog:
        """The log for a command that only reads: one that may not be written to, or lies in such a folder, will do.

        checked: False for one that may be damaged.
        """
        from scheduler.errors import LogError
        from scheduler.log.review_log import ReviewLog

        try:
            return self.open_log(checked=checked)
        except LogError:
            if not self.has_log():
                raise
            return self._told(ReviewLog(self.log_path, writable=False, checked=checked))

    def _told(self, log: ReviewLog) -> ReviewLog:
        if log.lost:
            echo(
                f"{self.log_path}: {log.lost} events that were counted are no longer there; the end "
                "of the log is lost, or an older copy was put back. If another machine or a copy has them, join it",
                err=True,
            )
        return log

    def bring_forward(self, review_log: ReviewLog, *, patient: bool = True, **learners: SavedLearner) -> bool:
        """Bring learners to where the log stands, by the state saved beside it; see `scheduler.saved.learned_states`.

        patient: whether the player waits however long that takes; otherwise False is answered where it takes
        seconds, and the learners are of no use.
        """
        from scheduler.saved.learned_states import bring_forward

        def long(reviews: int) -> None:
            if not patient:
                raise _TooLong
            echo(f"Reading {reviews} reviews; the next start will not have to.", err=True)

        try:
            bring_forward(review_log, self.log_path.with_suffix(".memory"), learners, long)
        except _TooLong:
            return False
        return True

    def finder(self, neck: Neck) -> ShapeFinder:
        """Shapes on a neck, with the player's locked fingers when there is a log."""
        from drills.shapes.finder import ShapeFinder

        locks: dict[str, tuple[int, ...]] = {}
        if self.has_log():
            with self.read_log() as log:
                locks = kept_fingers(log.standing())
        return ShapeFinder(neck, locks)

    def firm_forms(self) -> frozenset[str]:
        """Signatures of the forms that are firm in the log: those the player owns."""
        from scheduler.memory.states import lasts_a_week
        from scheduler.planning.planner import Planner

        if not self.has_log():
            return frozenset()
        planner = Planner((), constants=self.constants)
        with self.read_log() as log:
            self.bring_forward(log, planner=planner)
        memory = planner.memory
        forms = [skill for skill in memory.skills if skill.startswith("form:")]
        return frozenset(skill.removeprefix("form:") for skill in forms if lasts_a_week(memory, skill))

    @cached_property
    def calendar(self) -> PracticeCalendar | None:
        """The player's practice calendar, or None for every day: most have no rule to read, nor load what reads it."""
        from drills.configuration.settings import Practice

        practice = self.settings.practice
        if practice.days == Practice().days:
            return None
        from scheduler.days.calendar import PracticeCalendar

        return PracticeCalendar(practice.days, practice.day_starts_at)

    def practice_every_days(self, now: datetime) -> float:
        """Mean days from one practice day to the next in the weeks to come."""
        calendar = self.calendar
        return calendar.mean_gap_days(calendar.day_of(now)) if calendar else 1.0

    def next_practice_day(self, now: datetime) -> date | None:
        """The player's next practice day after a moment; None when their rule has ended."""
        if calendar := self.calendar:
            return calendar.next_day(calendar.day_of(now))
        from scheduler.days.practice_day import practice_day

        return practice_day(now, self.settings.practice.day_starts_at) + timedelta(days=1)

    @property
    def page_folders(self) -> tuple[Path, ...]:
        """Where the player keeps pages of changes, searched before the shipped ones."""
        return (self.home.decks,)

    def tune_reader(self, block: Block, neck: Neck, table: QualityTable) -> StopsAndJoints:
        """The stops and joints of the changes a deck names; what `gather` takes.

        Nothing of tunes is read for a deck without any.
        """
        from drills.tunes.tune_deck import tune_reader

        return tune_reader(self.page_folders)(block, neck, table)

    def deck(
        self, name: str | None, changes: str | None = None, transpose: str | None = None, start: int | None = None
    ) -> Deck:  # fmt: skip
        """The deck asked for, or the usual one; with changes the deck that is this tune.

        Raises UsageError when both are given, or the key or string of a tune that is not.
        """
        if changes is not None:
            from drills.changes.changes_source import changes_from
            from drills.tunes.tune_deck import tune_deck

            if name is not None:
                raise click.UsageError(f"DECK {name[:40]!r} and --changes: give one of the two")
            page = changes_from(changes, self.table, self.page_folders)
            return tune_deck(changes, transpose=transpose or "", starts=(start,) if start else (), title=page.title)
        if transpose is not None or start is not None:
            raise click.UsageError(f"{'--transpose' if transpose is not None else '--from'} goes with --changes")
        from drills.cards.deck import find_deck, read_deck

        path = find_deck(name or self.settings.practice.deck, self.home.decks)
        return read_deck(path, self.table, self.home.decks)


class _TooLong(Exception):
    """A log has too many reviews to be read while a player waits."""


def kept_fingers(state: LogState) -> dict[str, tuple[int, ...]]:
    """Fingers a log's state keeps, by form signature; what is no fingering (a log may be anyone's) is left out."""
    from drills.shapes.shape import fingers_of

    read = {subject: fingers_of(value) for subject, value in state.locks.items()}
    return {subject: fingers for subject, fingers in read.items() if fingers}


def minor_remarks(keys: Iterable[Key]) -> list[str]:
    """What is said of each natural minor key that is asked: the chords of its raised seventh, and how to ask those."""
    from drills.theory.key import raised_seventh

    said = {}
    for key in keys:
        if raised := raised_seventh(key):
            names = ", ".join(chord.name for chord in raised)
            said[key.name] = (
                f"{key.name}: the chords of its signature. Its raised seventh makes {names}: "
                f"{key.tonic} harmonic minor asks those"
            )
    return list(said.values())


PLAYER = "drills.player"
"""Where the command line keeps the name it was given with --player."""


def player_of(log: str | None = None) -> PlayerFiles:
    """The player the environment and --player describe."""
    home = shared = find_home(os.environ)
    ctx = click.get_current_context(silent=True)
    name = ctx.find_root().meta.get(PLAYER) if ctx else None
    if name is not None:
        home = shared.of_player(name)
    return PlayerFiles(home, expanded(log) if log else home.log, shared)


CHANGES_FIELDS = ("changes", "transpose", "start")


def changes_options(command: _Command) -> _Command:
    """Options that make a tune the deck."""
    for option in reversed((
        click.option("--changes", metavar="CHANGES",
                     help="A tune instead: a .changes file, a lead sheet, a shipped page, or '| Cm7 | F7 |'."),
        click.option("--transpose", metavar="KEY", help="The tune in another key, e.g. Bb."),
        click.option("--from", "start", type=click.IntRange(1, 12),
                     help="Only the path from this string; from all root strings when left out."),
    )):  # fmt: skip
        command = option(command)
    return command


def focus_options(command: _Command) -> _Command:
    """Options that narrow a deck."""
    for option in reversed((
        click.option("--strings", metavar="SETS", help="String sets, e.g. 543 or 654,543."),
        click.option("--quality", metavar="LIST", help="Qualities, e.g. m7,m7b5; +dim7 adds to the deck's."),
        click.option("--root", metavar="LIST", help="Roots, e.g. Bb or C,F,Bb."),
        click.option("--key", metavar="LIST", help="Keys, whose seven chords are asked, e.g. Eb or 'C minor'."),
        click.option("--form", metavar="LIST", help="Forms, e.g. arpeggio, arpeggio-down, scale, grip or enclosures."),
        click.option("--prompts", "--prompt", "prompt", metavar="LIST", help="Kinds of prompt, e.g. note,spell."),
        click.option("--away", is_flag=True, help="Only prompts that need no guitar."),
    )):  # fmt: skip
        command = option(command)
    return command


NECK_FIELDS = ("tuning", "top_fret", "capo", "open_roots", "alternates")
"""What `neck_options` adds, by the names that `PlayerFiles.neck` takes."""


def neck_options(command: _Command) -> _Command:
    """Options that override the neck for one command."""
    for option in reversed((
        click.option("--tuning", metavar="NAME", help="A tuning's name, or open pitches such as 'E2 A2 D3 G3 B3 E4'."),
        click.option("--top-fret", type=click.IntRange(1, 36), help="Highest comfortable fret."),
        click.option("--capo", type=click.IntRange(0, 20), help="Capo at a fret; frets then count from it."),
        click.option("--open-roots", is_flag=True, default=None, help="Allow open strings as roots."),
        click.option("--alternates", is_flag=True, default=None, help="Fall back on other layouts at the limits."),
    )):  # fmt: skip
        command = option(command)
    return command


def day_given(option: str, text: str | None) -> date | None:
    """The day an option was given; raises UsageError for a text that is no date, and is None for none."""
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise click.UsageError(f"{option} {text[:40]!r}: expected a date such as 2026-09-07") from None
