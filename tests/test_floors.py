"""Who may import whom: each floor stands only on floors below it, and nothing reaches a network."""

import ast
import re
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent

FLOORS = [
    {"drills.errors", "drills.safe_text"},
    {"drills.configuration.shipped", "drills.configuration.home", "drills.configuration.diagram_style"},
    {"drills.theory"},
    {"drills.neck"},
    {"drills.shapes", "drills.configuration.settings"},
    {"drills.cards"},
    {"drills.changes", "drills.diagrams", "drills.sound", "drills.progress", "drills.sample", "drills.pitch_models"},
    {"drills.harmony", "drills.listening"},
    {"drills.lines", "drills.microphone"},
    {"drills.band"},
    {"drills.paper", "drills.tunes", "drills.exports"},
    {"drills.session", "drills.roster"},
    {"drills.phone"},
    {"drills.cli"},
]
"""Lowest first. Floors side by side do not import one another."""

SCHEDULER_FLOORS = [
    {"scheduler.errors", "scheduler.grade", "scheduler.atomic_write", "scheduler.plain_file", "scheduler.json_line"},
    {"scheduler.card", "scheduler.review", "scheduler.days"},
    {"scheduler.log"},
    {"scheduler.memory"},
    {"scheduler.statistics"},
    {"scheduler.planning"},
    {"scheduler.saved"},
    {"scheduler.evaluate"},
]
"""The floors inside the scheduler, lowest first.

What learns stands above the log and below what is counted; what chooses stands on both.
"""

WITHOUT_MEMORY = {
    "drills.theory", "drills.neck", "drills.shapes", "drills.diagrams", "drills.sound", "drills.listening",
    "drills.microphone", "drills.pitch_models",
}  # fmt: skip
"""Floors that know nothing of scheduling."""

SERVES_BOTH = {"scheduler.atomic_write", "scheduler.atomic_write.atomic_write", "scheduler.atomic_write.write_whole",
               "scheduler.atomic_write.is_running",
               "scheduler.plain_file", "scheduler.plain_file.open_plain",
               "scheduler.json_line", "scheduler.json_line.json_line"}  # fmt: skip
"""Writing a file whole knows neither music nor memory. It stands in the scheduler, which may not import drills."""

VALUES = {"scheduler.card", "scheduler.grade", "scheduler.review", "scheduler.errors"}
"""The scheduler's plain values, below its log, memory and planner."""

NETWORK = {
    "socket", "ssl", "socketserver", "http", "urllib.request", "urllib3", "requests", "httpx", "aiohttp", "ftplib",
    "smtplib", "poplib", "imaplib", "telnetlib", "nntplib", "xmlrpc", "webbrowser", "paramiko", "websockets",
}  # fmt: skip


def _module(path):
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@cache
def _imports(module):
    """Every module that one of ours imports, late imports inside functions too, as full names."""
    path = MODULES[module]
    package = module if path.name == "__init__.py" else module.rpartition(".")[0]
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                above = package.split(".")[: len(package.split(".")) - node.level + 1]
                base = ".".join([*above, *([base] if base else [])])
            found |= {base} | {f"{base}.{alias.name}" for alias in node.names}
    return found


MODULES = {
    _module(path): path for package in ("drills", "scheduler") for path in sorted((ROOT / package).rglob("*.py"))
}


def _within(module, package):
    return module == package or module.startswith(package + ".")


def _floor(module):
    """The index and name of the floor a module belongs to, or None for the bare packages."""
    for index, names in enumerate(FLOORS):
        for name in names:
            if _within(module, name):
                return index, name
    return None


def test_every_module_is_looked_at():
    """The walk finds the whole of both packages, so that no rule passes by looking at nothing."""
    assert len(MODULES) >= 40
    for floor in ("drills.theory", "drills.neck", "drills.shapes", "scheduler.memory"):
        assert sum(_within(module, floor) for module in MODULES) >= 4
    assert any("drills.theory.note" in imports for imports in map(_imports, MODULES))


def test_every_module_of_drills_belongs_to_a_floor():
    """A new part of drills is given a place among the floors before it is used."""
    assert [
        module
        for module in MODULES
        if _within(module, "drills") and module not in ("drills", "drills.configuration") and not _floor(module)
    ] == []


@pytest.mark.parametrize("floor", [name for names in FLOORS for name in sorted(names)])
def test_a_floor_imports_only_from_floors_below(floor):
    """No module imports from a floor above it or beside it."""
    wrong = []
    for module in MODULES:
        place = _floor(module)
        if place is None or place[1] != floor:
            continue
        for imported in _imports(module):
            other = _floor(imported)
            if other and other[1] != floor and other[0] >= place[0]:
                wrong.append(f"{module} imports {imported}")
    assert wrong == []


