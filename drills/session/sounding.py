"""The sounds of a session: a card's shape, the click, the drone, and a two-five-one to play over."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Protocol

from drills.cards.card import Card
from drills.cards.material import Material
from drills.errors import NotPlayableError
from drills.shapes.form import ARPEGGIO
from drills.shapes.shape import Shape
from drills.theory.chord import Chord

if TYPE_CHECKING:
    from drills.sound.outlets import Outlet
    from drills.sound.playback import Playback
    from drills.sound.score import Score, Tone

__all__ = ["Listener", "SoundedClick", "Speaker", "two_five_one"]

CLICK_BARS = 4
"""Bars of click after the count-in: a nine-note arpeggio in quarters, twice over (common practice)."""

_NOTE_S, _GRIP_S, _FADE_S = 0.4, 2.0, 0.4

NO_SOUND = "No sound on this machine."
"""The answer to a wish to hear something once it is known that nothing can be heard."""


class Listener(Protocol):
    """Whatever lets things be heard; every method returns at once, with a line for the player or ``""``."""

    def hear(self, shape: Shape, grip: Shape | None, mode: Shape | None) -> str:
        """Chord, arpeggio, mode, chord."""
        ...

    @property
    def silent(self) -> bool:
        """Whether nothing can be heard, as far as is known."""
        ...

    @property
    def sounding(self) -> bool:
        """Whether something is heard now, or about to be."""
        ...

    def parts(self, shapes: Sequence[Shape]) -> str:
        """Shapes one after another: grips struck, others played up."""
        ...

    def transition(self, before: Shape, after: Shape) -> str:
        """One shape up and the next one up, without a gap."""
        ...

    def drone(self, shape: Shape, seconds: float) -> str:
        """Root and fifth, or the lowest two notes, held."""
        ...

    def click(self, tempo_bpm: float) -> str:
        """A bar of count-in, then clicks."""
        ...

    def changes(self, grips: list[Shape], tempo_bpm: float, seconds: float) -> str:
        """Two beats or a bar for each grip, round and round, with a click."""
        ...

    def tune(self, make: Callable[[], Score], title: str, tempo_bpm: float) -> str:
        """The changes of a tune; `make` is called where nobody waits for it."""
        ...

    def stop(self) -> None:
        """Silence."""
        ...

    def notice(self) -> str:
        """What went wrong with the sound, once; else ``""``."""
        ...


@dataclass(frozen=True, slots=True)
class SoundedClick:
    """A click that was asked for.

    tempo_bpm: beats a minute. asked_s: when, on a clock that is never set. length_s: how long it lasts by itself.
    stopped_s: when it was stopped, on the same clock, or None.
    """

    tempo_bpm: float
    asked_s: float
    length_s: float
    stopped_s: float | None = None


class Speaker:
    """Sounds through the machine's player, on a thread of its own; see `drills.sound.playback`.

    notify: called from that thread when there is something to say. pitched_click: whether the click is two pitches, or
    noise that cannot be taken for a note. find: see `Playback`.
    """

    def __init__(self, notify: Callable[[], None] | None = None, *, pitched_click: bool = True, **options: Any):
        self._pitched_click, self._clicks = pitched_click, False
        self._options = {"notify": notify, **options}
        self._made: Playback | None = None
        self._click: SoundedClick | None = None
        self.beside_click = ""
        """What is said besides when a click begins."""

    def play_through(self, outlet: Outlet) -> None:
        """Has all that is played from the first sound on go through an outlet, or through the others if it fails."""
        from drills.sound.outlets import find_outlets

        self._options["find"] = lambda: [outlet, *find_outlets()]

    @property
    def sounded_click(self) -> SoundedClick | None:
        """The click without pitch that was played last; None where something else was played since."""
        return self._click

    @property
    def _player(self) -> Playback:
        # Made when something is first to be heard: a session in silence costs nothing.
        if self._made is None:
            from drills.sound.playback import Playback

            self._made = Playback(**self._options)
        return self._made

    @property
    def _silent(self) -> bool:
        return self._made is not None and self._made.silent

    @property
    def silent(self) -> bool:
        """Whether playing was tried in vain, or there is nothing to try it with."""
        from drills.sound.outlets import can_play

        return self._silent if self._made is not None else "find" not in self._options and not can_play()

    @property
    def sounding(self) -> bool:
        """Whether something is heard now, or about to be."""
        return self._made is not None and not self._made.wait(0.0)

    @property
    def only_clicks(self) -> bool:
        """Whether what is heard now is a click without pitch and nothing else."""
        return self._clicks and self.sounding

    def _play(self, sound: Score | Callable[[], Score], *, clicks: bool = False) -> None:
        self._clicks, self._click = clicks, None
        self._player.play(sound)

    def parts(self, shapes: Sequence[Shape]) -> str:
        """Shapes one after another at the pace of `hear`: grips struck, others played up."""
        from drills.sound.patterns import line, strum
        from drills.sound.score import Score

        if self._silent:
            return NO_SOUND
        tones: list[Tone] = []
        start_s = 0.0
        for shape in shapes:
            if shape.form.kind == "grip":
                tones += strum(_keys(shape), start_s, _GRIP_S)
                start_s += _GRIP_S
            else:
                tones += line(_keys(shape), start_s, _NOTE_S, last_s=2.5 * _NOTE_S)
                start_s += _NOTE_S * (len(shape.notes) + 1.5)
        self._play(Score(tuple(tones), fade_out_s=_FADE_S))
        return ""

    def hear(self, shape: Shape, grip: Shape | None, mode: Shape | None) -> str:
        """Chord, arpeggio up and down, mode up and down, chord; what is missing is passed over."""
        from drills.sound.patterns import line, phrase, strum, up_down
        from drills.sound.score import Score

        if self._silent:
            return NO_SOUND
        if grip is not None and mode is not None:
            self._play(phrase(_keys(grip), _keys(shape), _keys(mode), title=shape.name))
        elif shape.form.kind == "grip":
            self._play(Score(strum(_keys(shape)), title=shape.name, fade_out_s=_FADE_S))
        else:
            notes = line(
                up_down(_keys(shape)) if shape.form.returns else _keys(shape), 0.0, _NOTE_S, last_s=2.5 * _NOTE_S
            )
            self._play(Score(notes, title=shape.name, fade_out_s=_FADE_S))
        return ""

    def transition(self, before: Shape, after: Shape) -> str:
        """The notes of the first shape and then of the second, at the pace of `hear`."""
        from drills.sound.patterns import line
        from drills.sound.score import Score

        if self._silent:
            return NO_SOUND
        notes = line((*_keys(before), *_keys(after)), 0.0, _NOTE_S, last_s=2.5 * _NOTE_S)
        self._play(Score(notes, title=f"{before.name} {after.name}", fade_out_s=_FADE_S))
        return ""

    def drone(self, shape: Shape, seconds: float) -> str:
        """The root and the fifth above it, or the next chord tone where there is none, in the shape's octave."""
        from drills.sound.patterns import drone

        if self._silent:
            return NO_SOUND
        root = shape.root.pitch.midi
        above = [note.pitch.midi for note in shape.notes if note.degree.endswith("5")] or [root + 12]
        self._play(drone((root, above[0]), seconds))
        return f"A drone on {shape.root.pitch.note}."

    def click(self, tempo_bpm: float) -> str:
        """One bar of count-in and four bars of click."""
        from drills.sound.click import click_track

        if self._silent:
            return NO_SOUND
        score, asked_s = click_track(tempo_bpm, CLICK_BARS, pitched=self._pitched_click), time.monotonic()
        self._play(score, clicks=not self._pitched_click)
        if not self._pitched_click:
            self._click = SoundedClick(tempo_bpm, asked_s, score.length_s)
        return f"Click at {tempo_bpm:g}: one bar in, then start. {self.beside_click}".rstrip()

    def changes(self, grips: list[Shape], tempo_bpm: float, seconds: float) -> str:
        """A bar for each grip, the last one for two when there are three, for about so many seconds."""
        from drills.sound.backing_track import TrackChord, track
        from drills.sound.score import COMMON_TIME

        if self._silent:
            return NO_SOUND
        bar = COMMON_TIME.bar_quarters
        bars = [1] * (len(grips) - 1) + [2 if len(grips) == 3 else 1]
        start, chords = 0.0, []
        for grip, count in zip(grips, bars, strict=True):
            chords.append(TrackChord(start, count * bar, grip.root.pitch.midi, _keys(grip)))
            start += count * bar
        rounds = max(1, round(seconds * tempo_bpm / 60.0 / start))
        self._play(track(chords, tempo_bpm, rounds=(0,) * rounds))
        return " ".join(grip.name for grip in grips) + f", at {tempo_bpm:g}."

    def tune(self, make: Callable[[], Score], title: str, tempo_bpm: float) -> str:
        """The score that `make` gives, made on the sound's own thread."""
        if self._silent:
            return NO_SOUND
        self._play(make)
        return f"{title}, at {tempo_bpm:g}: a bar of count-in, then the top."

    def stop(self) -> None:
        """Silence."""
        if self._click is not None and self._click.stopped_s is None:
            self._click = replace(self._click, stopped_s=time.monotonic())
        if self._made is not None:
            self._made.stop()

    def notice(self) -> str:
        """Why nothing is heard, once."""
        return (self._made.take_notice() or "") if self._made is not None else ""

    def close(self) -> None:
        """Ends the sound and its thread."""
        if self._made is not None:
            self._made.close()


