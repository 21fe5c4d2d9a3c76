"""`neckwork export`: the log as CSV or JSON."""

from __future__ import annotations

import sys

import click

from drills.cli.player import player_of
from drills.errors import SettingsError

__all__ = ["command"]


@click.command("export")
@click.option("--format", "kind", type=click.Choice(["csv", "json"]), default="json", show_default=True,
              help="JSON carries every event, CSV the reviews.")  # fmt: skip
@click.option("--output", "-o", metavar="FILE", help="Where to write; standard output when left out.")
@click.option("--log", metavar="FILE", help="Another log than the usual one.")
def command(kind: str, output: str | None, log: str | None) -> None:
    """Write the log: yours to keep, to read in a spreadsheet, or to bring back with `neckwork import`.

    Example: neckwork export --format csv -o reviews.csv
    """
    from drills.progress.card_parts import card_parts
    from scheduler.interchange import export_csv, export_json

    columns = {
        name: (lambda card, name=name: getattr(card_parts(card), name, ""))
        for name in ("form", "root", "quality", "strings", "kind")
    }
    player = player_of(log)
    if not player.log_path.exists():
        raise SettingsError(f"{player.log_path}: there is no log yet; play a session first")

    def write(out) -> int:
        with player.open_log() as review_log:
            return export_json(review_log, out) if kind == "json" else export_csv(review_log, out, columns)

    if output is None or output == "-":
        sys.stdout.reconfigure(encoding="utf-8", newline="") if hasattr(sys.stdout, "reconfigure") else None
        write(sys.stdout)
        return
    with open(output, "w", encoding="utf-8", newline="") as out:
        count = write(out)
    click.echo(f"{count} {'events' if kind == 'json' else 'reviews'} written to {output}", err=True)
