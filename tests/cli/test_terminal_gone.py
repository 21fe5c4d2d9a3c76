"""A terminal that goes away while something is written to it ends the program as the signal would have."""

from __future__ import annotations

import errno
import os
import stat

import pytest

from drills import cli


@pytest.mark.parametrize(("mode", "code", "said"), [(stat.S_IFCHR, 129, ""), (stat.S_IFREG, 1, "the output")])
def test_an_error_of_a_terminal_is_a_hang_up(monkeypatch, capsys, mode, code, said):
    """From a terminal EIO means that nobody is there (POSIX, general terminal interface); a file's is an error."""

    def failing(**_options):
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    monkeypatch.setattr(cli.group, "main", failing)
    monkeypatch.setattr(os, "fstat", lambda _number: os.stat_result((mode, *[0] * 9)))
    assert cli.main([]) == code
    assert said in capsys.readouterr().err
