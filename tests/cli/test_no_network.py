"""No command opens an internet socket or looks up a host, whatever library it calls."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from datetime import UTC, datetime

from drills.cli import COMMANDS
from scheduler.grade import Grade
from scheduler.log.review_log import ReviewLog
from scheduler.review import Review

NOW = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)

COMMAND_LINES = [
    ["session", "--plain", "--quiet"], ["placement", "--plain", "--quiet"],
    ["round", "m7", "654", "--plain", "--quiet"],
    ["shape", "Cm7"], ["tune", "blues-in-f"], ["path", "blues-in-f"], ["stages", "blues-in-f"], ["etude", "blues-in-f"],
    ["choruses", "blues-in-f"], ["track", "blues-in-f", "--wav", "t.wav"], ["ready", "blues-in-f"],
    ["hear", "Cm7", "--wav", "h.wav"], ["handout", "-o", "h.pdf"], ["cards", "first"], ["decks"], ["setup"],
    ["phone", "first", "--sessions", "1", "-o", "p.html"],
    ["progress", "--html", "p.html"], ["sample"], ["refit"], ["roster", "."], ["wake"], ["export", "-o", "log.json"],
    ["import", "--yes", "log.json"], ["join", "--yes", "log.json"], ["log", "mend"], ["log", "back", "--list"],
    ["listen", "none.wav"], ["tuner", "none.wav"], ["book", "Student 1", "--note", "x"],
]  # fmt: skip

WATCHED = """
import json, sys
seen = []
def hook(event, args):
    if event == "socket.__new__" and int(args[1]) in (2, 10):  # AF_INET and AF_INET6 on Linux
        seen.append([event, int(args[1])])
    elif event in ("socket.connect", "socket.getaddrinfo", "socket.gethostbyname", "urllib.Request"):
        seen.append([event, repr(args)])
sys.addaudithook(hook)
from drills.cli import main
codes = {}
for line in json.loads(sys.argv[1]):
    try:
        codes[" ".join(line)] = main(line)
    except SystemExit as left:
        codes[" ".join(line)] = left.code
print("\\n" + json.dumps({"seen": seen, "codes": codes}))
"""


def watched(lines, folder, program=WATCHED):
    """Runs commands one after another under an audit hook (PEP 578); what it saw, and the exit codes."""
    ran = subprocess.run(
        [sys.executable, "-c", program, json.dumps(lines)], cwd=folder, input="", capture_output=True, text=True,
        timeout=300, check=True,
        env=os.environ
        | {"NECKWORK_HOME": str(folder / "home"), "TERM": "dumb", "PYTHONPATH": os.pathsep.join(sys.path)},
    )  # fmt: skip
    return json.loads(ran.stdout.splitlines()[-1])


def test_no_command_opens_an_internet_socket(tmp_path):
    """Every command is run once, and all but those for want of a recording do their work."""
    with ReviewLog(tmp_path / "home" / "log.sqlite3") as log:
        log.record(Review("E2A2D3G3B3E4/arpeggio/C/m7/654/name", Grade.CLEAN, NOW, 3.0, skills=("form:x",)))
    assert {line[0] for line in COMMAND_LINES} >= set(COMMANDS)
    told = watched(COMMAND_LINES, tmp_path)
    assert told["seen"] == []
    assert sum(code in (0, 130) for code in told["codes"].values()) >= len(COMMAND_LINES) - 6, told["codes"]


def test_the_hook_sees_a_socket(tmp_path):
    """The watch itself: a socket that is opened is seen."""
    program = WATCHED.replace("codes = {}", "import socket; socket.socket().close(); codes = {}")
    assert [one[0] for one in watched([["decks"]], tmp_path, program)["seen"]] == ["socket.__new__"]
