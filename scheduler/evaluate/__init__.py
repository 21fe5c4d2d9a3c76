"""The proof: simulated players, rivals and measures. Run ``python -m scheduler.evaluate``."""

from __future__ import annotations

__all__: list[str] = []
