"""Colour as a help: contrast, colour vision, and that nothing is said by colour alone.

Contrast is that of WCAG 2.2 (relative luminance and contrast ratio, success criteria 1.4.3 and 1.4.11). Colour
vision is simulated with the matrices of Machado, Oliveira and Fernandes (2009), "A physiologically-based model for
simulation of color vision deficiency", severity 1.0, on linear RGB. Distance is CIE 1976 L*a*b*.
"""

from __future__ import annotations

import re
from itertools import product

import pytest

from drills.configuration.diagram_style import DiagramStyle
from drills.diagrams.grid import ROOT, SEVENTH, THIRD, tone_of
from drills.session.colours import BLUE, VERMILLION, colour_system, tone_style
from drills.session.screens import screen
from drills.session.terminal import ansi

FIXED_256 = {31: (0x00, 0x87, 0xAF), 166: (0xD7, 0x5F, 0x00)}
"""xterm's cube of 6 by 6 by 6, levels 0, 95, 135, 175, 215 and 255."""

VISION = {
    "usual": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "protanopia": (
        (0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881),
    ),
    "tritanopia": (
        (1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602), (0.004733, 0.691367, 0.303900),
    ),
}  # fmt: skip

GRAPHICS = 3.0
"""What WCAG asks of graphical objects and of large print."""

CLEARLY_APART = 60.0
"""CIE L*a*b* distance; about 2.3 is the least that is seen (Mahy, Van Eycken and Oosterlinck 1994)."""


def linear(rgb):
    """sRGB 0 to 255 as linear light."""
    return [c / 255 / 12.92 if c / 255 <= 0.04045 else ((c / 255 + 0.055) / 1.055) ** 2.4 for c in rgb]


def seen(rgb, vision):
    """Linear light as eyes of that kind take it in."""
    light = linear(rgb)
    return [min(1.0, max(0.0, sum(a * b for a, b in zip(row, light, strict=True)))) for row in VISION[vision]]


def contrast(one, other):
    """WCAG's ratio of two linear colours."""
    low, high = sorted(0.2126 * r + 0.7152 * g + 0.0722 * b for r, g, b in (one, other))
    return (high + 0.05) / (low + 0.05)


def lab(light):
    """CIE L*a*b* of linear sRGB under D65."""
    r, g, b = light
    xyz = (
        (0.4124564 * r + 0.3575761 * g + 0.1804375 * b) / 0.95047,
        0.2126729 * r + 0.7151522 * g + 0.0721750 * b,
        (0.0193339 * r + 0.1191920 * g + 0.9503041 * b) / 1.08883,
    )
    x, y, z = (t ** (1 / 3) if t > 216 / 24389 else (24389 / 27 * t + 16) / 116 for t in xyz)
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


@pytest.mark.parametrize(
    ("colour", "ground", "vision"),
    list(product((BLUE, VERMILLION, *FIXED_256.values()), ((0, 0, 0), (255, 255, 255)), VISION)),
)
def test_each_colour_stands_out_on_black_and_on_white(colour, ground, vision):
    """For every kind of colour vision."""
    assert contrast(seen(colour, vision), seen(ground, vision)) >= GRAPHICS


@pytest.mark.parametrize("vision", VISION)
@pytest.mark.parametrize("pair", [(BLUE, VERMILLION), tuple(FIXED_256.values())])
def test_the_pair_is_told_apart(pair, vision):
    """Third from seventh, for every kind of colour vision."""
    one, other = (lab(seen(colour, vision)) for colour in pair)
    assert sum((a - b) ** 2 for a, b in zip(one, other, strict=True)) ** 0.5 >= CLEARLY_APART


@pytest.mark.parametrize(
    ("wanted", "environ", "system"),
    [
        ("auto", {"TERM": "xterm-256color"}, "256"),
        ("auto", {"TERM": "xterm", "COLORTERM": "truecolor"}, "truecolor"),
        ("auto", {"TERM": "xterm-direct"}, "truecolor"),
        ("auto", {"TERM": "xterm"}, "none"),
        ("auto", {"TERM": "vt100"}, "none"),
        ("auto", {}, "none"),
        ("on", {"TERM": "xterm"}, "256"),
        ("off", {"TERM": "xterm-256color", "COLORTERM": "truecolor"}, "none"),
        ("auto", {"TERM": "xterm-256color", "NO_COLOR": "1"}, "none"),
        ("on", {"TERM": "xterm-256color", "NO_COLOR": "1"}, "none"),
        ("auto", {"TERM": "xterm-256color", "NO_COLOR": ""}, "256"),
    ],
)
def test_who_gets_colour(wanted, environ, system):
    """A terminal that has 256 of them, unless the player or NO_COLOR says otherwise."""
    assert colour_system(wanted, environ) == system


def answered(sitting):
    one = sitting(strings="654", quality="maj7")
    one.start()
    one.through_lessons()
    one.press("enter", seconds=5)
    assert one.state.phase.value == "answer"
    return one


@pytest.mark.parametrize("size", [(38, 14), (58, 19), (78, 23), (118, 39)])
@pytest.mark.parametrize("labels", ["degrees", "fingers", "notes"])
@pytest.mark.parametrize("orientation", ["neck", "box"])
def test_nothing_is_told_by_colour_alone(sitting, size, labels, orientation):
    """Where two tones have colours of their own, they have brackets of their own too; small text has no colour."""
    one = answered(sitting)
    lines = screen(one.drill, DiagramStyle(labels=labels, orientation=orientation), *size)
    found = {}
    for line in lines:
        for start, end, tone in line.tones:
            found.setdefault(tone, []).append(line.text[start:end].replace(" ", ""))
    assert set(found) == {ROOT, THIRD, SEVENTH}
    brackets = {tone: {text[0] + text[-1] for text in texts} for tone, texts in found.items()}
    joined = {tone: "".join(sorted("".join(pairs))) for tone, pairs in brackets.items()}
    assert len(set(joined.values())) == 3
    assert all(not re.search(r"\w", text) for text in (*found[THIRD], *found[SEVENTH]))
    notes = [note for note in one.drill.shapes()[0].notes if tone_of(note)]
    assert {tone_of(note) for note in notes} == {ROOT, THIRD, SEVENTH}


def test_a_screen_without_colour_has_weight_only(sitting):
    """The root is bold; no sequence sets a colour."""
    lines = screen(answered(sitting).drill, DiagramStyle(), 78, 23)
    plain, coloured = ansi(lines, 80, "none"), ansi(lines, 80, "256")
    assert set(re.findall(r"\x1b\[([\d;]*)m", plain)) == {"0", "1"}
    assert {"38;5;31", "38;5;166"} <= set(re.findall(r"\x1b\[([\d;]*)m", coloured))
    assert re.sub(r"\x1b\[[\d;]*m", "", plain) == re.sub(r"\x1b\[[\d;]*m", "", coloured)
    assert tone_style(ROOT, "256") == tone_style(ROOT, "none") == "bold"
