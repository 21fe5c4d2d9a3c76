"""Texts that try to steer whatever shows them, and where they may stand."""

from __future__ import annotations

from datetime import UTC, datetime

NOW = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)

FOUR = ("csv", "json", "md", "html")
"""The formats of an export."""

HOSTILE = (
    "a\x1b[2J\x1b]0;owned\x07b\x9b31mc\x7f",
    "ab\u202egpj.exe\u2066x\u2069\u200b\u200d\ufeff\u2028y",
    "=1+1 <script>alert(1)</script> [x](javascript:1) `b` & <img src=x onerror=1>",
    "@sum(1) \r\nBEGIN:VEVENT\nX:1",
)


def in_file_names(text: str) -> str:
    """The text as a file may be called: without the path's own sign and the zero byte."""
    return text.replace("/", "_").replace("\0", "")
