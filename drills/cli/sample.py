"""`neckwork sample`: five minutes of cards drawn by chance from what is thought firm."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from drills.cli.output import echo
from drills.cli.player_files import focus_options, neck_options, player_of
from drills.cli.sitting_down import sit, sit_options

if TYPE_CHECKING:
    from drills.cards.material import Material
    from drills.session.choosing import Chooser
    from scheduler.planning.planner import Planner

__all__ = ["command"]

LONGEST_MINUTES = 10.0
"""The draw ends by itself after about five; hands off after ten minutes (drills/RULES.md, E)."""


@click.command("sample")
@click.argument("deck", required=False)
@focus_options
@neck_options
@sit_options
def command(deck: str | None, plain: bool, quiet: bool, log: str | None, seed: int, **options: Any) -> int:
    """Find out once a month how much of what is thought firm comes clean: twenty cards drawn by chance.

    It answers like "17 clean of 20: somewhere between 92 and 136 of your 144 cards thought firm".

    \b
    Examples:
      neckwork sample everything
    """
    from datetime import datetime

    from drills.sample.draw import draw_sample
    from drills.sample.estimate import SAMPLE_TICKET, last_sample, outcome, sample_lines
    from drills.session.choosing import in_order
    from drills.session.session_state import SAMPLE
    from scheduler.days.practice_day import practice_day
    from scheduler.log.fold import fold

    player = player_of(log)
    today = practice_day(datetime.now().astimezone(), player.settings.practice.day_starts_at)
    with player.open_log() as review_log:
        owner, before = review_log.id, review_log.fingerprint().last_seq
        told = last_sample(review_log.standing().tickets.get(SAMPLE_TICKET), today)
    if told:
        echo(told)
    drawn = []

    def chooser(material: Material, planner: Planner) -> Chooser:
        drawn.append(draw_sample(planner, material.cards, datetime.now().astimezone(), today, owner))
        return in_order(drawn[0].cards, planner)

    code = sit(
        player, deck, options, kind=SAMPLE, minutes=LONGEST_MINUTES, plain=plain, quiet=quiet, seed=seed,
        chooser=chooser,
    )  # fmt: skip
    with player.open_log() as review_log:
        # What was taken back in the sitting is taken back here: folding leaves it out.
        found = outcome(drawn[0], fold(event for _, event in review_log.since(before)).reviews)
        if found.asked:
            review_log.ticket(SAMPLE_TICKET, found.ticket(today), datetime.now().astimezone())
    for line in sample_lines(found):
        echo(line)
    return code
