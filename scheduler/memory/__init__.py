"""The memory keeps what is believed of every skill, and learns from one review at a time."""

from __future__ import annotations

from scheduler.memory.committee import Memory
from scheduler.memory.constants import Constants
from scheduler.memory.skill_memory import SkillMemory

__all__ = ["Constants", "Memory", "SkillMemory"]
