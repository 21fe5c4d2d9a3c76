"""The page of formulas names every constant of the model with the value it has."""

from __future__ import annotations

import ast
import importlib
import re
from dataclasses import fields
from pathlib import Path

import pytest

from scheduler.memory.constants import Constants

PAGE = (Path(__file__).parents[2] / "scheduler" / "evaluate" / "MODEL.md").read_text(encoding="utf-8")
ROWS = re.findall(r"^\| `(\w+)`[^|]*\| ([^|]+?) \| ([\w.]+) \|$", PAGE, re.MULTILINE)


@pytest.mark.parametrize(("name", "value", "where"), ROWS)
def test_a_constant_has_the_value_the_page_gives(name, value, where):
    """As a literal, in the usual constants or in the module named."""
    holder = Constants() if where == "Constants" else importlib.import_module(where)
    assert getattr(holder, name) == ast.literal_eval(value)


def test_the_page_leaves_no_constant_out():
    """All but the switch that freezes the committee, which is never off for a player."""
    named = {name for name, _, where in ROWS if where == "Constants"}
    assert {field.name for field in fields(Constants)} - named == {"learning_weights"}
    assert {where for _, _, where in ROWS} == {
        "Constants", "scheduler.planning.gain", "scheduler.planning.planner", "scheduler.planning.even_turns",
    }  # fmt: skip
