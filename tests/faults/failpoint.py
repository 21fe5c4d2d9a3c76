"""The library that fails or kills at a chosen call, compiled when it is needed; see failpoint.c."""

from __future__ import annotations

import ctypes
import os
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from enum import IntEnum
from functools import cache
from pathlib import Path

__all__ = [
    "Failpoint",
    "How",
    "armed",
    "available",
    "compiled",
    "counted_kinds",
    "disarmed",
    "preloaded",
    "started_again_with_library",
    "with_library",
]

_SOURCE = Path(__file__).with_suffix(".c")
_PLACE = "NECKWORK_FAILPOINT_LIBRARY"


class How(IntEnum):
    """What happens at the call; the numbers are those of failpoint.c."""

    COUNT = 0
    KILL_BEFORE = 1
    KILL_INSIDE = 2
    FAIL = 3
    SHORT = 4


@dataclass(frozen=True, slots=True)
class Failpoint:
    """At the `at`th call that changes files `how` happens; with `stays` at all later ones too.

    error: the errno of a call that fails.
    """

    at: int = 0
    how: How = How.COUNT
    error: int = 0
    stays: bool = False


def available() -> bool:
    """Whether there is a compiler, and a system that loads libraries before others."""
    return sys.platform == "linux" and shutil.which("gcc") is not None


def compiled(folder: Path) -> Path:
    """The library, made in `folder`."""
    made = folder / "failpoint.so"
    subprocess.run(["gcc", "-O2", "-shared", "-fPIC", "-o", made, _SOURCE, "-ldl"], check=True)
    return made


def with_library(made: Path) -> dict[str, str]:
    """The environment of a program that starts with the library."""
    return {**os.environ, "LD_PRELOAD": str(made), _PLACE: str(made)}


def preloaded() -> bool:
    """Whether this program was started with the library."""
    return _PLACE in os.environ


def started_again_with_library(module: str) -> None:
    """Unless this program has the library: runs the module with it, with the same arguments, and ends as that ends."""
    if not preloaded():
        with tempfile.TemporaryDirectory() as made:
            again = [sys.executable, "-m", module, *sys.argv[1:]]
            sys.exit(subprocess.run(again, env=with_library(compiled(Path(made))), check=False).returncode)


@cache
def _library() -> ctypes.CDLL:
    library = ctypes.CDLL(os.environ[_PLACE])
    library.failpoint_arm.argtypes = [ctypes.c_long, ctypes.c_int, ctypes.c_int, ctypes.c_int, ctypes.c_int]
    library.failpoint_count.restype = ctypes.c_long
    library.failpoint_kinds.restype = ctypes.c_char_p
    return library


def armed(point: Failpoint, report: int) -> None:
    """Begin to count, and to watch for the point; what happened is written to the file `report`."""
    _library().failpoint_arm(point.at, point.how, point.error, point.stays, report)


def disarmed() -> None:
    """Let every call pass."""
    _library().failpoint_disarm()


def counted_kinds() -> str:
    """The calls counted so far, a letter each, as failpoint.c names them."""
    found: bytes = _library().failpoint_kinds()
    return found.decode("ascii")
