"""Listening: frames of sound become notes heard, a verdict on them, and a proposed grade.

Everything here is pure: values go in and values come out, and no device is touched. Tried on simulated playing only.
"""

from __future__ import annotations

__all__: list[str] = []
