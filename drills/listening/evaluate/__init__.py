"""The evaluation of listening: takes put together by program, whose truth is known, and how often they are heard right.

No hand, room or microphone is in it: every figure is one of simulated playing.
"""

from __future__ import annotations

__all__: list[str] = []
