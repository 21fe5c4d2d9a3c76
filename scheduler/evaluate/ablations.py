"""Shows what each part of the planner is worth: the same planner, with one part taken away at a time."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import fields, replace
from typing import Any

from scheduler.memory import Constants, Memory
from scheduler.planning import even_turns, gain, planner

__all__ = ["ABLATIONS", "CHOOSING", "constants_for", "offered", "single_experts", "without"]

_SINGLE = "only "

ABLATIONS: dict[str, Callable[[Constants], Constants]] = {
    "frozen at its prior": lambda c: _changed(c, learning_weights=False),
    "no sharing": lambda c: _changed(c, sharings=(0.0,)),
    "no player term": lambda c: _changed(c, player_variance=0.0, slope_variance=0.0),
    "no difficulty of skills": lambda c: _changed(c, difficulty_variance=0.0),
    "no slips": lambda c: c,
    "one horizon": lambda c: _changed(c, horizons_days=(4.0,)),
    "one utility": lambda c: _changed(c, utility_floors=(0.3, 0.3)),
    "new as good as begun": lambda c: _changed(c, new_skill_discount_days=1e-6),
}
"""What is taken away -> the constants without it. Slips are taken from the simulated player instead."""


CHOOSING: dict[str, dict[tuple[str, str], float]] = {
    "no waiting": {(even_turns.__name__, "_LEAST_TURNS"): 1.0, (even_turns.__name__, "_MOST_TURNS"): 1.0},
    "no gaps of their own": {(gain.__name__, "FAST_BELOW_DAYS"): 0.0},
    "new never held back": {(even_turns.__name__, "_HELD_BELOW"): 1e-9},
    "no careful days": {(planner.__name__, "_CAREFUL_DAYS"): 0},
    "all members, however light": {(gain.__name__, "_LEAVE_OUT_BELOW"): 0.0},
    "one member, the heaviest": {(gain.__name__, "_MOST"): 1},
}
"""Parts of choosing that are no constants of the memory: (module, name) -> the value that takes the part away."""


@contextmanager
def without(name: str) -> Iterator[Constants]:
    """The constants of a planner without a part, which a part of `CHOOSING` is without as long as this lasts."""
    was = {place: getattr(sys.modules[place[0]], place[1]) for place in CHOOSING.get(name, {})}
    try:
        for (module, attribute), value in CHOOSING.get(name, {}).items():
            setattr(sys.modules[module], attribute, value)
        yield constants_for("" if name in CHOOSING else name)
    finally:
        for (module, attribute), value in was.items():
            setattr(sys.modules[module], attribute, value)


def _changed(constants: Constants, **changes: Any) -> Constants:
    missing = set(changes) - {field.name for field in fields(constants)}
    if missing:
        raise LookupError(f"constants: this memory has no {', '.join(sorted(missing))} to take away")
    return replace(constants, **changes)


def offered(name: str) -> bool:
    """Says whether this memory has what the named ablation takes away."""
    try:
        ABLATIONS[name](Constants())
    except LookupError:
        return False
    return True


def single_experts() -> list[str]:
    """The names of the committees that have one member each."""
    return [_SINGLE + name for name in Memory().members]


def constants_for(variant: str) -> Constants:
    """The constants of a variant.

    variant: ``""`` for the usual ones, the name of an ablation, or the name of a single expert.
    """
    constants = Constants()
    if not variant:
        return constants
    if variant.startswith(_SINGLE):
        one = constants.experts[Memory().members.index(variant.removeprefix(_SINGLE))]
        return replace(
            constants,
            first_half_lives_days=(one.first_half_life_days,),
            curves=(one.power,),
            sharings=(one.sharing,),
        )
    return ABLATIONS[variant](constants)
