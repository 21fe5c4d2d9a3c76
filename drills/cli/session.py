"""`neckwork session`: today's ten minutes."""

from __future__ import annotations

from typing import Any

import click

from drills.cli.player_files import changes_options, focus_options, neck_options, player_of
from drills.cli.sitting_down import sit, sit_options

__all__ = ["command"]


@click.command("session")
@click.argument("deck", required=False)
@click.option("--minutes", type=click.FloatRange(1, 60), help="Length; the card in hand is always finished.")
@changes_options
@click.option("--by", metavar="DATE", help="The day a tune is for, e.g. 2027-05-01: says what will come clean.")
@focus_options
@neck_options
@click.option("--listen", is_flag=True, help="Hear what is played by the microphone, and propose a grade.")
@click.option("--hands-free", is_flag=True, help="With the microphone, go on by what is heard; keys overrule.")
@click.option("--spoken", is_flag=True, help="Say prompts and proposals by a voice of the system.")
@click.option("--recording", metavar="FILE", hidden=True, help="A WAV file in place of the microphone.")
@sit_options
def command(
    deck: str | None, minutes: float | None, plain: bool, quiet: bool, log: str | None, seed: int, by: str | None,
    listen: bool, hands_free: bool, spoken: bool, recording: str | None, **options: Any,
) -> int:  # fmt: skip
    """Play today's session from DECK (your usual one when left out), or over the changes of a tune.

    Play (Enter, Right or Page Down shows the answer), look, and say how the first try went: l looked, f found
    it, c clean, t in time. On a prompt l (or Left) shows what you do not know, as looked. u takes the last
    grade back, h lists the keys. Every grade is on disk before the next prompt.

    It ends at ten minutes, after the card in hand. What is met for the first time comes as a lesson; after a
    miss the card comes back three or more cards later, of several some the next day. The plan stands in one
    line before the first card; there v asks nothing new.

    With --changes a tune is the deck: its chords where the nearest roots lay them, and its changes of chord.
    --away needs no guitar: the answer is typed and judged, Enter takes the verdict, a grade key overrules it,
    Tab passes. --prompts chooses kinds of prompt, listed in decks/README.md. --plain plays in lines that a
    screen reader can say.

    --listen hears arpeggios, scales and grips by the microphone, says with the answer which notes it took for wrong
    or did not hear well, and proposes a grade or none; your key decides, and the log keeps both. Nothing is
    recorded. While the tool itself sounds it does not listen, a click apart, which then has no pitch. What is played
    over the click (k) is timed once neckwork tuner --clicks has measured the device. Keep speaker and headphones at
    the level of speech, and do not turn a click up over the guitar. Tried on simulated playing only.

    --hands-free goes on by what is heard: the answer comes after the last right note or a silence, after three
    seconds silence takes the grade that is proposed, and a grade key overrules it. A lesson, and a diagram after a
    miss, stay until they were played right twice. What was not heard well waits for your key; two overrules in a row
    turn it off.

    --spoken says each prompt and what was heard by a voice of the system (say, spd-say or espeak-ng, where there is
    one), so that with --hands-free a session can be played without looking or touching. What you play while it
    speaks is not judged.

    A two-pedal page turner is enough: Page Down reveals and accepts Clean, Page Up marks Looked, and on the
    next prompt Page Up, and no other key, raises the last grade a step.

    \b
    Examples:
      neckwork session --minutes 5 --strings 543 --quality m7,m7b5
      neckwork session keys --key Bb
      neckwork session --changes blues-in-f --transpose Bb
      neckwork session --changes "| Cm7 | F7 | Bbmaj7 |" --from 6
      neckwork session --prompts note,diagram
      neckwork session --away --minutes 5
    """
    from drills.session.session_state import DAILY

    return sit(
        player_of(log), deck, options, kind=DAILY, minutes=minutes, plain=plain, quiet=quiet, seed=seed, by=by,
        listen=listen or hands_free or recording is not None, hands_free=hands_free, spoken=spoken,
        recording=recording,
    )  # fmt: skip
