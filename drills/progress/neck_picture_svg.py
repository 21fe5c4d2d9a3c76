"""The neck with the roots on it that hold: a picture of a whole fretboard, and the same in words."""

from __future__ import annotations

from drills.progress.chart_svg import GREY, INK, dot, line, picture, ring, text
from drills.progress.report import Report
from drills.progress.skill_names import RootSpot, root_spot

__all__ = ["firm_roots", "roots_picture"]

_FRETS = 12
"""A root lies at frets 1 to 12; above it all comes again."""

_LEFT, _TOP, _APART, _FRET = 18, 12, 18, 26
_DOTS = (3, 5, 7, 9, 12)
"""Frets with a dot in the fretboard (common practice)."""


def firm_roots(report: Report) -> dict[str, list[RootSpot]]:
    """The root places met, by the memory's word: ``firm``, ``forming``, ``fading``; ``""`` where it was not asked."""
    found: dict[str, list[RootSpot]] = {}
    for row in report.of_kind("root"):
        if (spot := root_spot(row.skill)) is not None:
            found.setdefault(row.word, []).append(spot)
    return found


def roots_picture(report: Report) -> str:
    """Strings across, string 1 on top, frets 1 to 12: a full dot with the note where a root is firm, a ring where it
    was met. ``""`` where no root was met."""
    found = firm_roots(report)
    spots = [(spot, word == "firm") for word, some in found.items() for spot in some]
    if not spots:
        return ""
    strings = max(6 if any(spot.string > 4 for spot, _ in spots) else 4, *(spot.string for spot, _ in spots))
    right, bottom = _LEFT + _FRET * _FRETS, _TOP + _APART * (strings - 1)
    body = [line([(_LEFT + _FRET * n, _TOP), (_LEFT + _FRET * n, bottom)], INK if not n else GREY, 3 if not n else 1)
            for n in range(_FRETS + 1)]  # fmt: skip
    for string in range(1, strings + 1):
        y = _TOP + _APART * (string - 1)
        body += [line([(_LEFT, y), (right, y)], GREY, 1), text(0, y + 4, str(string))]
    body += [text(_LEFT + _FRET * (n - 0.5), bottom + 22, str(n), "middle") for n in _DOTS]
    for spot, firm in spots:
        x, y = _LEFT + _FRET * (spot.fret - 0.5), _TOP + _APART * (spot.string - 1)
        body += [dot(x, y, 7)] if firm else [ring(x, y, 5.5)]
    return picture("neck", bottom + 28, "The neck, root by root", _words(found), body)


def _words(found: dict[str, list[RootSpot]]) -> str:
    firm = found.get("firm", [])
    met = sum(map(len, found.values()))
    if not firm:
        return f"{met} root notes met; none is sure yet to hold for a week"
    by_string: dict[int, list[RootSpot]] = {}
    for spot in firm:
        by_string.setdefault(spot.string, []).append(spot)
    named = "; ".join(
        f"string {string}: " + ", ".join(f"{spot.note} at fret {spot.fret}" for spot in sorted(some, key=_fret))
        for string, some in sorted(by_string.items(), reverse=True)
    )
    return f"{len(firm)} of {met} root notes met should hold for a week. {named}"


def _fret(spot: RootSpot) -> int:
    return spot.fret
