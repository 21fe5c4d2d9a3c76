"""`neckwork hear`: chord, arpeggio and mode as sound."""

from __future__ import annotations

from typing import Any

import click

from drills.cli.files import OUT_FILE
from drills.cli.output import echo
from drills.cli.player_files import neck_options, player_of
from drills.errors import NotPlayableError

__all__ = ["command"]


@click.command("hear")
@click.argument("name")
@click.option("--strings", metavar="SET", help="String set, e.g. 543; the lowest that fits when left out.")
@click.option("--tempo", type=click.IntRange(30, 300), default=90, show_default=True, help="Beats a minute.")
@click.option("--phrase", "with_phrase", is_flag=True, help="A short line in the same place after it.")
@click.option("--wav", type=OUT_FILE, help="Write a WAV file instead of playing.")
@click.option("--midi", type=OUT_FILE, help="Write a Standard MIDI File instead of playing.")
@neck_options
def command(
    name: str, strings: str | None, tempo: int, with_phrase: bool, wav: str | None, midi: str | None, **options: Any
) -> None:
    """Hear NAME: its grip, its arpeggio up and down, its mode, and the grip again. It starts quietly.

    Nothing need be installed on macOS or on a Linux with a usual sound server; pip install 'neckwork[sound]'
    adds a player that fades. Without any, --wav always works.

    \b
    Examples:
      neckwork hear Cm7b5 --strings 543 --wav cm7b5.wav
      neckwork hear Cm7 --strings 654 --phrase --midi cm7.mid
    """
    from drills.diagrams.answer import reduced_words
    from drills.shapes.answers import shape_on, shapes_named
    from drills.shapes.form import ARPEGGIO
    from drills.shapes.same_place import grip_inside, mode_over
    from drills.sound.patterns import phrase
    from drills.theory.altered_dominant import altered_fifth_words, with_altered_fifth

    player = player_of()
    finder = player.finder(player.neck(**options))
    found, reasons = shapes_named(finder, name, "arpeggio", strings, player.table)
    if not found:
        raise NotPlayableError(reasons[0] if reasons else f"{name[:40]}: nothing fits this neck")
    shape = found[0]
    if words := altered_fifth_words(shape.chord):
        shape = shape_on(finder, with_altered_fifth(shape.chord), ARPEGGIO.id, shape.strings)
        echo(f"{words[0].upper()}{words[1:]}: {shape.name} sounds.", err=True)
    elif words := reduced_words(shape.chord):
        echo(words, err=True)
    grip = grip_inside(finder, shape) or shape
    mode = mode_over(finder, shape) or shape
    score = phrase(grip, shape, mode, float(tempo), title=f"{shape.name} on {shape.strings}")
    if with_phrase:
        from dataclasses import replace

        from drills.lines.backing import line_score
        from drills.lines.phrase_in_place import phrase_in_place
        from drills.sound.score import later

        played = phrase_in_place(finder, shape)
        if played is None:
            echo(f"{shape.name} on {shape.strings}: no short line fits at this place", err=True)
        else:
            after = later(line_score(played, tempo_bpm=float(tempo)).tones, score.length_s)
            score = replace(score, tones=(*score.tones, *after))
    if wav:
        from drills.sound.wav import save_wav

        save_wav(score, wav)
        echo(f"{wav}: {score.title}, {score.length_s:.1f} s", err=True)
    if midi:
        from drills.sound.midi import save_midi

        save_midi(score, midi)
        echo(f"{midi}: {score.title}", err=True)
    if not wav and not midi:
        from drills.sound.playback import Playback as SoundPlayer

        with SoundPlayer() as sound:
            sound.play(score)
            sound.wait(score.length_s + 5)
            if notice := sound.take_notice():
                from drills.sound.outlets import SYSTEM_PLAYERS

                names = ", ".join(command[0] for command in SYSTEM_PLAYERS)
                echo(f"{notice} Tried sounddevice, {names}; --wav FILE writes it instead.", err=True)
