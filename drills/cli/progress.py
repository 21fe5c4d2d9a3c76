"""`neckwork progress`: what is firm and what is not, in counts."""

from __future__ import annotations

import click

from drills.cli.player import player_of

__all__ = ["command"]


@click.command("progress")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
@click.option("--csv", "as_csv", is_flag=True, help="Print a row for each string set and quality.")
@click.option("--log", metavar="FILE", help="Another log than the usual one.")
def command(as_json: bool, as_csv: bool, log: str | None) -> None:
    """First tries, days played, and what comes back after a gap; repeats are never counted.

    Example: neckwork progress --csv
    """
    from datetime import datetime

    from drills.progress.report import make_report, report_csv, report_json, report_lines

    if as_json and as_csv:
        raise click.UsageError("--json and --csv exclude one another")
    player = player_of(log)
    reviews = []
    if player.log_path.exists():
        with player.open_log() as review_log:
            reviews = list(review_log.reviews())
    report = make_report(reviews, datetime.now().astimezone(), player.settings.practice.day_starts_at)
    if as_json:
        import json

        click.echo(json.dumps(report_json(report)))
    elif as_csv:
        import csv
        import sys

        csv.writer(sys.stdout).writerows(report_csv(report))
    else:
        for line in report_lines(report):
            click.echo(line)
