"""Folders of sound files that killed programs left where temporary files go."""

from __future__ import annotations

import os
import re
import shutil
import stat
import tempfile
from contextlib import suppress
from pathlib import Path

from scheduler.atomic_write import is_running

__all__ = ["clear_left_folders", "sound_folder"]

_NAMED = re.compile(r"neckwork-(\d{1,10})-\w+")


def sound_folder() -> tempfile.TemporaryDirectory[str]:
    """A folder for this process's sound files, gone when it is left; its name tells whose it is. Raises OSError."""
    return tempfile.TemporaryDirectory(prefix=f"neckwork-{os.getpid()}-")


def clear_left_folders(where: Path | None = None) -> None:
    """Delete the sound folders of this user whose process is no more; what cannot be deleted stays.

    where: the folder they lie in, by default that of temporary files.
    """
    if os.name != "posix":  # elsewhere it is not known whose a folder is, nor whether its process runs
        return
    with suppress(OSError):
        for one in os.scandir(where or tempfile.gettempdir()):
            named = _NAMED.fullmatch(one.name)
            if named is None or is_running(int(named[1])):
                continue
            with suppress(OSError):
                found = one.stat(follow_symlinks=False)
                if stat.S_ISDIR(found.st_mode) and found.st_uid == os.getuid():
                    shutil.rmtree(one.path, ignore_errors=True)
