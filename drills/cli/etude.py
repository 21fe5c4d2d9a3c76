"""`neckwork etude`: practice lines over changes, each note with its reason."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from drills.cli.line_output import LineView, density_option, frets_option, line_options, show_lines, strings_option
from drills.cli.player_files import neck_options, player_of
from drills.cli.tune_options import LineFiles, PagePart, TempoAndFeel, asked_changes, gathered

if TYPE_CHECKING:
    from drills.lines.note_requests import Wish
    from drills.neck.strings import StringSet

__all__ = ["command"]


class _Change(click.ParamType[Any]):
    """A note by its place, and what is wanted there: ``2:3`` or ``2:3&=Ab`` or ``2:3=Ab4``."""

    name = "bar:beat[=note]"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        from drills.lines.note_requests import wish

        found = wish(value) if isinstance(value, str) else None
        if found is None:
            self.fail(
                f"{value[:24]!r}: expected bar and beat such as 2:3 or 2:3&, with =Ab or =Ab4 for a wish", param, ctx
            )
        return found


class _Range(click.ParamType[tuple[int, int]]):
    """Lowest and highest pitch: ``A2-E5``."""

    name = "pitches"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        from drills.errors import TheoryError
        from drills.theory.note import Pitch

        try:
            low, high = (Pitch.parse(part) for part in value.split("-"))
        except (TheoryError, ValueError):
            self.fail(f"{value[:24]!r}: expected lowest and highest pitch such as A2-E5", param, ctx)
        return low.midi, high.midi


@click.command("etude")
@click.argument("changes")
@click.option("--difficulty", type=click.IntRange(1, 3), default=2, show_default=True,
              help="1 chord tones, 2 the mode between them, 3 chromatic approaches too.")  # fmt: skip
@density_option
@click.option("--direction", type=click.Choice(["waves", "up", "down"]), default="waves", show_default=True)
@frets_option
@strings_option
@click.option("--range", "pitches", type=_Range(), help="Lowest and highest sounding pitch, such as A2-E5.")
@click.option("--seed", type=int, default=0, show_default=True, help="Another number, another line.")
@click.option(
    "--with",
    "figures",
    metavar="LIST",
    default="",
    help="Take in some of enclosures,approaches,passing,cells,ninths,guides; chromatic ones raise the difficulty to 3.",
)
@click.option("--owned", is_flag=True, help="Only forms that are firm in your log.")
@click.option("--change", "wishes", type=_Change(), multiple=True,
              help="Another note at BAR:BEAT, or that one: 2:3, 2:3&=Ab. The rest is found again.")  # fmt: skip
@line_options
@click.option("--log", metavar="FILE", help="Another log than the usual one.")
@neck_options
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
@gathered(part=PagePart, feel=TempoAndFeel, view=LineView, files=LineFiles)
def command(
    changes: str,
    difficulty: int,
    density: str,
    direction: str,
    frets: tuple[int, int] | None,
    on: StringSet | None,
    pitches: tuple[int, int] | None,
    seed: int,
    figures: str,
    owned: bool,
    wishes: tuple[Wish, ...],
    part: PagePart,
    feel: TempoAndFeel,
    view: LineView,
    files: LineFiles,
    log: str | None,
    **options: Any,
) -> None:
    """Find an etude line over CHANGES: a practice melody that breaks no hard rule, with its fingers.

    The same question has the same answer. Play it slowly; raise the tempo only after three clean passes on
    different days, by 4 to 8.

    --why says of every note why it is there. --change 2:3 asks for another note on beat 3 of bar 2, and the
    rest is found again. --owned uses only forms that are firm in your log. It is an exercise, not music: what
    you make of it is yours.

    \b
    Examples:
      neckwork etude "Cm7 F7 Bbmaj7" --frets 5-10 --why
      neckwork etude "Cm7 F7 Bbmaj7" --strings 543 --with enclosures
      neckwork etude "Cm7 F7 Bbmaj7" --density eighths --change "2:3=C"
      neckwork etude "Cm7 F7 Bbmaj7" --density eighths --change "2:3&" --why
    """
    from drills.lines.etude_line import change_note, etude_line
    from drills.lines.etude_options import EtudeOptions
    from drills.lines.note_requests import wished_note
    from drills.lines.vocabulary import needed_difficulty
    from drills.tunes.stages.etude_stages import near_the_path
    from drills.tunes.stages.stage_material import comfortable_start, stage_material

    player = player_of(log)
    page = asked_changes(player, changes, part, feel)
    neck = player.neck(**options)
    finder = player.finder(neck)
    places = None
    if owned:
        from drills.lines.owned_forms import owned_places

        places = owned_places(page, finder, player.firm_forms())
    wanted = tuple(word for word in (part.strip() for part in figures.split(",")) if word)
    asked = EtudeOptions(
        difficulty=max(difficulty, needed_difficulty(wanted)), density=density, direction=direction, seed=seed,
        frets=frets, pitches=pitches, strings=on.numbers if on else None, figures=wanted, places=places,
    )  # fmt: skip
    given = stage_material(page, finder, start=comfortable_start(page, neck, on.numbers[:1] if on else None), on=on)
    etude = near_the_path(lambda near: etude_line(page, neck, near), given, asked)
    for wish in wishes:
        etude = change_note(etude, *wished_note(etude.line, wish))
    show_lines(player, [etude.line], finder, files, view)
