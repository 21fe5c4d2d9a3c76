"""The names of the engines, for whoever offers a choice of them."""

from __future__ import annotations

__all__ = ["COMB", "ENGINES", "POLYPHONIC", "TRACKER", "VOTE"]

COMB, POLYPHONIC, TRACKER, VOTE = "comb", "polyphonic", "tracker", "vote"

ENGINES = (COMB, POLYPHONIC, TRACKER, VOTE)
"""Every engine; all but the first need trained models."""
