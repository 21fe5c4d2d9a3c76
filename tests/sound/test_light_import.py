"""Loading the sound floor costs little until something sounds."""

from __future__ import annotations

import subprocess
import sys


def test_arrays_and_libraries_are_loaded_late() -> None:
    """Importing every sound module loads no numpy, no mido and no sound library."""
    program = (
        "import sys\n"
        "from drills.sound import backing_track, click, midi, mix, outlets, patterns, playback, wav\n"
        "print(sorted({'numpy', 'mido', 'sounddevice'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
