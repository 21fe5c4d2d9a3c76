"""Takes of real playing, kept in a folder with consent: sound, what was asked, what was asked to go wrong."""

from __future__ import annotations

import csv
import json
import wave
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING, Any

import numpy as np

from drills.errors import MicrophoneError
from drills.listening.evaluate.instruments import Instrument
from drills.listening.evaluate.takes import Take
from scheduler.atomic_write import atomic_write

if TYPE_CHECKING:
    from drills.listening.heard import Samples

__all__ = ["AGREED_BY", "GRADES", "REQUESTS", "KeptTake", "TakeFolder", "request_at"]

AGREED_BY = ("me", "guardian")
"""Who may agree that playing is recorded: the player, or for a minor a parent or guardian."""

REQUESTS = {
    "right": "clean",
    "wrong": "looked",
    "missing": "looked",
    "extra": "found-it",
    "mended": "found-it",
    "hesitation": "found-it",
}
"""What a player is asked to do, and the grade such a pass deserves."""

GRADES = ("looked", "found-it", "clean", "in-time")
_FORMAT, _VERSION = "kept-takes", 1
_LIST, _BLIND = "takes.json", "grades.csv"


@dataclass(frozen=True, slots=True)
class KeptTake:
    """One take. file: its sound. shape: what was asked, in words. asked: MIDI numbers. request: of `REQUESTS`.
    place: which note was to go wrong, from 1; 0 for none. on: the day, ISO 8601."""

    file: str
    shape: str
    asked: tuple[int, ...]
    request: str
    place: int
    on: str