def _keys(shape: Shape) -> tuple[int, ...]:
    return tuple(note.pitch.midi for note in shape.notes)


def two_five_one(material: Material, card: Card) -> list[Shape]:
    """Grips of the two-five-one a card's chord belongs to; empty when it belongs to none or a grip does not fit.

    maj7 and 6 are the one of a major key, m7 its two, 7 its five, m7b5 the two of a minor key
    and m6 and mMaj7 its one (drills/RULES.md, B1, where each quality is met).
    """
    from drills.theory.interval import Interval, transpose_note
    from drills.theory.quality import shipped_qualities

    table = shipped_qualities()
    name = card.own_chord.quality.name
    minor = name in ("m7b5", "m6", "mMaj7")
    down = {"maj7": "1", "6": "1", "m6": "1", "mMaj7": "1", "m7": "2", "m7b5": "2", "7": "5"}.get(name)
    if down is None:
        return []
    tonic = transpose_note(card.own_chord.root, -Interval.from_degree(down))
    if minor:
        names = ("m7b5", "7", name if name in ("m6", "mMaj7") else "m6")
    else:
        names = ("m7", "7", name if name == "6" else "maj7")
    found = []
    for step, quality in zip(("2", "5", "1"), names, strict=True):
        chord = Chord(transpose_note(tonic, Interval.from_degree(step)), table.named(quality))
        grip = _nearest_grip(material, chord, card)
        if grip is None:
            return []
        found.append(grip)
    return found


def _nearest_grip(material: Material, chord: Chord, card: Card) -> Shape | None:
    """The grip of a chord on the string set where it lies nearest to the card's own place."""
    sets = dict.fromkeys(other.strings for other in material.cards.values() if other.form == ARPEGGIO)
    here = material.answer(card).root.fret
    grips = []
    for strings in sets:
        wanted = Card("", "name", chord, ARPEGGIO, strings, ())
        try:
            grip = material.grip(wanted)
        except NotPlayableError:
            continue
        if grip is not None:
            grips.append(grip)
    return min(grips, key=lambda grip: (abs(grip.root.fret - here), grip.root.string), default=None)
