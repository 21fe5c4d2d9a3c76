"""A file written whole or not at all.

This is the only place where a file takes another's name. It imports nothing of either package, so both may use it.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any

__all__ = ["atomic_write", "write_whole"]


@contextmanager
def atomic_write(path: Path, mode: str = "w") -> Iterator[IO[Any]]:
    """A file to fill: it takes the place of what bears the name only when all of it is there.

    mode: ``"w"`` for UTF-8 text, whose lines end as they are written, ``"wb"`` for bytes. A link is
    followed; a device or a pipe is written as it is. Raises OSError, naming the file as it was asked
    for and not as it is called while it is written; what the caller raises passes as it is.
    """
    text: dict[str, Any] = {} if "b" in mode else {"encoding": "utf-8", "newline": ""}
    target = path.resolve()
    if target.exists() and not target.is_file():
        with open(target, mode, **text) as out:
            yield out
        return
    unfinished = target.with_name(f"{target.name}.{os.getpid()}.part")
    try:
        with open(unfinished, mode, **text) as out:
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
    with atomic_write(path, "wb" if isinstance(content, bytes) else "w") as out:
        out.write(content)
