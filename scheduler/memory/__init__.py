"""The memory: what is believed of every skill, brought forward one review at a time."""

from __future__ import annotations

from scheduler.memory.committee import Heads, Memory
from scheduler.memory.constants import Blend, Constants, Curve
from scheduler.memory.trace import Trace

__all__ = ["Blend", "Constants", "Curve", "Heads", "Memory", "Trace"]