def request_at(number: int, notes: int) -> tuple[str, int]:
    """What the take of that number, from 0, is to be, and which of so many notes goes wrong: every second is right.

    The first and the last note are left alone where there are others.
    """
    if number % 2 == 0 or notes < 3:
        return "right", 0
    faults = [name for name in REQUESTS if name != "right"]
    return faults[number // 2 % len(faults)], 2 + Random(number).randrange(notes - 2)


class TakeFolder:
    """A folder of takes. Nothing is written to it before somebody has agreed.

    Raises MicrophoneError for a folder that holds something else, or a list that cannot be read.
    """

    def __init__(self, path: Path):
        self.path = path
        self.agreed_by = ""
        self.takes: tuple[KeptTake, ...] = ()
        if (path / _LIST).exists():
            self._read()
        elif path.exists() and (not path.is_dir() or any(path.iterdir())):
            raise MicrophoneError(f"{path}: expected a new or empty folder, or one of kept takes; choose another")

    def _read(self) -> None:
        where = self.path / _LIST
        try:
            stated = json.loads(where.read_text(encoding="utf-8"))
            if (stated["format"], stated["version"]) != (_FORMAT, _VERSION):
                raise ValueError("another format or version")
            self.agreed_by = str(stated["agreed_by"])
            self.takes = tuple(_kept(one) for one in stated["takes"])
        except (OSError, LookupError, TypeError, ValueError) as error:
            raise MicrophoneError(f"{where}: no list of kept takes ({error}); choose another folder") from None

    def agree(self, who: str) -> None:
        """Notes who agreed. Raises MicrophoneError for anybody else than `AGREED_BY`."""
        if who not in AGREED_BY:
            raise MicrophoneError(f"consent: expected {' or '.join(AGREED_BY)}, got {who[:40]!r}; nothing is recorded")
        self.agreed_by = who

    def keep(
        self, samples: Samples, rate: int, shape: str, asked: Sequence[int], request: str, place: int, on: str
    ) -> KeptTake:
        """Writes one take, 16 bit at its own rate, readable by the player alone; the rest is as in `KeptTake`.

        Raises MicrophoneError where nobody has agreed.
        """
        if not self.agreed_by:
            raise MicrophoneError(f"{self.path}: nobody has agreed to be recorded; nothing is kept")
        self.path.mkdir(mode=0o700, parents=True, exist_ok=True)
        last = max((int(one.file[5:9]) for one in self.takes), default=0)
        one = KeptTake(f"take-{last + 1:04d}.wav", shape, tuple(asked), request, place, on)
        with atomic_write(self.path / one.file, "wb", private=True) as file, wave.open(file, "wb") as sound:
            sound.setnchannels(1)
            sound.setsampwidth(2)
            sound.setframerate(rate)
            sound.writeframes((np.clip(samples, -1, 32767 / 32768) * 32768).astype("<i2").tobytes())
        self.takes = (*self.takes, one)
        self._write()
        return one

    def _write(self) -> None:
        stated = {
            "format": _FORMAT, "version": _VERSION, "agreed_by": self.agreed_by,
            "takes": [asdict(one) for one in self.takes],
        }  # fmt: skip
        with atomic_write(self.path / _LIST, private=True) as out:
            out.write(json.dumps(stated, indent=1) + "\n")
        # Whoever grades blind sees what was asked and hears the take, and not what was asked to go wrong.
        before = self.blind_grades()
        with atomic_write(self.path / _BLIND, private=True) as file:
            rows = csv.writer(file, lineterminator="\n")
            rows.writerow(["take", "asked", "grade"])
            rows.writerows([one.file, one.shape, before.get(one.file, "")] for one in self.takes)

    def blind_grades(self) -> dict[str, str]:
        """What a teacher has written beside the takes, by file. Raises MicrophoneError for a word that is no grade."""
        where = self.path / _BLIND
        if not where.exists():
            return {}
        with where.open(encoding="utf-8", newline="") as file:
            found = {row.get("take", ""): (row.get("grade") or "").strip() for row in csv.DictReader(file)}
        for take, grade in found.items():
            if grade and grade not in GRADES:
                raise MicrophoneError(
                    f"{where}, {take}, grade: expected one of {', '.join(GRADES)}, got {grade[:40]!r}"
                )
        return {take: grade for take, grade in found.items() if grade}

    def delete(self) -> int:
        """Removes every take, its list and its grades, and the folder where nothing else is in it; answers how many
        takes."""
        count = len(self.takes)
        for name in (*(one.file for one in self.takes), _BLIND, _LIST):
            (self.path / name).unlink(missing_ok=True)
        if self.path.exists() and not any(self.path.iterdir()):
            self.path.rmdir()
        self.takes = ()
        return count

    def loaded(self) -> list[Take]:
        """The takes as the evaluation counts them: the true grade is the teacher's where there is one.

        Raises MicrophoneError where a sound is gone.
        """
        blind = self.blind_grades()
        return [self._loaded(one, blind.get(one.file, REQUESTS[one.request])) for one in self.takes]

    def _loaded(self, one: KeptTake, grade: str) -> Take:
        try:
            with wave.open(str(self.path / one.file), "rb") as sound:
                rate, raw = sound.getframerate(), sound.readframes(sound.getnframes())
        except (OSError, EOFError, wave.Error) as error:
            raise MicrophoneError(f"{self.path / one.file}: the sound of a kept take is gone ({error})") from None
        right: list[bool | None] = [True] * len(one.asked)
        if one.request in ("wrong", "missing"):
            right[one.place - 1] = False if one.request == "wrong" else None
        player = Instrument("played by hand", None, tuned_on=False)
        return Take(
            np.frombuffer(raw, "<i2") / 32768.0, one.asked, (), tuple(right), grade, None, 0.0, None, player,
            one.request, "none", rate,
        )  # fmt: skip


def _kept(stated: dict[str, Any]) -> KeptTake:
    file, request = str(stated["file"]), str(stated["request"])
    if len(file) != 13 or not file.startswith("take-") or not file.endswith(".wav") or not file[5:9].isdecimal():
        raise ValueError(f"file {file[:40]!r}")  # a name from elsewhere must not reach other files
    if request not in REQUESTS:
        raise ValueError(f"request {request[:40]!r}")
    asked, place = tuple(int(midi) for midi in stated["asked"]), int(stated["place"])
    if not asked or not 0 <= place <= len(asked):
        raise ValueError(f"place {place}")
    return KeptTake(file, str(stated["shape"]), asked, request, place, str(stated["on"]))
