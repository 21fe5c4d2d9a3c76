"""Which modules are mutated, and which tests are asked about each: those nearest to it first."""

from __future__ import annotations

from pathlib import Path

__all__ = ["AREAS", "modules_of"]

AREAS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "theory": (("drills/theory/*.py",), ("theory", "shapes", "cards", "tunes")),
    "shapes": (("drills/shapes/*.py",), ("shapes", "neck", "cards", "diagrams", "tunes")),
    "memory": (("scheduler/memory/committee.py",), ("scheduler", "progress")),
    "planning": (
        ("scheduler/planning/gain.py", "scheduler/planning/planner.py", "scheduler/planning/eligibility.py"),
        ("scheduler", "session"),
    ),
    "log": (("scheduler/log/*.py",), ("scheduler", "faults", "exports", "progress", "roster", "cli", "old_files")),
    "changes": (("drills/changes/*.py",), ("tunes", "cli")),
    "etude": (("drills/lines/etude_*.py",), ("tunes", "cli")),
    "checker": (("drills/lines/checker*.py",), ("tunes",)),
    "grid": (("drills/diagrams/grid.py",), ("diagrams", "paper")),
    "pages": (("drills/paper/pages.py",), ("paper", "diagrams", "progress")),
}
"""Files, and folders of tests in the order they are run; a folder that is not there is left out."""


def modules_of(area: str, root: Path) -> list[str]:
    """The files of an area, as paths from the root."""
    return sorted(
        path.relative_to(root).as_posix()
        for pattern in AREAS[area][0]
        for path in root.glob(pattern)
        if path.name != "__init__.py"
    )
