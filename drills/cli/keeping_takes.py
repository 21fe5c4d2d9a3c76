"""Records takes that a player is asked for, once somebody has agreed, and removes them again."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

import click
import numpy as np

from drills.cli.output import echo
from drills.configuration.home import expanded
from drills.listening.ears import Ears
from drills.listening.evaluate.kept_takes import AGREED_BY, TakeFolder, request_at
from drills.listening.heard import Target
from drills.listening.verdict import over
from drills.microphone.device import Microphone, load_sounddevice

if TYPE_CHECKING:
    from drills.listening.heard import Samples
    from drills.shapes.shape import Shape

__all__ = ["record_takes", "remove_takes"]

_MOST_S = 30.0
_TAIL_S = 1.0
_AFTER_FAULT_S = 3.0

_CONSENT = (
    "What you play will be recorded and kept in {folder}, on this machine and nowhere else; "
    "neckwork listen --delete-takes {folder} removes all of it."
)
_HOW = {
    "right": "Play it right, slowly.",
    "wrong": "Play the {nth} note wrong: another note in its place, and go on.",
    "missing": "Leave the {nth} note out, and go on at once.",
    "extra": "Play one note too many before the {nth} note.",
    "mended": "Play the {nth} note wrong, then right, and go on.",
    "hesitation": "Stop for two seconds before the {nth} note.",
}
_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")


def record_takes(name: str, shape: Shape) -> None:
    """Asks for takes of a shape one after another until the player ends; keeps those that went as asked.

    Raises MicrophoneError where nothing can be heard or the folder holds something else.
    """
    path = expanded(name)
    folder = TakeFolder(path)
    library = load_sounddevice()
    if not folder.agreed_by:
        echo(_CONSENT.format(folder=path))
        who = click.prompt(
            "Who agrees: you, 18 or older (me), or for a minor a parent or guardian (guardian)? Anything else: nobody",
            default="nobody", show_default=False,
        )  # fmt: skip
        if who.strip().lower() not in AGREED_BY:
            echo("Nothing is recorded.")
            return
        folder.agree(who.strip().lower())
    target = Target(tuple(note.midi for note in shape.notes))
    title = f"{shape.name}, strings {shape.strings}"
    while True:
        request, place = request_at(len(folder.takes), len(target.pitches))
        nth = _ORDINALS[place - 1] if place <= len(_ORDINALS) else f"{place}th"
        echo(f"Take {len(folder.takes) + 1}, {title}. {_HOW[request].format(nth=nth)}")
        if click.prompt("Enter begins, q ends", default="", show_default=False).strip().lower() == "q":
            return
        with Microphone(library) as microphone:
            echo("The microphone is on.")
            samples = _recorded(microphone, target, patient=request != "right")
        if click.confirm("Did it go as asked? Then it is kept", default=True):
            one = folder.keep(
                samples, microphone.rate, title, target.pitches, request, place, datetime.now().date().isoformat()
            )
            echo(f"kept: {path / one.file}")


def _recorded(microphone: Microphone, target: Target, *, patient: bool) -> Samples:
    """One take, until it is over and has rung on. patient: whether a stop may belong to it."""
    ears, pieces, over_at = Ears.start(microphone.rate), [], None
    for frame in microphone.frames():
        pieces.append(frame.samples)
        ears = ears.take(frame)
        ended = over(ears, target)
        over_at = (over_at or ears.now_s) if ended else None
        if ears.now_s > _MOST_S or (over_at and ears.now_s - over_at > (_AFTER_FAULT_S if patient else _TAIL_S)):
            break
    whole: Samples = np.concatenate(pieces)
    return whole


def remove_takes(name: str) -> None:
    """Removes every take of a folder after asking. Raises MicrophoneError for a folder of something else."""
    path = expanded(name)
    folder = TakeFolder(path)
    if not folder.takes and not folder.agreed_by:
        echo(f"{path}: no kept takes.")
        return
    if click.confirm(f"Remove {len(folder.takes)} takes from {path}?", default=True):
        echo(f"removed: {folder.delete()} takes")
