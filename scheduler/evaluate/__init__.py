"""The evaluation of the planner, by simulated players, rivals and measures. Run ``python -m scheduler.evaluate``."""

from __future__ import annotations

__all__: list[str] = []
