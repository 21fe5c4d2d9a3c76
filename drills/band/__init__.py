"""A band over changes: feel, walking bass, comping in rhythm and drums, found by rule and by search."""

from __future__ import annotations

__all__: list[str] = []
