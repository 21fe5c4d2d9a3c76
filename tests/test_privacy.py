"""What begins with an underscore belongs to the object or the module that made it: nobody else reads it."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent

OF_NAMED_TUPLES = {"_make", "_replace", "_asdict", "_fields", "_field_defaults"}
"""Public, though they begin with an underscore (the Python library's page on `collections.namedtuple`)."""

FILES = [path for package in ("drills", "scheduler") for path in sorted((ROOT / package).rglob("*.py"))]


def _private(name):
    return name.startswith("_") and not (name.startswith("__") and name.endswith("__"))


def reaches(source):
    """Every private name that a module reads from an object other than self and cls, or imports, by line."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Attribute) and _private(node.attr) and node.attr not in OF_NAMED_TUPLES:
            if not (isinstance(node.value, ast.Name) and node.value.id in ("self", "cls")):
                found.append((node.lineno, ast.unparse(node)))
        elif isinstance(node, ast.ImportFrom):
            found += [(node.lineno, alias.name) for alias in node.names if _private(alias.name)]
    return found


@pytest.mark.parametrize(
    ("source", "count"),
    [
        ("def f(self): return self._own", 0),
        ("def f(self): return self.other._name", 1),
        ("other._name = 1", 1),
        ("planner()._rank(1)", 1),
        ("from a.b import _hidden", 1),
        ("from __future__ import annotations", 0),
        ("class A:\n    def f(cls): return cls._made", 0),
        ("pace._replace(clean=1).__class__", 0),
    ],
)
def test_the_search_sees_what_it_should(source, count):
    """The rule below finds a reach into another object, and leaves alone what is one's own."""
    assert len(reaches(source)) == count


def test_nobody_reads_what_is_private_to_another():
    """No module of either package reads an underscored name of another object, nor imports one."""
    assert len(FILES) > 100
    assert [
        f"{path.relative_to(ROOT)}:{line}: {name}"
        for path in FILES
        for line, name in reaches(path.read_text(encoding="utf-8"))
    ] == []
