"""The steps that the commands of a session share: gather the cards, make a plan, play, and report the end."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from drills.cli.output import echo
from drills.cli.player_files import CHANGES_FIELDS, NECK_FIELDS, PlayerFiles, kept_fingers

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from drills.cards.material import Material
    from drills.cli.opened_ears import OpenedEars
    from drills.configuration.diagram_style import DiagramStyle
    from drills.session.announcer import Announcer
    from drills.session.choosing import Chooser
    from drills.session.drill import Drill
    from drills.session.session_tune import Tune
    from drills.session.sounding import Speaker
    from drills.session.tempi import FormTempi
    from drills.session.writer import Writer
    from scheduler.log.fold import LogState
    from scheduler.log.review_log import ReviewLog
    from scheduler.planning.planner import Planner
    from scheduler.planning.rules import TeachingRules
    from scheduler.review import Review

__all__ = ["sit", "sit_options"]

_Command = TypeVar("_Command", bound=Callable[..., Any])


def sit_options(command: _Command) -> _Command:
    """Options of every sitting."""
    for option in reversed((
        click.option("--plain", is_flag=True, help="Lines for a screen reader: type a letter and Enter."),
        click.option("--quiet", is_flag=True, help="No sound."),
        click.option("--log", metavar="FILE", help="Another log than the usual one."),
        click.option("--seed", type=int, default=0, hidden=True),
    )):  # fmt: skip
        command = option(command)
    return command


def sit(
    player: PlayerFiles,
    deck: str | None,
    options: dict[str, Any],
    *,
    kind: str,
    minutes: float | None,
    plain: bool,
    quiet: bool,
    seed: int,
    chooser: Callable[[Material, Planner], Chooser] | None = None,
    by: str | None = None,
    listen: bool = False,
    hands_free: bool = False,
    spoken: bool = False,
    recording: str | None = None,
) -> int:
    """Plays one sitting; returns the exit code.

    options: focus, neck and changes options as the command line gave them. kind: see
    `drills.session.session_state`. chooser: makes who says what is next from material and planner, or None.
    by: the day a tune is for, as typed. listen: whether the playing is heard. hands_free: whether
    the session goes on by it. spoken: whether it is said by a voice. recording: a WAV file in place of the
    microphone, or None.
    """
    import time
    from dataclasses import replace
    from datetime import datetime

    from drills.cards.focus import parse_focus
    from drills.cards.material import gather
    from drills.cards.sore_hand import left_out_for, stretches_in
    from drills.errors import DeckError
    from drills.session.drill import CAUTION_TICKET, Drill
    from drills.session.ending import end_lines
    from drills.session.sounding import Speaker
    from scheduler.planning.planner import Planner

    neck = {field: options.pop(field) for field in NECK_FIELDS if field in options}
    asked = {field: options.pop(field) for field in CHANGES_FIELDS if field in options}
    settings = player.settings
    focus = parse_focus(player.table, **options)

    def clock() -> datetime:
        return datetime.now().astimezone()

    called = player.called  # asked before a new player's folder is made
    with player.open_log() as review_log:
        review_log.ready_to_write()  # before the first card, not after the first grade
        standing = review_log.standing()
        material = gather(
            player.deck(deck, **asked), player.neck(**neck), focus=focus, table=player.table,
            locks=kept_fingers(standing), today=clock().date(), tune_reader=player.tune_reader,
        )  # fmt: skip
        if not material.cards:
            reason = material.left_out[0].reason if material.left_out else "the focus leaves nothing"
            raise DeckError(f"{material.deck.title}: no card fits this neck ({reason}); see neckwork cards")
        rules = material.rules(
            rested=standing.rested | left_out_for(material, stretches_in(standing.tickets)),
            day_starts_at_hour=settings.practice.day_starts_at,
            practice_every_days=player.practice_every_days(clock()),
        )  # fmt: skip
        planner = Planner(material.specs(), seed, (), rules, player.constants)
        tempi = _tempi(settings.practice.tempo_bpm, rules)
        player.bring_forward(review_log, planner=planner, tempi=tempi)
        last = review_log.latest()
        tune = _tune(player, material, planner, standing, clock(), last.at if last else None, by, minutes)
        speaker = Speaker(pitched_click=not listen) if settings.reading.sound and not quiet else None
        announcer, speechless = _announcer(spoken)

        def busy() -> bool:
            heard = speaker is not None and speaker.sounding and not speaker.only_clicks
            return heard or (announcer is not None and announcer.speaking)

        ears, unheard = _ears(
            listen, hands_free, recording, busy, review_log, material, speaker, player.home.sound_delays
        )
        drill = Drill(
            material, planner, review_log, clock,
            minutes=minutes or settings.practice.minutes,
            caution=CAUTION_TICKET not in standing.tickets,
            kind=kind,
            chooser=chooser(material, planner) if chooser else None,
            tempo_of=lambda card: tempi.tempo_of(card.skills[0] if card.skills else None),
            listener=speaker,
            last=last.at if last else None,
            tickets=standing.tickets,
            seconds=time.monotonic,
            next_day=player.next_practice_day,
            tune=tune,
            called=called,
            ears=ears.session if ears is not None else None,
            announcer=announcer,
        )  # fmt: skip
        if unheard or speechless:
            drill.state = replace(drill.state, note=f"{unheard} {speechless}".strip())
        if why := drill.nothing_to_ask:
            raise DeckError(f"{material.deck.title}: {why}")
        in_lines = plain or settings.reading.plain or _is_dumb()
        drill.announce()
        try:
            code = _play(drill, settings.reading, in_lines)
        finally:
            if announcer is not None:
                announcer.close()
            if ears is not None:
                ears.close()
            if speaker is not None:
                speaker.close()
            _settle(drill.writer, player)
        # Said once is enough: in lines the end has been said, full screen the page it stood on is gone.
        if not (in_lines and drill.state.over) and (drill.state.given or drill.state.lessons or drill.state.hurts):
            for line in end_lines(drill):
                _say(line)
        return code


def _ears(
    listen: bool,
    hands_free: bool,
    recording: str | None,
    busy: Callable[[], bool],
    review_log: ReviewLog,
    material: Material,
    speaker: Speaker | None,
    kept: Path,
) -> tuple[OpenedEars | None, str]:
    """What hears the playing, and what is said of it, or why nothing hears where that was asked for."""
    if not listen:
        return None, ""  # nothing of listening is imported: a session without it starts as fast as ever
    from drills.cli.opened_ears import open_ears
    from drills.errors import MicrophoneError

    try:
        lowest = min(pitch.midi for pitch in material.finder.tuning.open)
        opened = open_ears(recording, busy, review_log, hands_free, lowest, speaker, kept)
        return opened, opened.said
    except MicrophoneError as error:
        return None, f"Not listening: {error}. The session goes on by keys."


def _announcer(spoken: bool) -> tuple[Announcer | None, str]:
    """What says the session by a voice, and why nothing does where that was asked for."""
    if not spoken:
        return None, ""
    from drills.session.announcer import Announcer
    from drills.sound.voice import NO_VOICE, Voice, find_voice

    command = find_voice()
    return (Announcer(Voice(command)), "") if command else (None, NO_VOICE)


def _settle(writer: Writer, player: PlayerFiles) -> None:
    """Write what still waits: asked for on a terminal until the player lets it go, else into a file to import later."""
    while not writer.again():
        kept = len(writer.waiting)
        echo(f"neckwork: {kept} not written: {writer.trouble}", err=True)
        if sys.stdin.isatty() and click.confirm("Try again?", default=True, err=True):
            continue
        from drills.cli.rescue import rescue

        name = rescue(writer.waiting, player.log_path)
        echo(f"neckwork: kept in {name}; neckwork import takes it in", err=True)
        raise click.exceptions.Exit(1)


def _tune(
    player: PlayerFiles, material: Material, planner: Planner, standing: LogState, now: datetime, last: datetime | None,
    by: str | None, minutes: float | None,
) -> Tune | None:  # fmt: skip
    """The tune a material is from, with what is to be said of it, or None; a deck of several tunes is none."""
    blocks = [block for block in material.deck.blocks if block.changes]
    if len(blocks) != 1:
        if by is not None:
            raise click.UsageError("--by goes with a tune: give --changes, or a deck of one tune")
        return None
    from drills.cli.ready import forecast
    from drills.session.session_tune import Tune
    from drills.tunes.ready.readiness_words import forecast_line
    from drills.tunes.stages.stage_text import ticket_words
    from drills.tunes.stages.ticket import ticket_of, ticket_subject
    from drills.tunes.tune_deck import block_changes

    page = block_changes(blocks[0], player.table, player.page_folders)
    kept = standing.tickets.get(ticket_subject(page, material.finder.tuning))
    ahead = forecast(player, material, planner, now, last, by, minutes) if by is not None else None
    return Tune(page, forecast_line(ahead) if ahead else "", ticket_words(ticket_of(kept)) if kept else "")


def _tempi(tempo_bpm: float, rules: TeachingRules) -> FormTempi:
    """Beats a minute by form: the player's own, or higher where a form has risen."""
    from drills.session.tempi import FormTempi
    from scheduler.days.practice_day import practice_day_number

    def day_of(review: Review) -> int:
        return practice_day_number(review.at, rules.day_starts_at_hour)

    return FormTempi(tempo_bpm, day_of, rules.day_starts_at_hour)


def _is_dumb() -> bool:
    """Whether there is no terminal that a screen can be drawn on."""
    return os.environ.get("TERM", "") in ("", "dumb") or not (sys.stdin.isatty() and sys.stdout.isatty())


def _play(drill: Drill, reading: DiagramStyle, in_lines: bool) -> int:
    from dataclasses import replace

    from drills.configuration.diagram_style import draws_lines
    from drills.session import terminal

    if in_lines:
        return terminal.run_lines(drill, input, _say)
    if not draws_lines(sys.stdout):
        reading = replace(reading, ascii=True)
    return terminal.run(drill, reading, os.environ)


def _say(line: str) -> None:
    """Prints a line; on a terminal broken between words to its width, in a pipe as it is."""
    from drills.session.screen_lines import wrapped

    width = shutil.get_terminal_size().columns if sys.stdout.isatty() else None
    for part in [line] if width is None else [piece.text for piece in wrapped(line, max(20, width - 1))]:
        echo(part)
