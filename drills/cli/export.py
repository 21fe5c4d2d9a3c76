"""`neckwork export`: the log, or a part of it, as CSV, JSON, Markdown or HTML."""

from __future__ import annotations

import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

from drills.cli.files import OUT_FILE, written
from drills.cli.output import echo
from drills.cli.player_files import PlayerFiles, day_given, player_of
from drills.errors import SettingsError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from drills.exports.log_part import LogPart
    from scheduler.log.review_log import ReviewLog

__all__ = ["command"]


@click.command("export")
@click.option("--format", "kind", type=click.Choice(["csv", "json", "md", "html"]), default="json", show_default=True,
              help="JSON carries every event, the others the reviews.")  # fmt: skip
@click.option("--output", "-o", type=OUT_FILE, help="Where to write; standard output when left out.")
@click.option("--since", metavar="DATE", help="From this practice day on, e.g. 2026-09-01.")
@click.option("--until", metavar="DATE", help="Up to this practice day.")
@click.option("--deck", metavar="NAME", help="Only cards of a deck, as it fits your neck.")
@click.option("--strings", metavar="SETS", help="Only these string sets, e.g. 543 or 654,543.")
@click.option("--quality", metavar="LIST", help="Only these qualities, e.g. m7,m7b5.")
@click.option("--log", metavar="FILE", help="Another log than the usual one.")
def command(
    kind: str, output: str | None, since: str | None, until: str | None, deck: str | None, strings: str | None,
    quality: str | None, log: str | None,
) -> None:  # fmt: skip
    """Write the log: yours to keep, to read in a spreadsheet, or to bring back with `neckwork import`.

    The CSV holds a row for each review: time, card, set, quality, root, form, prompt, grade, result, attempt,
    seconds, spent, slip, tempo_bpm, predicted, session, skills, id, stamp, first_of_day and practice_day. The grade
    of a repeat is left empty, as is that of a lesson. Where first_of_day is 1 the review is a first try: the first
    ask of its card on your own practice day.

    \b
    Examples:
      neckwork export -o log.json
      neckwork export --format csv --since 2026-09-01 -o reviews.csv
      neckwork export --format html --deck set-543 --since 2026-09-01 -o autumn.html
      neckwork export --format md --strings 543,432 --quality m7,m7b5
    """
    from drills.exports.export_formats import export

    player = player_of(log)
    if not player.has_log():
        raise SettingsError(f"{player.log_path}: there is no log yet; play a session first")
    choice = _choice(player, since, until, deck, strings, quality)
    with player.read_log() as review_log:
        if output is None or output == "-":
            if hasattr(sys.stdout, "reconfigure"):
                sys.stdout.reconfigure(encoding="utf-8", newline="")
            with _bar(review_log, not sys.stdout.isatty()) as tick:
                export(review_log, sys.stdout, kind, choice, tick)
            return
        with written(output, player) as out, _bar(review_log) as tick:
            count = export(review_log, out, kind, choice, tick)
    what = ("event" if kind == "json" else "review") + "s" * (count != 1)
    echo(f"{count} {what} written to {output}", err=True)


def _choice(
    player: PlayerFiles,
    since: str | None,
    until: str | None,
    deck: str | None,
    strings: str | None,
    quality: str | None,
) -> LogPart:
    from drills.exports.log_part import LogPart

    cards = None
    if deck is not None:
        from drills.cards.material import gather

        material = gather(player.deck(deck), player.neck(), table=player.table, tune_reader=player.tune_reader)
        cards = frozenset(material.cards)
    chosen_sets: frozenset[str] = frozenset()
    chosen_qualities: frozenset[str] = frozenset()
    if strings or quality:
        from drills.cards.focus import parse_focus

        focus = parse_focus(player.table, strings=strings, quality=quality)
        chosen_sets = frozenset(one.id for one in focus.strings)
        chosen_qualities = frozenset((*focus.qualities, *focus.added))
    return LogPart(
        day_given("--since", since), day_given("--until", until), cards, chosen_sets, chosen_qualities,
        player.settings.practice.day_starts_at,
    )  # fmt: skip


@contextmanager
def _bar(review_log: ReviewLog, wanted: bool = True) -> Iterator[Callable[[int], None] | None]:
    """A progress bar on a terminal, nothing in a pipe or a file; gives what to tell of each step."""
    if not (wanted and sys.stderr.isatty()):
        yield None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task("writing", total=review_log.fingerprint().last_seq)
        yield lambda step: progress.advance(task, step)
