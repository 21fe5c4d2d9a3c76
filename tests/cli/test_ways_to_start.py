"""The two ways in: the script an installer makes, and ``python -m``, each ending the process with the exit code."""

from __future__ import annotations

import subprocess
import sys
from importlib.metadata import entry_points

import drills
from drills.cli import main


def started(*args: str, command: tuple[str, ...] = ("-m", "drills.cli")) -> subprocess.CompletedProcess:
    """What a process of its own printed and how it ended."""
    return subprocess.run([sys.executable, *command, *args], capture_output=True, text=True, timeout=60, check=False)


def test_the_script_is_the_program():
    """An installer makes a script that ends with what `main` answers (PyPA, "Entry points specification")."""
    (script,) = entry_points(group="console_scripts", name="neckwork")
    assert script.load() is main
    made = "import sys; from drills.cli import main; sys.exit(main())"
    assert started("nowhere", command=("-c", made)).returncode == 2


def test_python_m_is_the_program_too():
    """0 and the answer alone on standard output; 1 or 2 and what is wrong on standard error, nothing else."""
    found = started("--version")
    assert (found.returncode, found.stdout, found.stderr) == (0, f"neckwork {drills.__version__}\n", "")
    for args, code in ((("shape", "H7"), 1), (("nowhere",), 2)):
        found = started(*args)
        assert (found.returncode, found.stdout) == (code, ""), found
        assert found.stderr and "Traceback" not in found.stderr
