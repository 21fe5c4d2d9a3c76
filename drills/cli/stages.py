"""`neckwork stages`: the ten stages from bare roots to music over any changes."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

from drills.cli.line_output import strings_option
from drills.cli.output import echo_json
from drills.cli.player_files import PlayerFiles, neck_options, player_of
from drills.cli.tune_options import (
    FRETS,
    START,
    LineFiles,
    PagePart,
    TempoAndFeel,
    asked_changes,
    feel_options,
    file_options,
    gathered,
    numbered,
    page_options,
    plain_option,
    say,
    sound_out,
    write_pages,
)
from drills.configuration.diagram_style import FINGERS_FIRST

if TYPE_CHECKING:
    from drills.changes.changes import Changes
    from drills.cli.live_stage import LiveStage
    from drills.lines.line import Line
    from drills.neck.strings import StringSet
    from drills.session.stage_practice import StageHearing
    from drills.shapes.finder import ShapeFinder
    from drills.shapes.root_places import RootPlace
    from drills.sound.score import Score
    from drills.tunes.stages.stage_table import StageLines
    from drills.tunes.stages.ticket import Ticket

__all__ = ["command"]


_LIVE = "-"
"""What --listen holds where no file is named."""


class _StageWord(click.ParamType[Any]):
    """A stage: 1 to 10, or the word of a named one."""

    name = "stage"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        from drills.tunes.stages.stage_table import NAMED_STAGES

        words = [stage.word for stage in NAMED_STAGES]
        if value in words or isinstance(value, int):
            return value
        if isinstance(value, str) and value.isascii() and value.isdecimal() and 1 <= int(value[:3]) <= 10:
            return int(value)
        self.fail(f"{value[:24]!r}: expected 1 to 10, or {', '.join(words)}", param, ctx)


@click.command("stages")
@click.argument("changes")
@click.option(
    "--stage", "number", type=_StageWord(), help="1 to 10, or a word such as key; all in short when left out."
)
@strings_option
@click.option("--from", "start", type=START, help="Where the first root lies: 6, or 6/8; left out, near fret 8.")
@click.option("--planned", is_flag=True, help="Roots of least movement over the whole, instead of step by step.")
@click.option(
    "--frets", type=FRETS, help="Frets for the lines of stages 7 to 9, such as 5-10; left out, around the path."
)
@click.option("--seed", type=int, default=0, help="Other lines in stages 7 to 9.")
@click.option("--labels", type=click.Choice(FINGERS_FIRST), default="fingers", show_default=True,
              help="What stands under the counts.")  # fmt: skip
@page_options
@plain_option
@feel_options
@click.option("--play", is_flag=True, help="Play it: count-in, band and line; in time twice opens the next.")
@click.option("--listen", "recording", metavar="[FILE]", is_flag=False, flag_value=_LIVE,
              help="Hear a recording (WAV) of it played over its track; with --play and no FILE, you.")  # fmt: skip
@click.option("--track-from", type=click.FloatRange(-60, 1800), default=0.0, show_default=True,
              help="With --listen FILE: seconds into it to the first click of the count-in.")  # fmt: skip
@click.option("--in-time", is_flag=True, help="Note that it was played through in time, and print nothing else.")
@file_options
@click.option("--quiet", is_flag=True, help="With --play: no sound.")
@click.option("--log", metavar="FILE", help="Another log than the usual one.")
@neck_options
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
@gathered(part=PagePart, feel=TempoAndFeel, files=LineFiles)
def command(
    changes: str,
    number: int | str | None,
    on: StringSet | None,
    start: int | RootPlace | None,
    planned: bool,
    frets: tuple[int, int] | None,
    seed: int,
    labels: str,
    part: PagePart,
    feel: TempoAndFeel,
    plain: bool,
    play: bool,
    recording: str | None,
    track_from: float,
    in_time: bool,
    files: LineFiles,
    quiet: bool,
    log: str | None,
    as_json: bool,
    **options: Any,
) -> None:
    """Take CHANGES from bare roots to music in ten stages; each opens when the one before was in time twice.

    Without --stage the ten in short; files then hold all of them. Raise the tempo only after three clean
    passes on different days, by 4 to 8.

    Roots, grips, spell up, spell down, connect, guide tones, the mode, chromatics, rhythm and space, play.
    --play counts in and plays the open stage over its track; t says that it was in time, and twice opens the
    next. The ticket is in your log. Beside the ten: key, octaves, enclosures, approaches, passing, cells, ninths,
    guides, always open.

    --listen FILE hears a recording of the stage played over its track, over headphones, tells each bar that was not
    right or not in time, and says what it thinks; --in-time stays your word. --play --listen hears you while the
    track sounds alone (b), and proposes; the ticket stays yours to keep. Time is judged once neckwork tuner --clicks
    has measured the device. Tried on simulated playing only.

    \b
    Examples:
      neckwork stages blues-in-f
      neckwork stages blues-in-f --stage key --strings 654
      neckwork stages four-chord-round --stage 3 --bars 17-24
      neckwork stages blues-in-f --stage 3 --listen blues-played.wav
      neckwork stages blues-in-f --stage 1 --play --listen
      neckwork stages blues-in-f --pdf blues.pdf
    """
    import shutil
    from dataclasses import replace

    from drills.harmony.root_path import PLANNED, STEP_BY_STEP
    from drills.lines.etude_options import EtudeOptions
    from drills.lines.line_stretch import with_stretch
    from drills.tunes.stages import stage_text
    from drills.tunes.stages.stage_material import comfortable_start, stage_material
    from drills.tunes.stages.stage_table import named_subject, stage_lines
    from drills.tunes.stages.ticket import named_ticket_of, ticket_of, ticket_subject

    live = recording == _LIVE
    if live and (quiet or not play):
        raise click.UsageError("--listen without a FILE hears you over a track that sounds: say --play, not --quiet")
    recording = None if live else recording
    player = player_of(log)
    page = asked_changes(player, changes, part, feel)
    neck = player.neck(**options)
    width = shutil.get_terminal_size().columns
    ten = _TicketBook(player, ticket_subject(page, neck.sounding), ticket_of)
    if number is None and not (files or play or as_json or in_time or recording):
        say(player, stage_text.overview_lines(page, ten.read(), width))
        return
    finder = player.finder(neck)
    start = start or comfortable_start(page, finder.neck, on.numbers[:1] if on else None)
    given = stage_material(page, finder, start=start, method=PLANNED if planned else STEP_BY_STEP, on=on)
    asked = EtudeOptions(seed=seed, frets=frets)
    book = ten
    if isinstance(number, str):
        book = _TicketBook(player, named_subject(number, given), named_ticket_of)
    if in_time:
        ticket = book.read()
        kept = ticket.after(number if isinstance(number, int) else ticket.stage, True)
        book.keep(kept)
        say(player, [stage_text.ticket_words(kept)])
        return

    shown = number or 1  # without a number the ten in short were printed above

    def found(wanted: int | str) -> StageLines:
        return stage_lines(wanted, given, asked)

    if recording:
        from drills.cli.stage_heard import heard_stage

        heard = heard_stage(recording, found(number or ten.read().stage), finder, track_from)
        if as_json:
            echo_json(heard.document())
        else:
            say(player, heard.lines())
    elif files:
        stages = [found(each) for each in ([number] if number else range(1, 11))]
        if files.pdf:
            lines = [
                with_stretch(replace(line, title=f"{each.stage.number} {line.title}"), neck)
                for each in stages for line in each.lines
            ]  # fmt: skip
            title = page.title or "Changes"
            doing = stages[0].stage.doing if number else "Each stage in time, twice, before the next."
            write_pages(files, lines, title=f"{title}: stages", idea=doing, labels=labels)
        _write(stages, finder, files)
    elif play:
        _play(
            player, number, found, book, ten, finder,
            plain=plain, quiet=quiet, alone=files.alone, labels=labels, live=live,
        )  # fmt: skip
    elif as_json:
        ticket = book.read()
        answer = {
            "title": page.title,
            "ticket": {"stage": ticket.stage, "passes": ticket.passes},
            "stages": [stage_text.stage_json(found(each), ticket) for each in ([number] if number else range(1, 11))],
        }
        echo_json(answer)
    elif plain or player.settings.reading.plain:
        say(player, stage_text.stage_speech(found(shown), book.read()))
    else:
        say(player, stage_text.stage_screen(found(shown), book.read(), width=width, row=labels))


class _TicketBook:
    """One ticket in the log. read_value: what the log keeps to the ticket."""

    def __init__(self, player: PlayerFiles, subject: str, read_value: Callable[[str | None], Ticket]) -> None:
        self._player, self._subject, self._read_value = player, subject, read_value

    def read(self) -> Ticket:
        if not self._player.has_log():
            return self._read_value(None)
        with self._player.read_log() as log:
            return self._read_value(log.standing().tickets.get(self._subject))

    def keep(self, ticket: Ticket) -> None:
        from datetime import datetime

        with self._player.open_log() as log:
            log.ticket(self._subject, ticket.value, datetime.now().astimezone())


def _write(stages: list[StageLines], finder: ShapeFinder, files: LineFiles) -> None:
    """Every line of the stages to a file of each kind, numbered when there are several; stage 10 is the track alone."""
    from drills.band.band import band
    from drills.cli.line_output import write_line

    parts = [(found, line) for found in stages for line in found.lines or (None,)]
    if files.musicxml and not any(line for _, line in parts):
        raise click.UsageError("--musicxml: nothing is written in stage 10; --midi and --wav give its track")
    for place, (found, line) in enumerate(parts, 1):
        if line is not None:
            write_line(line, finder, files, place, len(parts))
        elif files.midi or files.wav:
            wav, midi = (name and numbered(name, place, len(parts)) for name in (files.wav, files.midi))
            sound_out(band(found.changes, finder), wav=wav or None, midi=midi or None)


def _play(
    player: PlayerFiles,
    number: int | str | None,
    found: Callable[[int | str], StageLines],
    book: _TicketBook,
    ten: _TicketBook,
    finder: ShapeFinder,
    *,
    plain: bool,
    quiet: bool,
    alone: bool,
    labels: str,
    live: bool,
) -> None:
    """Plays the stage asked for, or the open one, and goes on to the next when the player does.

    live: whether the player is heard over the track.
    """
    import shutil
    from textwrap import wrap

    from drills.band.band import band
    from drills.cli.line_output import sounding
    from drills.cli.single_keys import asking
    from drills.lines.line_text import line_speech, tab_lines
    from drills.session.stage_practice import CAUTION, StageHeard, practise
    from drills.sound.outlets import find_outlets
    from drills.sound.playback import Playback
    from drills.tunes.stages.stage_text import heading

    plain = plain or player.settings.reading.plain
    width = 10_000 if plain else shutil.get_terminal_size().columns

    def heard(line: Line) -> StageHeard:
        shown = line_speech(line) if plain else tab_lines(line, width=width, row=labels)
        return StageHeard(line.title, shown, lambda: sounding(line, finder, alone), lambda: band(line.changes, finder))

    def tell(text: str) -> None:
        say(player, [text] if len(text) <= width else wrap(text, width))

    audible = player.settings.reading.sound and not quiet
    ears, unheard = _live_ears(player, finder) if live and audible else (None, "")
    sound: Playback | None = None
    if audible:
        sound = Playback(lambda: [ears.outlet, *find_outlets()]) if ears is not None else Playback()
    try:
        with asking(plain) as ask:
            tell(CAUTION)
            if live:
                tell(unheard or _how_heard(ears))
            while True:
                ticket = book.read()
                stage = found(number or ticket.stage)
                say(player, ["", *heading(stage.stage, ticket, width)])
                lines = [heard(line) for line in stage.lines]
                if not lines:

                    def track(changes: Changes = stage.changes) -> Score:
                        return band(changes, finder)

                    lines = [StageHeard("The track", (), track, track)]
                hearing, reason = _hearing(ears, stage, ask.within)
                if reason:
                    tell(reason)
                taking = practise(
                    stage.stage, lines, ticket, ask=ask.key, say=tell, sound=sound, keep=book.keep, hearing=hearing
                )
                if not taking.on:
                    return
                number, book = None, ten
    finally:
        if sound is not None:
            sound.close()
        if ears is not None:
            ears.close()


def _live_ears(player: PlayerFiles, finder: ShapeFinder) -> tuple[LiveStage | None, str]:
    """What hears the player over the track, and why nothing does."""
    from drills.cli.live_stage import open_live_stage
    from drills.errors import MicrophoneError
    from drills.microphone.device import load_sounddevice

    try:
        return open_live_stage(load_sounddevice(), finder, player.home.sound_delays), ""
    except MicrophoneError as error:
        return None, f"Not listening: {error}. The keys work as ever."


def _how_heard(ears: LiveStage | None) -> str:
    """What is said once of listening, before the first stage."""
    from drills.session.session_sentences import NOT_TIMED

    if ears is None:
        return "Not listening: the sound is off."
    heard = "The microphone is open: b plays the track alone and hears you over it; use headphones."
    return heard if ears.timed else f"{heard} {ears.said or NOT_TIMED}"


def _hearing(
    ears: LiveStage | None, stage: StageLines, within: Callable[[float], str]
) -> tuple[StageHearing | None, str]:
    """What hears a stage, and why nothing does where its lines cannot be heard."""
    if ears is None or not stage.lines:
        return None, ""
    from drills.cli.stage_heard import refuse_unheard
    from drills.errors import NotPlayableError
    from drills.session.stage_practice import StageHearing

    try:
        refuse_unheard(stage)
    except NotPlayableError as error:
        return None, f"Not heard: {error}."
    ears.turn_to(stage.lines)
    return StageHearing(ears, within), ""