def test_the_package_itself_imports_no_floor():
    """Importing drills alone loads none of its floors."""
    assert [name for name in _imports("drills") if _floor(name)] == []


def test_the_scheduler_never_imports_drills():
    """The scheduler knows nothing about music."""
    assert [
        f"{module} imports {name}"
        for module in MODULES
        if _within(module, "scheduler")
        for name in _imports(module)
        if _within(name, "drills")
    ] == []


def test_music_floors_never_import_the_scheduler():
    """Theory, neck, shapes, diagrams and sound know nothing about memory."""
    assert [
        f"{module} imports {name}"
        for module in MODULES
        if any(_within(module, floor) for floor in WITHOUT_MEMORY)
        for name in _imports(module)
        if _within(name, "scheduler") and name not in ("scheduler", *SERVES_BOTH)
    ] == []


def test_listening_is_pure():
    """Ears reach no device, file or clock: beside numbers they import only what is theirs; only their judge may.

    What frequency a pitch has is theory, and has one home for what is played and what is heard.
    """
    plain = {"__future__", "collections.abc", "dataclasses", "enum", "functools", "math", "statistics", "typing"}
    plain |= {"drills.theory.note", "drills.theory.note.hz_of_midi", "drills.theory.note.midi_of_hz"}
    heard = [m for m in MODULES if _within(m, "drills.listening") and not _within(m, "drills.listening.evaluate")]
    assert len(heard) >= 10
    assert [
        f"{module} imports {name}"
        for module in heard
        for name in _imports(module)
        if name.split(".")[0] != "numpy"
        and (not _within(name, "drills.listening") or _within(name, "drills.listening.evaluate"))
        and not any(_within(name, allowed) for allowed in plain)
    ] == []


def test_the_scheduler_never_imports_its_evaluation():
    """Simulated players and rivals stand above the scheduler; the scheduler cannot see them."""
    assert [
        f"{module} imports {name}"
        for module in MODULES
        if _within(module, "scheduler") and not _within(module, "scheduler.evaluate")
        for name in _imports(module)
        if _within(name, "scheduler.evaluate")
    ] == []


def test_values_stand_below_memory_and_memory_below_the_planner():
    """Cards, grades and reviews import neither log, memory nor planner; memory and log do not import the planner."""
    upper = ("scheduler.log", "scheduler.memory", "scheduler.planning")
    wrong = [
        f"{module} imports {name}"
        for module in MODULES
        if module in VALUES
        for name in _imports(module)
        if any(_within(name, above) for above in upper)
    ]
    wrong += [
        f"{module} imports {name}"
        for module in MODULES
        if _within(module, "scheduler.memory") or _within(module, "scheduler.log")
        for name in _imports(module)
        if _within(name, "scheduler.planning")
    ]
    assert wrong == []


def _scheduler_floor(module):
    """The index and name of the floor of the scheduler a module belongs to, or None."""
    for index, names in enumerate(SCHEDULER_FLOORS):
        for name in names:
            if _within(module, name):
                return index, name
    return None


def test_every_module_of_the_scheduler_belongs_to_a_floor():
    """A new part of the scheduler is given a place among its floors before it is used."""
    assert [
        module
        for module in MODULES
        if _within(module, "scheduler") and module != "scheduler" and not _scheduler_floor(module)
    ] == []


@pytest.mark.parametrize("floor", sorted(name for names in SCHEDULER_FLOORS for name in names))
def test_a_floor_of_the_scheduler_imports_only_from_floors_below(floor):
    """No module imports from a floor above it or beside it."""
    wrong = []
    for module in MODULES:
        place = _scheduler_floor(module)
        if place is None or place[1] != floor:
            continue
        for imported in _imports(module):
            other = _scheduler_floor(imported)
            if other and other[1] != floor and other[0] >= place[0]:
                wrong.append(f"{module} imports {imported}")
    assert wrong == []


def _asks_rest(module):
    """Lines of a module that test whether something is among the rested cards."""
    return [
        node.lineno
        for node in ast.walk(ast.parse(MODULES[module].read_text(encoding="utf-8")))
        if isinstance(node, ast.Compare)
        and any(isinstance(op, ast.In | ast.NotIn) for op in node.ops)
        and any(ast.unparse(right).rpartition(".")[2] == "rested" for right in node.comparators)
    ]


def test_the_rules_alone_say_whether_a_card_rests():
    """Whether a card may be asked at all is asked of `TeachingRules.allows`, wherever cards are chosen."""
    assert [module for module in MODULES if _asks_rest(module)] == ["scheduler.planning.rules"]


