"""The round trip of each pair of devices, kept from one day to the next in a file beside the settings."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from drills.errors import MicrophoneError, shown
from drills.listening.room import StartDelay
from scheduler.atomic_write import write_whole
from scheduler.plain_file import open_plain

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["forget_delay", "keep_delay", "kept_delay", "usable_delay"]

_MOST_BYTES = 1_000_000
_MOST_DEVICES = 40
_FIELDS = {"seconds": (0.0, 2.0), "spread_s": (0.0, 2.0), "starts": (1, 1000), "bleed_db": (-200.0, 60.0)}
_MEND = "neckwork tuner --clicks writes it anew"


def kept_delay(file: Path, devices: str) -> StartDelay | None:
    """What was measured of a pair of devices, as `Duplex.devices` names it; None where nothing was.

    Raises MicrophoneError where the file cannot be read or holds something else.
    """
    found = _read(file).get(devices)
    return None if found is None else _delay(found, f"{file}, {shown(devices)}")


def usable_delay(file: Path, devices: str) -> tuple[StartDelay | None, str]:
    """What was measured of a pair of devices, and what is said where the file is of no use; ``""`` where it is.

    A file that holds something else is set aside under its name with ``.broken`` behind, so that it is said once; to
    whoever listens the devices are as if they had never been measured.
    """
    try:
        return kept_delay(file, devices), ""
    except MicrophoneError as error:
        said = str(error).removesuffix(f"; {_MEND}")
        if isinstance(error.__cause__, OSError):  # nothing is known of what it holds
            return None, f"{said}. Nothing is timed until it can be read, or {_MEND}."
    try:
        aside = file.replace(file.with_name(f"{file.name}.broken"))
    except OSError:
        return None, f"{said}. Nothing is timed until {_MEND}."
    return None, f"{said}. It was set aside as {aside.name}; nothing is timed until {_MEND}."


def keep_delay(file: Path, devices: str, delay: StartDelay) -> None:
    """Keeps what was measured, beside that of other devices; a file that cannot be read is written anew.

    Raises OSError where it cannot be written.
    """
    known = _others(file, devices)
    known[devices] = {name: getattr(delay, name) for name in _FIELDS}
    _write(file, known)


def forget_delay(file: Path, devices: str) -> None:
    """Forgets what was measured of a pair of devices; nothing is written where nothing was.

    Raises OSError where it cannot be written.
    """
    others = _others(file, devices)
    if file.exists():
        _write(file, others)


def _others(file: Path, devices: str) -> dict[str, Any]:
    """What is known of other pairs of devices."""
    try:
        return {name: found for name, found in _read(file).items() if name != devices}
    except MicrophoneError:
        return {}


def _write(file: Path, known: Mapping[str, Any]) -> None:
    write_whole(file, json.dumps(dict(list(known.items())[-_MOST_DEVICES:]), indent=1) + "\n", private=True)


def _read(file: Path) -> Mapping[str, Any]:
    try:
        with open_plain(file, _MOST_BYTES) as opened:
            found = json.loads(opened.read().decode("utf-8"))
    except FileNotFoundError:
        return {}
    except OSError as error:
        raise MicrophoneError(f"{file}: cannot be read ({error.strerror or error}); {_MEND}") from error
    except (ValueError, RecursionError) as error:
        raise MicrophoneError(f"{file}: expected JSON, got something else ({error}); {_MEND}") from error
    if not isinstance(found, dict):
        raise MicrophoneError(f"{file}: expected an object of devices, got {shown(found)}; {_MEND}")
    return found


def _delay(found: Any, where: str) -> StartDelay:
    values = []
    for name, (low, high) in _FIELDS.items():
        value = found.get(name) if isinstance(found, dict) else None
        if not isinstance(value, int | float) or isinstance(value, bool) or not low <= value <= high:
            raise MicrophoneError(f"{where}, {name}: expected {low} to {high}, got {shown(value)}; {_MEND}")
        values.append(value)
    seconds, spread_s, starts, bleed_db = values
    return StartDelay(float(seconds), float(spread_s), int(starts), float(bleed_db))
