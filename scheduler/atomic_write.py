"""A file written whole or not at all.

Every file of the program takes its name here, but for the copies of a log, which are databases and not written as
texts are. It imports nothing of either package, so both may use it.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import IO, Any, Literal, TextIO, overload

__all__ = ["atomic_write", "write_whole"]


@overload
def atomic_write(path: Path, mode: Literal["w"] = "w") -> AbstractContextManager[TextIO]: ...


@overload
def atomic_write(path: Path, mode: Literal["wb"]) -> AbstractContextManager[IO[bytes]]: ...


def atomic_write(path: Path, mode: str = "w") -> AbstractContextManager[IO[Any]]:
    """A file to fill: it takes the place of what bears the name only when all of it is there.

    mode: ``"w"`` for UTF-8 text, whose lines end as they are written, ``"wb"`` for bytes. A link is
    followed; a device or a pipe is written as it is. Raises OSError, naming the file as it was asked
    for and not as it is called while it is written; what the caller raises passes as it is.
    """
    return _replacing(path, mode)


def _opened(path: Path, mode: str) -> IO[Any]:
    return path.open(mode) if "b" in mode else path.open(mode, encoding="utf-8", newline="")


@contextmanager
def _replacing(path: Path, mode: str) -> Iterator[IO[Any]]:
    target = path.resolve()
    if target.exists() and not target.is_file():
        with _opened(target, mode) as out:
            yield out
        return
    unfinished = target.with_name(f"{target.name}.{os.getpid()}.part")
    try:
        with _opened(unfinished, mode) as out:
            yield out
        os.replace(unfinished, target)
    except OSError as error:
        if error.errno is None:  # not the system's: an error of ours, such as that of a log being read, has its words
            raise
        raise OSError(error.errno, error.strerror, str(path)) from error
    finally:
        unfinished.unlink(missing_ok=True)


def write_whole(path: Path, content: str | bytes) -> None:
    """Write a text or bytes as `atomic_write` does."""
    if isinstance(content, bytes):
        with atomic_write(path, "wb") as file:
            file.write(content)
    else:
        with atomic_write(path) as out:
            out.write(content)
