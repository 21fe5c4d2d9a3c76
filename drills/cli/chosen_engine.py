"""The engine that hears: the one asked for by name, else the vote where its models are installed, else the comb."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drills.errors import EngineError
from drills.listening.engine_names import COMB, VOTE
from drills.listening.engines import engine_named

if TYPE_CHECKING:
    from drills.listening.engine import Engine

__all__ = ["chosen_engine"]


def chosen_engine(name: str | None, lowest: int) -> Engine:
    """The engine for an instrument whose lowest open string has that MIDI number.

    name: of `drills.listening.engines.ENGINES`, or None for the best that is here. Raises EngineError where the
    models of an engine that was asked for are not installed.
    """
    from drills.pitch_models.loaded import load_pitch_models

    if name is not None:
        return engine_named(name, lowest, load_pitch_models)
    try:
        return engine_named(VOTE, lowest, load_pitch_models)
    except EngineError:
        return engine_named(COMB, lowest, load_pitch_models)
