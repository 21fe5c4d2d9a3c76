"""`neckwork ready`: how ready a tune is, and will be by a date."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING, Any

import click

from drills.cli.output import echo_json
from drills.cli.player_files import PlayerFiles, kept_fingers, neck_options, player_of
from drills.cli.tune_options import say

if TYPE_CHECKING:
    from datetime import datetime

    from drills.cards.material import Material
    from drills.neck.neck import Neck
    from drills.tunes.ready.readiness import Readiness
    from scheduler.planning.planner import Planner

__all__ = ["command", "forecast"]


@click.command("ready")
@click.argument("changes")
@click.option("--by", "day", metavar="DATE", help="The day it is for, e.g. 2026-12-12; today when left out.")
@click.option("--transpose", metavar="KEY", help="The tune in another key.")
@click.option("--from", "start", type=click.IntRange(1, 12), help="Only the path from this string.")
@click.option("--strings", metavar="SETS", help="Only on these string sets, such as 654 or 654,543.")
@click.option("--minutes", type=click.FloatRange(1, 60), help="Length of each session until then.")
@neck_options
@click.option("--log", metavar="FILE", help="Another log than the usual one.")
@click.option("--all", "every", is_flag=True, help="Name every chord place and joint, not only as many as fit.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
def command(
    changes: str,
    day: str | None,
    transpose: str | None,
    start: int | None,
    strings: str | None,
    minutes: float | None,
    log: str | None,
    every: bool,
    as_json: bool,
    **options: Any,
) -> None:
    """Say what of a tune will come clean by a date, if your practice days are played, and what to leave out.

    The sessions to come are played through in the memory of you, by the planner's own choice of cards.

    With little in your log it says how little it knows. Without --by it says how the tune stands today.

    \b
    Examples:
      neckwork ready blues-in-f
      neckwork ready blues-in-f --by 2027-05-01
      neckwork ready blues-in-f --strings 654
    """
    from datetime import datetime

    from drills.cards.focus import parse_focus
    from drills.cards.material import gather
    from drills.cards.sore_hand import left_out_for, stretches_in
    from drills.errors import DeckError
    from drills.tunes.ready.readiness_words import ready_json, ready_lines
    from scheduler.planning.planner import Planner

    player = player_of(log)
    now = datetime.now().astimezone()
    neck = player.neck(**options)
    deck = player.deck(None, changes, transpose, start)
    focus = parse_focus(player.table, strings=strings)
    with player.read_log() as review_log:
        standing = review_log.standing()
        material = gather(
            deck, neck, focus=focus, table=player.table, locks=kept_fingers(standing), tune_reader=player.tune_reader
        )
        if not material.cards:
            raise DeckError(f"{deck.title}: no card fits this neck ({material.left_out[0].reason}); see neckwork cards")
        rules = material.rules(
            rested=standing.rested | left_out_for(material, stretches_in(standing.tickets)),
            day_starts_at_hour=player.settings.practice.day_starts_at,
            practice_every_days=player.practice_every_days(now),
        )  # fmt: skip
        planner = Planner(material.specs(), 0, (), rules, player.constants)
        player.bring_forward(review_log, planner=planner)
        last = review_log.latest()
    paths = {} if start or strings else _paths(player, neck, changes, transpose, material)
    found = forecast(player, material, planner, now, last.at if last else None, day, minutes, paths)
    if as_json:
        echo_json(ready_json(found))
        return
    say(player, ready_lines(found, min(100, shutil.get_terminal_size().columns), every=every))


def forecast(
    player: PlayerFiles,
    material: Material,
    planner: Planner,
    now: datetime,
    last: datetime | None,
    day: str | None,
    minutes: float | None,
    paths: dict[int, frozenset[str]] | None = None,
) -> Readiness:
    """The readiness of a material by a day as typed, today when None. last: when the latest review was, or None."""
    from drills.session.session_state import SessionState
    from drills.tunes.ready.days_to_date import DateError, days_to, read_day
    from drills.tunes.ready.readiness import readiness
    from scheduler.days.calendar import PracticeCalendar

    practice = player.settings.practice
    calendar = PracticeCalendar(practice.days, practice.day_starts_at)
    today = calendar.day_of(now)
    played_today = last is not None and calendar.day_of(last.astimezone(now.tzinfo)) == today
    try:
        days = days_to(read_day(day) if day else today, now, calendar, played_today=played_today)
    except DateError as error:
        raise click.UsageError(f"--by: {error}") from error
    minutes = minutes or practice.minutes
    cards_minutes = SessionState(minutes * 60.0).cards_s / 60.0
    return readiness(material, planner, days, minutes=minutes, cards_minutes=cards_minutes, paths=paths)


def _paths(
    player: PlayerFiles, neck: Neck, changes: str, transpose: str | None, material: Material
) -> dict[int, frozenset[str]]:
    """The cards of each single path, by the string it starts from."""
    from drills.cards.material import gather
    from drills.errors import PathError
    from drills.harmony.root_path import root_strings

    found = {}
    for string in root_strings(neck):
        try:
            deck = player.deck(None, changes, transpose, string)
            found[string] = frozenset(gather(deck, neck, table=player.table, tune_reader=player.tune_reader).cards)
        except PathError:
            continue
    return {string: cards & material.cards.keys() for string, cards in found.items()}
