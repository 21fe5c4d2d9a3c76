"""Contrast: no text has a colour of ours, or is drawn faint; only thirds and sevenths of a drawing.

WCAG 2.2, success criterion 1.4.3, asks 4.5 to 1 of small text whose colours an author sets. None are set here, on a
black, a white or any other terminal: text has the player's own two colours; see tests/session/test_colours.py for the
others. The control sequences are those of ECMA-48 (SGR 0, 1 and 38) and of xterm (38;5, and OSC 4, 10, 11, ... for
the palette, none of which is sent).
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from test_real_terminal import opened, to_prompt

SGR = re.compile(r"\x1b\[([\d;:]*)m")
OSC_COLOUR = re.compile(r"\x1b\](?:4|5|1[0-9]|104|11[0-9]);?")
PLAIN_OR_BOLD = {"", "0", "1"}


def recorded(one) -> list[str]:
    """Everything the program sends to this terminal from now on."""
    sent, feed = [], one._stream.feed

    def keep(text: str) -> None:
        sent.append(text)
        feed(text)

    one._stream.feed = keep
    return sent


def styles(sent: list[str]) -> set[str]:
    """Every parameter of every SGR that was sent."""
    return {code for found in SGR.findall("".join(sent)) for code in found.replace(":", ";").split(";")}


PAIR = {"38", "5", "31", "166"}
"""The two colours of 256, as SGR parameters."""


@pytest.mark.parametrize(
    ("environ", "colours"),
    [({"NO_COLOR": "1"}, set()), ({"TERM": "xterm"}, set()), ({"TERM": "xterm-256color"}, PAIR)],
    ids=["NO_COLOR", "no colours", "256 colours"],
)
def test_a_session_sets_weight_of_type_and_no_other_colour(terminal, environ, colours):
    """Every kind of page: lesson, list of keys, prompt, answer, grip and mode, words, repeat, end."""
    one = opened(terminal, "--quiet", environ={"COLORTERM": ""} | environ)
    sent = recorded(one)
    one.press("h")
    one.press("h")
    to_prompt(one)
    for key in ("\r", "g", "g", "w", "x", "l", "1", "\r", "\r", "f", "p", "x", "q"):
        one.press(key, change=False)
    one.wait_for("Done.")
    one.press("\r")
    one.finish()
    assert "1" in styles(sent)
    assert styles(sent) - PLAIN_OR_BOLD == colours
    assert not OSC_COLOUR.search("".join(sent))


@pytest.mark.parametrize("args", [("progress",), ("shape", "Cmaj7", "--strings", "543"), ("tune", "blues-in-f")])
def test_what_is_printed_sets_no_colour(terminal, args):
    """Commands that print to the terminal."""
    one = terminal(*args)
    sent = recorded(one)
    one._pump(20)  # until it ends
    assert one.finish() == 0
    assert "".join(sent).strip()
    assert styles(sent) <= PLAIN_OR_BOLD
