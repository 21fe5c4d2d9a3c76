"""What stands on a staff before its notes: clef, key signature and metre."""

from __future__ import annotations

from drills.changes.changes import Metre
from drills.diagrams.clefs import clef, signature_places
from drills.diagrams.picture import Drawn, Words
from drills.diagrams.staff_signs import staff_sign, staff_sign_wide
from drills.diagrams.typesetting import text_wide
from drills.lines.notation import signature_letters
from drills.theory.key import Key

__all__ = ["STAFF_GAP_PT", "opening"]

STAFF_GAP_PT = 5.5
"""Between two lines of the staff, in points: a staff 7.8 mm high, as tall as any that is printed for one player to read
from a stand (common practice: 7 to 8 mm)."""

_G = STAFF_GAP_PT
_AIR = 0.5 * _G
_DIGIT = 2.0 / 0.729
"""The size of a digit that is two gaps high: digits of DejaVu Sans Bold are .729 em high."""


def opening(
    x: float, *, clef_name: str, show_clef: bool, key: Key | None, cancelled: Key | None = None,
    metre: Metre | None = None,
) -> tuple[list[Drawn], float]:  # fmt: skip
    """The signs before the notes, with the highest line of the staff at y = 0, and where they end, in points.

    clef_name: that the staff has. show_clef: whether it is drawn. key: whose signature is written. cancelled: the key
    before, whose signs get naturals where the new key has none of its own kind. metre: drawn where it is given.
    """
    parts: list[Drawn] = []
    if show_clef:
        parts.append(clef(clef_name, x, [line * _G for line in range(5)], _G))
        x += 0.6 * _G + staff_sign_wide(clef_name, _G) + _AIR
    sharp = bool(key and key.signature > 0)
    letters = signature_letters(key)
    left = _left_over(cancelled, key)
    for name, group, raised in (
        ("natural", left, bool(cancelled and cancelled.signature > 0)),
        ("sharp" if sharp else "flat", letters, sharp),
    ):
        for place in signature_places(group, raised, clef_name):
            parts.append(staff_sign(name, x, (8 - place) * _G / 2, _G))
            x += staff_sign_wide(name, _G) + 0.1 * _G
        x += _AIR if group else 0.0
    if metre:
        size = _DIGIT * _G
        wide = max(text_wide(str(number), size, bold=True) for number in (metre.beats, metre.unit))
        for number, below in ((metre.beats, 2.0), (metre.unit, 4.0)):
            parts.append(Words(x + wide / 2, below * _G, str(number), size, anchor="middle", bold=True))
        x += wide + _AIR
    return parts, x


def _left_over(before: Key | None, key: Key | None) -> str:
    """The letters of the old signature that get naturals: all of them where the new one has none, or another sign."""
    if before is None or before.signature == (key.signature if key else 0):
        return ""
    now = key.signature if key else 0
    return signature_letters(before) if now * before.signature <= 0 else ""