def test_clocks_become_days_in_two_places():
    """A practice day is made in `scheduler.days.practice_day` and the memory's clock by the learner, nowhere else."""
    dividing = {
        module
        for module in MODULES
        if not _within(module, "scheduler.evaluate")
        for node in ast.walk(ast.parse(MODULES[module].read_text(encoding="utf-8")))
        if isinstance(node, ast.BinOp)
        and isinstance(node.op, ast.Div | ast.FloorDiv)
        and ast.unparse(node.right).lstrip("_").startswith(("DAY_", "86400"))
    }
    assert dividing == {"scheduler.days.practice_day", "scheduler.memory.learner"}


def test_the_usual_hour_is_written_once():
    """The hour at which a day begins has one default, which the settings, read before the scheduler, agree with."""
    from drills.configuration.settings import Practice
    from scheduler.days.practice_day import DAY_STARTS_AT_HOUR

    assert Practice().day_starts_at == DAY_STARTS_AT_HOUR
    numbers = []
    for module in MODULES:
        for node in ast.walk(ast.parse(MODULES[module].read_text(encoding="utf-8"))):
            given = []
            if isinstance(node, ast.AnnAssign):
                given = [(ast.unparse(node.target), node.value)]
            elif isinstance(node, ast.FunctionDef):
                named = [*node.args.posonlyargs, *node.args.args]
                given = [
                    (arg.arg, value) for arg, value in zip(reversed(named), reversed(node.args.defaults), strict=False)
                ]
                given += [
                    (arg.arg, value) for arg, value in zip(node.args.kwonlyargs, node.args.kw_defaults, strict=True)
                ]
            numbers += [
                f"{module}:{node.lineno}"
                for name, value in given
                if name == "day_starts_at_hour" and isinstance(value, ast.Constant)
            ]
    assert numbers == []


def test_what_both_packages_use_imports_neither():
    """Writing a file whole is a plain leaf."""
    assert [
        name for name in _imports("scheduler.atomic_write") if _within(name, "scheduler") or _within(name, "drills")
    ] == []


def test_nothing_imports_a_network_module():
    """Nothing leaves the machine: no module can open a connection."""
    assert [
        f"{module} imports {name}"
        for module in MODULES
        for name in _imports(module)
        if any(_within(name, forbidden) for forbidden in NETWORK)
    ] == []


@pytest.mark.parametrize("module", sorted(MODULES))
def test_a_module_opens_with_its_purpose_and_says_what_it_offers(module):
    """Every module opens with a sentence of purpose, and every one that is no package lists what it offers."""
    tree = ast.parse(MODULES[module].read_text(encoding="utf-8"))
    purpose = ast.get_docstring(tree) or ""
    assert purpose.split("\n\n")[0].rstrip().endswith(".")
    listed = [
        node.value
        for node in tree.body
        if isinstance(node, ast.Assign) and [getattr(target, "id", "") for target in node.targets] == ["__all__"]
    ]
    if MODULES[module].name not in ("__init__.py", "__main__.py"):
        assert len(listed) == 1
    for names in listed:
        offered = ast.literal_eval(names)
        assert len(set(offered)) == len(offered)


@pytest.mark.parametrize(
    ("imported", "absent"), [("scheduler", "drills"), ("scheduler", "scheduler.evaluate"), ("drills", "scheduler")]
)
def test_importing_one_package_does_not_load_the_other(imported, absent):
    """In a fresh interpreter, what should not be seen is not loaded."""
    code = f"import sys, {imported}; sys.exit({absent!r} in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], cwd=ROOT, timeout=60, check=False).returncode == 0


def test_a_file_takes_another_s_name_in_one_place():
    """Only `scheduler.atomic_write` renames a file."""
    renaming = {
        name
        for name, path in MODULES.items()
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Attribute)
        and node.attr in ("replace", "rename", "renames")
        and isinstance(node.value, ast.Name)
        and node.value.id == "os"
    }
    assert renaming == {"scheduler.atomic_write"}


def test_the_developers_page_lists_the_folders_from_the_top_down():
    """DEVELOPERS.md draws the floors in an order that the imports obey, and leaves no folder out."""
    page = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split("## The folders")[1]
    blocks = page.split("```")[1::2][:2]
    for package, floors, block in (("scheduler", SCHEDULER_FLOORS, blocks[0]), ("drills", FLOORS, blocks[1])):
        named = [word for line in block.strip().splitlines() for word in re.split(r"\s{3,}", line)[0].split()]
        heights = []
        for name in named:
            heights.append(
                min(i for i, floor in enumerate(floors) for one in floor if _within(one, f"{package}.{name}"))
            )
        assert heights == sorted(heights, reverse=True)
        there = {
            path.name.removesuffix(".py")
            for path in (ROOT / package).iterdir()
            if (path / "__init__.py").exists() or path.suffix == ".py"
        }
        assert there - {"__init__", "__main__"} == set(named)
