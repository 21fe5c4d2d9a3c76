"""Trained models that hear pitch: run on this machine where they are installed, and asked by the ears as engines."""

from __future__ import annotations

__all__: list[str] = []
