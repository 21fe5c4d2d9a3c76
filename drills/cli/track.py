"""`neckwork track`: a backing track made from the changes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from drills.cli.files import OUT_FILE
from drills.cli.output import echo_json
from drills.cli.player_files import neck_options, player_of
from drills.cli.tune_options import (
    STRING_SET,
    PagePart,
    TempoAndFeel,
    asked_changes,
    feel_options,
    gathered,
    page_options,
    say,
    sound_out,
)
from drills.configuration.home import expanded

if TYPE_CHECKING:
    from drills.neck.strings import StringSet

__all__ = ["command"]


@click.command("track")
@click.argument("changes")
@page_options
@feel_options
@click.option("--times", type=click.IntRange(1, 99), default=1, show_default=True, help="Choruses in each key.")
@click.option("--round", "order", type=click.Choice(["fourths", "chromatic", "random"]),
              help="Go through the keys in this order.")  # fmt: skip
@click.option("--keys", type=click.IntRange(1, 12), default=12, show_default=True, help="With --round: how many keys.")
@click.option("--seed", type=int, default=0, help="With --round random: another order.")
@click.option("--feel", "band_feel", type=click.Choice(["swing", "ballad", "straight", "waltz"]),
              help="How the band plays.  [by page and tempo]")  # fmt: skip
@click.option("--ratio", type=click.FloatRange(1, 4), help="Long to short of its eighths.  [by tempo]")
@click.option("--two/--walking", default=None, help="The bass in half notes, or on every beat.  [by feel]")
@click.option("--without", metavar="LIST", default="", help="Who rests: of bass,drums,comping.")
@click.option("--strings", "on", type=STRING_SET, help="The string set of the grips, such as 4321.")
@click.option("--comping", type=click.Choice(["band", "held", "afterbeats", "charleston", "none"]), default="band",
              show_default=True, help="band, or a plain loop: grips struck so, roots, a click.")  # fmt: skip
@click.option("--count-in", type=click.IntRange(0, 4), default=1, show_default=True, help="Bars of count-in.")
@click.option("--click/--no-click", "clicked", default=None, help="A click after the count-in.  [plain loops]")
@click.option("--fade", type=click.FloatRange(0, 60), default=2.0, show_default=True, help="Seconds of fading away.")
@click.option("--volume", type=click.IntRange(1, 100), default=100, show_default=True,
              help="In hundredths of the ceiling, which is half of full scale.")  # fmt: skip
@click.option("--drone", type=click.FloatRange(1, 3600), metavar="SECONDS", help="Hold each chord so long instead.")
@click.option("--vamp", type=click.IntRange(1, 999), metavar="BARS", help="Stay on each chord for so many bars.")
@click.option("--midi", type=OUT_FILE, help="Write a Standard MIDI File instead of playing.")
@click.option("--wav", type=OUT_FILE, help="Write a file instead of playing: .wav, .flac or .ogg.")
@neck_options
@click.option("--json", "as_json", is_flag=True, help="Print the bass and the grips as one JSON document instead.")
@gathered(part=PagePart, feel=TempoAndFeel)
def command(
    changes: str,
    part: PagePart,
    feel: TempoAndFeel,
    times: int,
    order: str | None,
    keys: int,
    seed: int,
    band_feel: str | None,
    ratio: float | None,
    two: bool | None,
    without: str,
    on: StringSet | None,
    comping: str,
    count_in: int,
    clicked: bool | None,
    fade: float,
    volume: int,
    drone: float | None,
    vamp: int | None,
    midi: str | None,
    wav: str | None,
    as_json: bool,
    **options: Any,
) -> None:
    """Play the track of CHANGES: count-in, then bass, comping and drums. Ctrl-C stops it.

    The bass walks or plays in two, the grips are struck in short figures and lead from one to the next, and the
    drums swing as the tempo asks: more the slower it is. A file is as loud as other music (-15 LUFS); what is
    played keeps a quiet ceiling.

    \b
    Examples:
      neckwork track blues-in-f --tempo 72 --round fourths --keys 2 --wav blues.wav
      neckwork track waltz-in-g --without bass --times 3 --midi waltz.mid
      neckwork track Cm7 --drone 20 --wav drone.wav
    """
    from drills.lines import backing

    if drone is not None and vamp is not None:
        raise click.UsageError("--drone holds, --vamp plays: give one of them")
    player = player_of()
    page = asked_changes(player, changes, part, feel)
    finder = player.finder(player.neck(**options))
    if vamp is not None:
        page = backing.vamp_changes(page, vamp)
    grips = comping != "none"
    if as_json:
        chords = backing.track_chords(page, finder, grips=grips, on=on)
        echo_json([
            {"start": each.start_beat, "beats": each.beats, "bass": each.bass_midi, "grip": list(each.grip_midis)}
            for each in chords
        ])  # fmt: skip
        return
    resting = tuple(part for part in (word.strip() for word in without.split(",")) if part)
    through = [shift for shift in (backing.rounds(order, keys, seed) if order else (0,)) for _ in range(times)]
    if drone is not None:
        score = backing.drones(page, finder, drone)
    elif comping in ("band", "none"):
        from drills.band.band import band

        score = band(
            page, finder, feel=band_feel or feel.asked, ratio=ratio, two=two, through=through,
            without=(*resting, *(() if grips else ("comping",))), count_in_bars=count_in, click=bool(clicked),
            fade_out_s=fade, seed=seed, on=on,
        )  # fmt: skip
    else:
        if resting or band_feel or ratio or two is not None:
            raise click.UsageError(
                f"--comping {comping} is a plain loop: leave --feel, --ratio, --two and --without out"
            )
        score = backing.backing(
            page, finder, through=through, comping=comping, count_in_bars=count_in, click=clicked is not False,
            fade_out_s=fade, on=on,
        )  # fmt: skip
    files = {"wav": expanded(wav) if wav else None, "midi": expanded(midi) if midi else None}
    sounds = not any(files.values())
    if sounds:
        minutes, seconds = divmod(round(score.length_s), 60)
        say(player, [f"{score.title}: {minutes} min {seconds} s. Ctrl-C stops it."])
    sound_out(score, **files, play=sounds, volume=volume / 100, as_music=drone is None)
