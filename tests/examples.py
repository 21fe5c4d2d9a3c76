"""How many examples a costly property gets."""

from __future__ import annotations

import os

__all__ = ["PROFILE", "examples"]

PROFILE = os.environ.get("HYPOTHESIS_PROFILE", "same")
"""The hypothesis profile of this run, see `tests/conftest.py`."""


def examples(usual: int, fresh: int) -> int:
    """`usual` ones on every run, which are always the same ones; `fresh` ones when new ones are drawn.

    For properties whose every example is a whole program or a long text: to
    meet the thousandth of them again on every run finds nothing new.
    """
    return fresh if PROFILE == "fresh" else usual
