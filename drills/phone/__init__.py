"""A page for a phone that plays sessions without a network: tables made here, walked there."""

from __future__ import annotations

__all__: list[str] = []
