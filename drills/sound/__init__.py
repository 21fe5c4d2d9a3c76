"""Sound: shapes and changes as plain scores, then as WAV, Standard MIDI File, or heard at once.

A score (`score`) is built by `patterns`, `click` or `track`; `mix` sounds it, `wav` and
`midi` write it, `player` plays it off the key loop. Nothing here needs a sound card until
`player` is asked to play.
"""

from __future__ import annotations

__all__: list[str] = []
