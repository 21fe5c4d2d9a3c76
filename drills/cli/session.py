"""`neckwork session`: today's ten minutes."""

from __future__ import annotations

import os
import sys

import click

from drills.cli.player import focus_options, neck_options, player_of

__all__ = ["command"]


@click.command("session")
@click.argument("deck", required=False)
@click.option("--minutes", type=click.FloatRange(1, 60), help="Length; the card in hand is always finished.")
@focus_options
@neck_options
@click.option("--plain", is_flag=True, help="Lines for a screen reader: type a letter and Enter.")
@click.option("--log", metavar="FILE", help="Another log than the usual one.")
@click.option("--seed", type=int, default=0, hidden=True)
def command(deck: str | None, minutes: float | None, plain: bool, log: str | None, seed: int, **options) -> int:
    """Play today's session from DECK (your usual one when left out).

    Example: neckwork session --minutes 5 --strings 543 --quality m7,m7b5
    """
    from datetime import datetime

    from drills.cards.focus import parse_focus
    from drills.cards.material import gather
    from drills.session.drill import CAUTION_TICKET, Drill
    from scheduler.planner import Planner

    neck = {field: options.pop(field) for field in ("tuning", "top_fret", "capo", "open_roots", "alternates")}
    player = player_of(log)
    settings = player.settings
    focus = parse_focus(player.table, **options)

    def clock() -> datetime:
        return datetime.now().astimezone()

    with player.open_log() as review_log:
        standing = review_log.standing()
        material = gather(
            player.deck(deck), player.neck(**neck), focus=focus, table=player.table,
            locks=player.locks(standing), today=clock().date(),
        )  # fmt: skip
        rules = material.rules(rested=standing.rested, day_starts_at_hour=settings.practice.day_starts_at)
        history = list(review_log.reviews())
        planner = Planner(material.specs(), seed, history, rules)
        drill = Drill(
            material, planner, review_log, clock,
            minutes=minutes or settings.practice.minutes,
            caution=CAUTION_TICKET not in standing.tickets,
            tempo_bpm=settings.practice.tempo_bpm,
            last=history[-1].at if history else None,
        )  # fmt: skip
        code = _play(drill, settings.reading, plain)
        for line in _farewell(drill):
            click.echo(line)
        return code


def _play(drill, reading, plain: bool) -> int:
    from drills.session import terminal

    dumb = os.environ.get("TERM", "") in ("", "dumb") or not (sys.stdin.isatty() and sys.stdout.isatty())
    if plain or reading.plain or dumb:
        return terminal.run_lines(drill, input, click.echo)
    return terminal.run(drill, reading, os.environ)


def _farewell(drill) -> list[str]:
    from drills.session.sentences import end_lines

    return end_lines(drill) if drill.state.given or drill.state.lessons else []
