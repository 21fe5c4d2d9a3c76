"""A file written whole or not at all.

Every file of the program takes its name here: texts and bytes by `atomic_write`, databases by `atomic_database`. It
imports nothing of either package, so both may use it.
"""

from __future__ import annotations

import errno
import os
import re
import stat
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from pathlib import Path
from typing import IO, Any, Literal, TextIO, overload

__all__ = ["atomic_database", "atomic_write", "is_running", "write_whole"]


@overload
def atomic_write(path: Path, mode: Literal["w"] = "w", *, private: bool = False) -> AbstractContextManager[TextIO]: ...


@overload
def atomic_write(path: Path, mode: Literal["wb"], *, private: bool = False) -> AbstractContextManager[IO[bytes]]: ...


def atomic_write(path: Path, mode: str = "w", *, private: bool = False) -> AbstractContextManager[IO[Any]]:
    """A file to fill: it takes the place of what bears the name only when all of it is there.

    File and name are on the disk when it is done: a power cut leaves the old file or the new one. What killed
    programs have left half written under this name is cleared first.

    mode: ``"w"`` for UTF-8 text, whose lines end as they are written, ``"wb"`` for bytes. private: whether a new
    file is for its owner alone; one that is there keeps the rights it has. A link is
    followed; a device or a pipe is written as it is. Raises OSError, naming the file as it was asked
    for and not as it is called while it is written; what the caller raises passes as it is.
    """
    return _filled(path, mode, private)


def _opened(path: Path, mode: str, rights: int = 0o666) -> IO[Any]:
    def opener(name: str, flags: int) -> int:
        return os.open(name, flags, rights)

    if "b" in mode:
        return open(path, mode, opener=opener)
    return open(path, mode, encoding="utf-8", newline="", opener=opener)


@contextmanager
def _filled(path: Path, mode: str, private: bool) -> Iterator[IO[Any]]:
    target = path.resolve()
    there = target.exists()
    if there and not target.is_file():
        with _opened(target, mode) as out:
            yield out
        return
    unfinished = _part_of(target)
    _clear_parts(target.parent, re.escape(target.name))
    try:
        with _opened(unfinished, mode, 0o600 if private or there else 0o666) as out:
            yield out
            out.flush()
            os.fsync(out.fileno())
        if there:
            unfinished.chmod(stat.S_IMODE(target.stat().st_mode))
        os.replace(unfinished, target)
        _sync(target.parent)
    except OSError as error:
        if error.errno is None:  # not the system's: an error of ours, such as that of a log being read, has its words
            raise
        raise OSError(error.errno, error.strerror, str(path)) from error
    finally:
        unfinished.unlink(missing_ok=True)


@contextmanager
def atomic_database(path: Path, names: str = "") -> Iterator[Path]:
    """The name of an empty private file for SQLite to fill and to let go of: it takes the place of `path` at the end.

    As with `atomic_write` content and name are on the disk then. names: a regular expression of the names whose
    half-written parts are cleared first, where that is not the one of `path`. Raises OSError.
    """
    _clear_parts(path.parent, names or re.escape(path.name))
    part = _part_of(path)
    try:
        os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
        yield part
        if any(_has_bytes(part.with_name(part.name + end)) for end in _SIDES[1:]):
            # SQLite closes a database whose last pages would not be written without a word, and keeps them beside it.
            raise OSError(errno.EIO, os.strerror(errno.EIO), str(path))
        _sync(part)
        os.replace(part, path)
        _sync(path.parent)
    finally:
        for end in _SIDES:
            part.with_name(part.name + end).unlink(missing_ok=True)


def _has_bytes(path: Path) -> bool:
    try:
        return path.stat().st_size > 0
    except FileNotFoundError:
        return False


def _part_of(target: Path) -> Path:
    """The name that a file bears while this program fills it; `_clear_parts` knows it again."""
    return target.with_name(f"{target.name}.{os.getpid()}.part")


def _sync(path: Path) -> None:
    """Bring a file, or the names in a folder, to the disk; where a folder cannot be synced, no more can be done."""
    if os.name != "posix" and path.is_dir():
        return
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno not in (errno.EINVAL, errno.ENOTSUP):
            raise
    finally:
        os.close(handle)


def _clear_parts(folder: Path, names: str) -> None:
    """Delete the half-written parts of files whose programs are no more.

    names: a regular expression of the names the files were to have. What SQLite keeps beside a part goes with it.
    """
    part = re.compile(rf"(?:{names}){_PART}")
    try:
        found = [match for match in map(part.fullmatch, os.listdir(folder)) if match]
    except OSError:
        return  # a folder that cannot be listed may still be written to
    for match in found:
        if not is_running(int(match["pid"])):
            with suppress(OSError):
                (folder / match[0]).unlink()


def is_running(pid: int) -> bool:
    """Whether there is a process of that number; True where a system does not say."""
    if os.name != "posix":  # elsewhere a signal of 0 is not a question
        return True
    try:
        os.kill(pid, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except OSError:
        pass
    return True


_SIDES = ("", "-wal", "-shm", "-journal")
_PART = rf"\.(?P<pid>\d{{1,10}})\.part(?:{'|'.join(_SIDES)})"


def write_whole(path: Path, content: str | bytes, *, private: bool = False) -> None:
    """Write a text or bytes as `atomic_write` does."""
    if isinstance(content, bytes):
        with atomic_write(path, "wb", private=private) as file:
            file.write(content)
    else:
        with atomic_write(path, private=private) as out:
            out.write(content)
