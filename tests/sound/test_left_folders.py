"""Sound files of killed programs are cleared by the next one that sounds, and nothing else is."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from drills.sound.left_folders import clear_left_folders, sound_folder


@pytest.mark.skipif(os.name != "posix", reason="elsewhere nothing is cleared")
def test_only_folders_of_dead_processes_go(tmp_path):
    """Those of running ones, of other names, links and files stay; so does what a link points to."""
    done = subprocess.run([sys.executable, "-c", "import os; print(os.getpid())"], capture_output=True, text=True)
    dead = int(done.stdout)
    left = tmp_path / f"neckwork-{dead}-abc_1"
    kept = [tmp_path / name for name in (f"neckwork-{os.getppid()}-abc", "neckwork-old", f"neckwork-{dead}", "mine")]
    for one in (left, *kept):
        one.mkdir()
        (one / "1.wav").write_bytes(b"RIFF")
    link, file = tmp_path / f"neckwork-{dead}-link", tmp_path / f"neckwork-{dead}-file"
    link.symlink_to(kept[-1])
    file.write_bytes(b"")
    clear_left_folders(tmp_path)
    assert sorted(tmp_path.iterdir()) == sorted([*kept, link, file])
    assert all((one / "1.wav").exists() for one in kept)


def test_the_folder_of_a_killed_program_is_known_again(tmp_path):
    """What a program that is killed leaves bears the name that the next one looks for."""
    code = (
        "import os, signal, tempfile; from drills.sound.left_folders import sound_folder\n"
        f"tempfile.tempdir = {str(tmp_path)!r}; made = sound_folder(); os.kill(os.getpid(), signal.SIGKILL)"
    )
    subprocess.run([sys.executable, "-c", code], check=False)
    assert len(list(tmp_path.iterdir())) == 1
    clear_left_folders(tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_in_use_is_not_cleared():
    """This process runs."""
    with sound_folder() as folder:
        clear_left_folders()
        assert Path(folder).is_dir()
