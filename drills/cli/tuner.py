"""`neckwork tuner`: the open strings in cents, a capo, and how the microphone hears."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from drills.cli.output import echo, echo_json
from drills.cli.player_files import player_of

if TYPE_CHECKING:
    from drills.cli.player_files import PlayerFiles
    from drills.errors import MicrophoneError
    from drills.listening.ears import Ears
    from drills.listening.heard import Samples
    from drills.listening.room import Noise
    from drills.listening.tuner import StringHeard, Tuned
    from drills.neck.tuning import Tuning

__all__ = ["command"]

_QUIET_S = 5.0
_MOST_S = 90.0


@click.command("tuner")
@click.option("--wav", metavar="FILE", help="Listen to a recording instead of the microphone.")
@click.option("--tuning", metavar="NAME", help="A tuning's name, or open pitches such as 'E2 A2 D3 G3 B3 E4'.")
@click.option(
    "--clicks", is_flag=True, help="Play eight clicks in four starts; measure and keep how late they come back."
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
def command(wav: str | None, tuning: str | None, clicks: bool, as_json: bool) -> None:
    """Tune: play the open strings one after the other, from the lowest.

    Each is told in cents (hundredths of a semitone) against your tuning; a capo is found when all lie higher by as
    much. The level and the noise of the room are told too. Nothing is recorded or kept.

    Without --wav the microphone listens, which needs pip install 'neckwork[sound]' (on Linux also the package
    libportaudio2). Tried on simulated playing only.

    --clicks measures how late a sound comes back in, from the moment it is handed to the speaker, and keeps it for
    this pair of speaker and microphone, so that what is played over a click or a track can be timed.

    \b
    Example:
      neckwork tuner --wav strings.wav --json
    """
    from drills.listening.tuner import tuned

    player = player_of()
    neck = player.neck(tuning=tuning)
    if clicks:
        if wav:
            raise click.UsageError("--clicks needs the microphone; leave --wav out")
        _click_back(player)
        return
    ears, noise = _recorded(wav) if wav else _live(neck.tuning)
    found = tuned(ears.heard, [pitch.midi for pitch in neck.tuning.open])
    if as_json:
        echo_json(_document(found, neck.tuning, ears, noise))
        return
    for line in _lines(found, neck.tuning, ears, noise):
        echo(line)


def _recorded(path: str) -> tuple[Ears, Noise | None]:
    from drills.listening.room import noise_of
    from drills.listening.tuner import tuner_ears
    from drills.microphone.wav_input import read_wav

    sound = read_wav(path)
    ears = tuner_ears(sound.rate)
    for frame in sound.frames():
        ears = ears.take(frame)
    ears = ears.finish()
    first = ears.heard[0].at_s if ears.heard else len(sound.samples) / sound.rate
    before = sound.samples[: max(0, round((first - 0.05) * sound.rate))]
    return ears, noise_of(before, sound.rate) if len(before) >= 0.3 * sound.rate else None


def _live(tuning: Tuning) -> tuple[Ears, Noise | None]:
    import numpy as np

    from drills.listening.heard import Frame
    from drills.listening.room import noise_of
    from drills.listening.tuner import tuned, tuner_ears
    from drills.microphone.device import Microphone, load_sounddevice

    open_midi = [pitch.midi for pitch in tuning.open]
    with Microphone(load_sounddevice()) as microphone:
        echo("The microphone is open. Be still for five seconds.", err=True)
        ears, told, start = tuner_ears(microphone.rate), 0, 0.0
        quiet: list[Samples] = []
        noise: Noise | None = None
        for frame in microphone.frames():
            if noise is None:
                quiet.append(frame.samples)
                if frame.at_s < _QUIET_S:
                    continue
                noise = noise_of(np.concatenate(quiet), microphone.rate)
                if not any(part.any() for part in quiet):
                    raise _nothing()
                echo("Now play the open strings, the lowest first. Ctrl-C ends.", err=True)
                start = frame.at_s
                continue
            ears = ears.take(Frame(frame.at_s - start, frame.samples))
            if len(ears.heard) > told:
                told = len(ears.heard)
                found = tuned(ears.heard, open_midi)
                last = tuned(ears.heard[-1:], [midi + found.shift for midi in open_midi])
                for one in last.strings if not last.shift else ():
                    echo(_string_line(one, tuning, found.shift))
                if not found.missing and all(one.in_tune for one in found.strings):
                    break
            if frame.at_s > _MOST_S:
                break
    return ears.finish(), noise


def _nothing() -> MicrophoneError:
    from drills.errors import MicrophoneError

    return MicrophoneError("the microphone gives nothing: allow your terminal to use it")


def _click_back(player: PlayerFiles) -> None:
    """Measures the round trip of the device, says it, and keeps it for playing in time."""
    from drills.errors import SettingsError
    from drills.microphone.device import load_sounddevice
    from drills.microphone.duplex import Duplex
    from drills.microphone.kept_delays import forget_delay, keep_delay
    from drills.microphone.start_delay import measured_start_delay

    library = load_sounddevice()
    devices = Duplex(library).devices
    echo("The speaker plays eight quiet clicks. Over headphones, hold one to the microphone.", err=True)
    back = measured_start_delay(lambda: Duplex(library))
    if back is None:
        echo("The clicks did not come back: with headphones hold one to the microphone, or turn it up a little.")
        return
    echo(f"Round trip: {back.seconds * 1000:.0f} ms, within {back.spread_s * 1000:.0f} ms over {back.starts} starts.")
    echo(f"The click comes in at {back.bleed_db:.0f} dB.")
    try:
        if back.steady:
            player.home.make()
            keep_delay(player.home.sound_delays, devices, back)
        else:
            forget_delay(player.home.sound_delays, devices)
    except OSError as error:
        raise SettingsError(
            f"{player.home.sound_delays}: cannot be written ({error.strerror or error}); check its permissions"
        ) from error
    if back.steady:
        echo(f"Kept for {devices}: what you play over a click or a track can be timed.")
    else:
        echo("The starts differ too much to time what you play; nothing was kept. Close what else sounds, try again.")
    echo("Keep headphones and speakers at speech level; do not turn the click up over the guitar.")


def _string_line(one: StringHeard, tuning: Tuning, shift: int) -> str:
    pitch = tuning.raised(shift).open_pitch(one.string).name if shift >= 0 else tuning.open_pitch(one.string).name
    advice = "in tune" if one.in_tune else "too high, loosen it" if one.cents > 0 else "too low, tighten it"
    cents = round(one.cents, 1) + 0.0  # no minus before a zero
    return f"string {one.string}  {pitch:4} {cents:+6.1f} cents  {advice}"


def _lines(found: Tuned, tuning: Tuning, ears: Ears, noise: Noise | None) -> list[str]:
    from drills.listening.level import QUIET_DB
    from drills.listening.room import NOISY_DB

    if ears.level.gives_nothing:
        return ["Only zeros came in: the microphone gives nothing. Allow your terminal to use it."]
    if not found.strings:
        return ["No string was heard. Play each open string once and let it ring for a second."]
    lines = [_string_line(one, tuning, found.shift) for one in found.strings]
    if found.missing:
        lines.append(f"Not heard: string {', '.join(map(str, found.missing))}.")
    if found.shift > 0:
        lines.append(f"All strings lie {found.shift} higher: a capo at fret {found.shift}?")
    elif found.shift < 0:
        lines.append(f"All strings lie {-found.shift} lower than your tuning.")
    level = f"Level: {ears.level.peak_db:.0f} dB at the loudest"
    if ears.level.clipped:
        level += ", clipped: turn the input down"
    elif ears.level.peak_db < QUIET_DB:
        level += ", too quiet: turn the input up or come nearer"
    lines.append(level + ".")
    if noise is not None:
        said = f"Noise: {noise.noise_db:.0f} dB"
        if noise.noise_db > NOISY_DB:
            said += ", loud enough to hide quiet notes"
        if noise.hum_hz:
            said += f"; a hum at {noise.hum_hz} Hz, from the mains"
        lines.append(said + ".")
    return lines


def _document(found: Tuned, tuning: Tuning, ears: Ears, noise: Noise | None) -> dict[str, object]:
    return {
        "tuning": str(tuning),
        "strings": [{"string": s.string, "cents": s.cents, "in_tune": s.in_tune} for s in found.strings],
        "missing": list(found.missing),
        "shift": found.shift,
        "peak_db": round(ears.level.peak_db, 1),
        "clipped": ears.level.clipped,
        "noise_db": None if noise is None else round(noise.noise_db, 1),
        "hum_hz": None if noise is None else noise.hum_hz,
        "tried_on": "simulated playing only",
    }
