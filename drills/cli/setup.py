"""`neckwork setup`: shows and changes the settings. Every setting has a default."""

from __future__ import annotations

from typing import Any

import click

from drills.cli.output import echo
from drills.cli.player_files import player_of
from drills.configuration.diagram_style import COLOURS, LABELS

__all__ = ["command"]

_PLACES = {
    "tuning": "instrument", "top_fret": "instrument", "root_frets": "instrument", "open_roots": "instrument",
    "alternates": "instrument", "scale_mm": "instrument", "capo": "instrument", "reach_limit_mm": "instrument",
    "left_handed": "reading", "orientation": "reading", "labels": "reading", "ascii": "reading", "plain": "reading",
    "sound": "reading", "colour": "reading", "minutes": "practice",
    "deck": "practice", "day_starts_at": "practice", "days": "practice",
    "tempo_bpm": "practice",
}  # fmt: skip


@click.command("setup")
@click.option("--tuning", metavar="NAME", help="A tuning's name, or open pitches such as 'E2 A2 D3 G3 B3 E4'.")
@click.option("--top-fret", type=int, help="Highest comfortable fret, counted from the nut (15).")
@click.option("--root-frets", nargs=2, type=int, metavar="LOW HIGH", help="Frets for roots (1 12).")
@click.option("--open-roots/--no-open-roots", default=None, help="Whether an open string may be a root.")
@click.option("--alternates/--no-alternates", default=None, help="Whether other layouts may stand in at the limits.")
@click.option("--scale-mm", type=float, help="Speaking length of the open string in millimetres (648).")
@click.option("--capo", type=int, help="Fret of the capo, 0 for none.")
@click.option("--reach-limit-mm", type=float, help="Farthest the hand is asked to reach, in millimetres (120).")
@click.option("--left-handed/--right-handed", default=None, help="Mirror the diagrams; numbers and names stay.")
@click.option("--orientation", type=click.Choice(["neck", "box"]), help="Sideways neck or upright chord box.")
@click.option("--labels", type=click.Choice(LABELS), help="What stands in the dots.")
@click.option("--ascii/--unicode", "ascii", default=None, help="Draw with plain characters only.")
@click.option("--plain/--drawn", "plain", default=None, help="Lines for a screen reader instead of drawings.")
@click.option("--sound/--silent", "sound", default=None, help="Whether sounds may be played.")
@click.option("--colour", type=click.Choice(COLOURS), help="Colours for root, third and seventh (auto).")
@click.option("--minutes", type=float, help="Length of a session (10).")
@click.option("--deck", metavar="NAME", help="Your usual deck (first).")
@click.option(
    "--day-starts-at", type=float, metavar="HOUR", help="Practice before this hour counts for the day before (4)."
)
@click.option("--days", metavar="RULE", help="Practice days: 'every day', 'weekdays', 'not Sundays' or an RRULE.")
@click.option("--tempo-bpm", type=int, help="Tempo of the click that 'In time' refers to (60).")
@click.option("--reset", is_flag=True, help="Go back to the defaults first.")
def command(reset: bool, **given: Any) -> None:
    """Change what the tool knows of your instrument and of how you practise; without options, show it.

    Tunings: standard, drop-d, fourths, seven-low-b, seven-low-a, bass, bass-five, ukulele, ukulele-low-g,
    mandolin, or open pitches. In the folder named last you may keep tunings.toml and qualities.toml with rows
    of your own, and decks. NECKWORK_HOME moves the folder; a
    further player's own lie in players/NAME in it.

    \b
    Examples:
      neckwork setup --top-fret 12 --left-handed
      neckwork setup --tuning drop-d
      neckwork setup --tuning "E2 A2 D3 G3 C4 F4"
      neckwork setup --days "not Sundays" --day-starts-at 4
      neckwork setup --reset
    """
    from drills.configuration.settings import Settings, changed, write_settings
    from drills.neck.strings import core_sets

    player = player_of()
    settings = Settings() if reset else player.settings
    for key, value in given.items():
        if value is None or value == ():
            continue
        value = list(value) if key == "root_frets" else value
        settings = changed(settings, _PLACES[key], key, value, player.home.tunings, "setup")
    if given.get("deck"):
        from drills.cards.deck import find_deck

        find_deck(given["deck"], player.home.decks)
    if given.get("days"):
        from scheduler.days.calendar import PracticeCalendar

        PracticeCalendar(given["days"])
    if reset or settings.changed_fields != player.settings.changed_fields or settings != player.settings:
        player.home.make()
        write_settings(player.home.settings, settings)
    neck, reading, practice = settings.neck, settings.reading, settings.practice
    if not core_sets(neck.sounding):
        echo(
            f"{neck.tuning}: no three neighbouring strings rise here, so the decks have nothing to ask; "
            "expected three strings or more, lowest first",
            err=True,
        )
    low, high = neck.root_frets
    yes = {True: "yes", False: "no"}
    for name, value in (
        ("tuning", f"{settings.tuning_name} ({neck.tuning})"),
        ("top fret", f"{neck.top_fret}"),
        ("roots", f"frets {low} to {high}{', open strings too' if neck.open_roots else ''}"),
        ("other layouts at the limits", yes[neck.alternates]),
        ("scale length", f"{neck.scale_mm:g} mm"),
        ("capo", f"fret {neck.capo}" if neck.capo else "none"),
        ("reach limit", f"{neck.reach_limit_mm:g} mm"),
        (
            "diagrams",
            f"{'left' if reading.left_handed else 'right'}-handed {reading.orientation}, {reading.labels} in the dots",
        ),
        ("characters", "plain" if reading.ascii else "Unicode"),
        ("screen reader lines", yes[reading.plain]),
        ("sound", yes[reading.sound]),
        ("colour", reading.colour),
        (
            "session",
            f"{practice.minutes:g} minutes of {practice.deck}, {practice.days}, day from {practice.day_starts_at:g}:00",
        ),
        ("click", f"{practice.tempo_bpm} beats a minute"),
        ("kept in", f"{player.home.settings}"),
    ):
        echo(f"{name:28} {value}")
