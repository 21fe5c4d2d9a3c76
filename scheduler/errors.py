"""The errors the scheduler raises: one base, each also the nearest built-in."""

from __future__ import annotations

__all__ = ["CalendarError", "CardError", "LogError", "ReviewError", "RulesError", "SchedulerError"]


class SchedulerError(Exception):
    """Anything the scheduler refuses; its message says what to do about it."""


class CardError(SchedulerError, ValueError):
    """A card's id, skills, weight or seconds are not usable."""


class ReviewError(SchedulerError, ValueError):
    """A review, or another event of the log, has a field that cannot be right."""


class RulesError(SchedulerError, ValueError):
    """A teaching rule contradicts itself or is out of range."""


class CalendarError(SchedulerError, ValueError):
    """A recurrence rule, time zone or day boundary cannot be read."""


class LogError(SchedulerError, OSError):
    """The log cannot be opened, read or written."""
