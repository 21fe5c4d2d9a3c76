"""`neckwork phone`: a page for a phone that plays sessions without a network."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import click

from drills.cli.files import OUT_FILE
from drills.cli.output import echo
from drills.cli.player_files import (
    CHANGES_FIELDS,
    NECK_FIELDS,
    changes_options,
    focus_options,
    kept_fingers,
    neck_options,
    player_of,
)

if TYPE_CHECKING:
    from drills.cards.material import Material
    from drills.cli.player_files import PlayerFiles
    from scheduler.planning.planner import Planner

__all__ = ["command"]


@click.command("phone")
@click.argument("deck", required=False)
@click.option("--output", "-o", type=OUT_FILE, required=True, help="The page: a name ending in .html.")
@click.option(
    "--student", metavar="NAME", default="", help="Whose page it is: stands on it, and keeps its grades apart."
)
@click.option("--today", is_flag=True, help="Your own session of today, by what your log has taught.")
@click.option("--sessions", type=click.IntRange(1, 28), help="How many sessions are planned on the page.")
@click.option("--minutes", type=click.FloatRange(1, 60), help="Length of each.")
@click.option("--quiet", is_flag=True, help="A page without sound.")
@changes_options
@focus_options
@neck_options
@click.option("--log", metavar="FILE", help="A log to go by, a student's for instance.")
def command(
    deck: str | None, output: str, student: str, today: bool, sessions: int | None, minutes: float | None, quiet: bool,
    log: str | None, **options: Any,
) -> None:  # fmt: skip
    """Make one page that plays sessions of DECK (your usual one when left out) in any phone's browser, offline.

    Send the file to a student, who opens it: prompt, answer, four grades, lessons before tests, misses that come
    back. The coming sessions are planned here, seven unless --sessions says otherwise, and lie in the page. Its
    grades stay on the phone until they are sent as a file, which neckwork import takes in.

    With a group's deck --student is one of the group, and the weeks are that student's.

    A page for somebody else starts from nothing, or from --log; --today goes by your own log.

    \b
    Examples:
      neckwork phone first --student "Student 1" --sessions 5 -o student-1.html
      neckwork phone --today -o today.html
    """
    from drills.configuration.home import expanded
    from drills.phone.phone_page import PhoneRequest, phone_page
    from scheduler.atomic_write import write_whole
    from scheduler.review import new_id

    if today and student:
        raise click.UsageError("--today is your own session, --student somebody else's: give one of the two")
    if today and sessions:
        raise click.UsageError("--today is one session: leave --sessions out")
    path = expanded(output)
    if path.suffix.lower() not in (".html", ".htm"):
        raise click.UsageError(f"-o {output}: expected a name ending in .html")
    player = player_of(log)
    settings = player.settings
    at = datetime.now().astimezone().replace(microsecond=0)
    neck = {field: options.pop(field) for field in NECK_FIELDS}
    asked = {field: options.pop(field) for field in CHANGES_FIELDS}
    audible = settings.reading.sound and not quiet
    own = today or log is not None
    material, planner = _planned(player, deck, asked, student, neck, options, at, own, audible)
    length = minutes or settings.practice.minutes
    begins = _begins(player, at, 1 if today else sessions or 7)
    request = PhoneRequest(new_id(), student, at, begins, length, audible, settings.practice.day_starts_at)
    text = phone_page(material, planner, settings.reading, request)
    write_whole(path, text)
    size = len(text.encode("utf-8")) / 1000
    many = f"{len(begins)} session{'s' * (len(begins) != 1)}"
    echo(f"{output}: {len(material.cards)} cards, {many}, {size:.0f} kB", err=True)


def _planned(
    player: PlayerFiles, deck: str | None, asked: dict[str, Any], student: str, neck: dict[str, Any],
    focus: dict[str, Any], at: datetime, own: bool, audible: bool,
) -> tuple[Material, Planner]:  # fmt: skip
    """The cards of the page, and a planner that has learned what is known of its player."""
    from drills.cards.focus import parse_focus
    from drills.cards.group_decks import deck_of_student
    from drills.cards.kinds import kind_of
    from drills.cards.material import gather
    from drills.cards.sore_hand import left_out_for, stretches_in
    from drills.errors import DeckError
    from scheduler.log.fold import LogState
    from scheduler.planning.planner import Planner

    wanted = player.deck(deck, **asked)
    wanted = deck_of_student(wanted, student) if student else wanted

    def made(standing: LogState | None) -> tuple[Material, Planner]:
        material = gather(
            wanted, player.neck(**neck), focus=parse_focus(player.table, **focus),
            table=player.table, locks=kept_fingers(standing) if standing else None, today=at.date(),
            tune_reader=player.tune_reader,
        )  # fmt: skip
        rested = frozenset[str]()
        if standing is not None:
            rested = standing.rested | left_out_for(material, stretches_in(standing.tickets))
        if not audible:
            rested |= {card.id for card in material.cards.values() if kind_of(card.kind).heard}
        rules = material.rules(
            rested=rested, day_starts_at_hour=player.settings.practice.day_starts_at,
            practice_every_days=player.practice_every_days(at),
        )  # fmt: skip
        planner = Planner(material.specs(), 0, (), rules, player.constants if own else None)
        if not any(rules.allows(card) for card in material.cards):
            reason = material.left_out[0].reason if material.left_out else "every card of it rests or needs sound"
            raise DeckError(f"{material.deck.title}: no card is left for a page ({reason}); see neckwork cards")
        return material, planner

    if not own:
        return made(None)
    with player.read_log() as review_log:
        material, planner = made(review_log.standing())
        player.bring_forward(review_log, planner=planner)
    return material, planner


def _begins(player: PlayerFiles, at: datetime, count: int) -> list[datetime]:
    """When the sessions begin: today, and on the practice days that follow, at the same hour."""
    begins = [at]
    while len(begins) < count:
        day = player.next_practice_day(begins[-1])
        if day is None:
            break
        days = max(1, (day - begins[-1].date()).days)
        begins.append(begins[-1] + timedelta(days=days))
    return begins
