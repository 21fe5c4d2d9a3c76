"""Standard MIDI Files from the same scores (RP-001, format 1), written with mido."""

from __future__ import annotations

import io
import os
import unicodedata
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from drills.errors import SoundError
from drills.sound.score import VOICES, Score, Tone
from scheduler.atomic_write import write_whole

if TYPE_CHECKING:
    from mido import MidiTrack

__all__ = ["TICKS_PER_QUARTER", "midi_bytes", "save_midi", "write_midi"]

TICKS_PER_QUARTER = 480

# Channel (counted from 0) and program (General MIDI level 1, counted from 0) of each voice:
# jazz guitar, acoustic bass, a second jazz guitar, warm pad. Channel 9 is percussion and has no program.
_PARTS: dict[str, tuple[str, int, int | None]] = {
    "pluck": ("Guitar", 0, 26),
    "bass": ("Bass", 1, 32),
    "comping": ("Comping", 3, 26),
    "drums": ("Drums", 9, None),
    "drone": ("Drone", 2, 89),
    "click": ("Click", 9, None),
}
# Signs that music uses and ASCII lacks; readers disagree about any other encoding of a name.
_ASCII = str.maketrans({"♭": "b", "♯": "#", "𝄫": "bb", "𝄪": "##", "△": "maj", "Δ": "maj", "ø": "m7b5", "°": "dim"})


def write_midi(score: Score, file: BinaryIO) -> None:
    """Write the score to an open binary file as a format 1 Standard MIDI File.

    The first track carries title, tempo and metres; then one track for each voice that
    sounds. Names are ASCII. Tones without a MIDI key are left out. The tempo holds
    throughout, so that seconds and quarters agree; a note struck again while it still
    sounds is first let go. Raises SoundError for a metre the format cannot hold.
    """
    from mido import MetaMessage, MidiFile, MidiTrack, bpm2tempo

    out = MidiFile(type=1, ticks_per_beat=TICKS_PER_QUARTER)
    head = MidiTrack()
    head.append(MetaMessage("track_name", name=_ascii(score.title) or "Score", time=0))
    head.append(MetaMessage("set_tempo", tempo=bpm2tempo(score.tempo_bpm), time=0))
    at = 0
    for metre in score.metres:
        tick = round(metre.start_quarter * TICKS_PER_QUARTER)
        head.append(
            MetaMessage(
                "time_signature",
                numerator=metre.beats,
                denominator=metre.unit,
                # MIDI clocks (24 a quarter) in one click of the metronome.
                clocks_per_click=round(metre.click_quarters * 24),
                time=tick - at,
            )
        )
        at = tick
    out.tracks.append(head)
    for voice in VOICES:
        tones = [each for each in score.tones if each.voice == voice and each.midi is not None]
        if tones:
            out.tracks.append(_part(voice, tones, score.tempo_bpm))
    out.save(file=file)


def midi_bytes(score: Score) -> bytes:
    """Return the score as the bytes of a Standard MIDI File; see `write_midi`."""
    held = io.BytesIO()
    write_midi(score, held)
    return held.getvalue()


def save_midi(score: Score, path: str | os.PathLike[str]) -> Path:
    """Write the score to `path`, whole or not at all, and return it; raises SoundError when it cannot be written."""
    path = Path(path)
    content = midi_bytes(score)
    try:
        write_whole(path, content)
    except OSError as error:
        raise SoundError(f"midi: cannot write {path}: {error.strerror or error}; choose another place") from error
    return path


def _part(voice: str, tones: list[Tone], tempo_bpm: float) -> MidiTrack:
    from mido import Message, MetaMessage, MidiTrack

    name, channel, program = _PARTS[voice]
    part = MidiTrack()
    part.append(MetaMessage("track_name", name=name, time=0))
    if program is not None:
        part.append(Message("program_change", channel=channel, program=program, time=0))
    at = 0
    # At one tick, notes end before others begin.
    for tick, starts, key, velocity in sorted(_events(tones, tempo_bpm)):
        kind = "note_on" if starts else "note_off"
        part.append(Message(kind, channel=channel, note=key, velocity=velocity, time=tick - at))
        at = tick
    return part


def _events(tones: list[Tone], tempo_bpm: float) -> list[tuple[int, bool, int, int]]:
    """Return (tick, starts, key, velocity) of every beginning and end, no key struck twice."""
    per_s = tempo_bpm / 60 * TICKS_PER_QUARTER
    by_key: dict[int, list[tuple[int, int, int]]] = {}
    for each in tones:
        if each.midi is None:
            continue
        first = round(each.start_s * per_s)
        last = max(first + 1, round(each.end_s * per_s))
        velocity = max(1, min(127, round(each.loudness * 127)))
        by_key.setdefault(each.midi, []).append((first, last, velocity))
    events = []
    for key, spans in by_key.items():
        spans.sort()
        for place, (first, last, velocity) in enumerate(spans):
            if place + 1 < len(spans):
                following = spans[place + 1][0]
                if following == first:
                    # The same key twice at once is one note; the later entry sounds it.
                    spans[place + 1] = (first, max(last, spans[place + 1][1]), velocity)
                    continue
                last = min(last, following)
            events += [(first, True, key, velocity), (last, False, key, 0)]
    return events


def _ascii(text: str) -> str:
    plain = unicodedata.normalize("NFKD", text.translate(_ASCII))
    return plain.encode("ascii", "ignore").decode("ascii")
