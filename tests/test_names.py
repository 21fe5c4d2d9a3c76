"""One name, one thing: no module and no public class of drills and scheduler shares its name with another."""

import ast
from collections import defaultdict
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent

ONE_THING = {
    "errors": "the errors of its own package; the two packages raise none of each other's",
    "evaluate": "one thing, where a package is judged against what is known: the scheduler, and the ears",
    "card": "one thing, a card: drills knows its music, the scheduler its id, skills and seconds",
}
"""Module names that stand twice, and why they may."""


def _sources():
    return [path for package in ("drills", "scheduler") for path in sorted((ROOT / package).rglob("*.py"))]


def _named(path):
    """The name a module or package goes by, with its place; None for what has no name of its own.

    A module of drills/cli is named after its command, and a command after what it shows: it is no second thing.
    """
    if path.name == "__main__.py" or path.parent == ROOT / "drills" / "cli":
        return None
    here = path.parent if path.name == "__init__.py" else path.with_suffix("")
    return here.name, here.relative_to(ROOT)


def test_no_module_name_stands_for_two_things():
    """Modules and packages have names of their own; a package and its main module may share one."""
    places = defaultdict(list)
    for path in _sources():
        if named := _named(path):
            places[named[0]].append(named[1])
    assert len(places) > 150
    twice = {
        name: sorted(map(str, found))
        for name, found in places.items()
        if len([place for place in found if place.parent not in found]) > 1
    }
    assert set(twice) == set(ONE_THING), twice


def test_no_public_class_name_stands_twice():
    """A class is found by its name alone, errors among them."""
    places = defaultdict(list)
    for path in _sources():
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                places[node.name].append(str(path.relative_to(ROOT)))
    assert len(places) > 100
    assert {name: found for name, found in places.items() if len(found) > 1} == {}
