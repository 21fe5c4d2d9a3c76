"""A player's settings: the instrument, how diagrams are drawn, and how practice is counted."""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace
from pathlib import Path
from typing import Any

from drills.configuration.diagram_style import COLOURS, LABELS, ORIENTATIONS, DiagramStyle
from drills.configuration.shipped import MOST_TOML_BYTES, toml_values
from drills.errors import DrillsError, SettingsError
from drills.neck.neck import Neck
from drills.neck.tuning import Tuning, parse_tuning, read_tunings
from scheduler.atomic_write import atomic_write
from scheduler.plain_file import open_plain

__all__ = [
    "LABELS",
    "ORIENTATIONS",
    "DiagramStyle",
    "Practice",
    "Settings",
    "changed",
    "read_settings",
    "write_settings",
]


@dataclass(frozen=True, slots=True)
class Practice:
    """How practice is counted.

    minutes: length of a session. deck: name or path of the usual deck. day_starts_at: local
    hour at which a practice day begins (practice at 00:30 counts for the evening before).
    days: which days are practice days, in words or as an RRULE. tempo_bpm: click for "In time".
    """

    minutes: float = 10.0
    deck: str = "first"
    day_starts_at: float = 4.0
    days: str = "every day"
    tempo_bpm: int = 60


@dataclass(frozen=True, slots=True)
class Settings:
    """Everything a player may set.

    tuning_name: name in the tables, or open pitches written out.
    """

    neck: Neck = Neck()
    reading: DiagramStyle = DiagramStyle()
    practice: Practice = Practice()
    tuning_name: str = "standard"
    changed_fields: frozenset[str] = field(default=frozenset(), compare=False)


_TABLES: dict[str, dict[str, Any]] = {
    "instrument": {
        "tuning": str, "top_fret": int, "root_frets": list, "open_roots": bool, "alternates": bool,
        "scale_mm": float, "capo": int, "reach_limit_mm": float,
    },
    "reading": {
        "left_handed": bool, "orientation": str, "labels": str, "ascii": bool, "plain": bool, "sound": bool,
        "colour": str,
    },
    "practice": {"minutes": float, "deck": str, "day_starts_at": float, "days": str, "tempo_bpm": int},
}  # fmt: skip
_RANGES = {"minutes": (1, 60), "day_starts_at": (0, 23), "tempo_bpm": (30, 240)}
_CHOICES = {"orientation": ORIENTATIONS, "labels": LABELS, "colour": COLOURS}


def _checked(where: str, table: str, key: str, value: Any) -> Any:
    """A value of the type that `_TABLES` gives its key, a list as a tuple and a whole number as a float where
    one is meant; raises SettingsError otherwise."""
    kind = _TABLES[table].get(key)
    if kind is None:
        raise SettingsError(f"{where}, {table}, {key}: unknown; expected one of {', '.join(_TABLES[table])}")
    wanted: Any = (int, float) if kind is float else kind
    if not isinstance(value, wanted) or (kind is not bool and isinstance(value, bool)):
        name = {bool: "true or false", int: "a whole number", float: "a number", list: "a list", str: "text"}[kind]
        raise SettingsError(f"{where}, {table}, {key}: expected {name}, got {value!r}")
    if key in _RANGES and not _RANGES[key][0] <= value <= _RANGES[key][1]:
        low, high = _RANGES[key]
        raise SettingsError(f"{where}, {table}, {key}: expected {low} to {high}, got {value!r}")
    if key in _CHOICES and value not in _CHOICES[key]:
        raise SettingsError(f"{where}, {table}, {key}: expected one of {', '.join(_CHOICES[key])}, got {value!r}")
    if key == "root_frets" and not (len(value) == 2 and all(isinstance(f, int) for f in value)):
        raise SettingsError(f"{where}, {table}, {key}: expected two frets such as [1, 12], got {value!r}")
    return tuple(value) if kind is list else float(value) if kind is float else value


def _tuning(name: str, own: Path | None) -> tuple[Tuning, float]:
    tunings = read_tunings(own)
    if name in tunings:
        return tunings[name].tuning, tunings[name].scale_mm
    try:
        return parse_tuning(name), Neck().scale_mm
    except DrillsError as error:
        raise SettingsError(
            f"tuning {name[:40]!r}: expected one of {', '.join(tunings)}, or open pitches such as 'E2 A2 D3 G3 B3 E4'"
        ) from error


def changed(
    settings: Settings, table: str, key: str, value: object, own_tunings: Path | None = None, where: str = "settings"
) -> Settings:
    """Settings with one value changed; a new tuning brings its usual scale length.

    Raises SettingsError naming table and key when it is unknown, of the wrong type or out of range.
    """
    if table not in _TABLES:
        raise SettingsError(f"{where}, {table}: unknown; expected one of {', '.join(_TABLES)}")
    checked = _checked(where, table, key, value)
    marked = settings.changed_fields | {f"{table}.{key}"}
    if table == "reading":
        return replace(settings, reading=replace(settings.reading, **{key: checked}), changed_fields=marked)
    if table == "practice":
        return replace(settings, practice=replace(settings.practice, **{key: checked}), changed_fields=marked)
    try:
        if key == "tuning":
            tuning, scale_mm = _tuning(str(checked), own_tunings)
            neck = replace(settings.neck, tuning=tuning)
            if "instrument.scale_mm" not in settings.changed_fields:
                neck = replace(neck, scale_mm=scale_mm)
            return replace(settings, neck=neck, tuning_name=str(checked), changed_fields=marked)
        return replace(settings, neck=replace(settings.neck, **{key: checked}), changed_fields=marked)
    except SettingsError:
        raise
    except DrillsError as error:
        raise SettingsError(f"{where}, {table}, {key}: {error}") from error


def read_settings(path: Path, own_tunings: Path | None = None) -> Settings:
    """The settings of a file, defaults where it says nothing or does not exist.

    Raises SettingsError naming file, table and key.
    """
    settings = Settings()
    try:
        with open_plain(path, MOST_TOML_BYTES) as file:
            data = toml_values(file.read().decode("utf-8"))
    except FileNotFoundError:
        return settings
    except OSError as error:
        raise SettingsError(f"{path}: cannot be read ({error.strerror}); check its permissions") from error
    except ValueError as error:  # wrong TOML or wrong UTF-8
        raise SettingsError(f"{path}: not readable as TOML ({error}); mend that line or delete the file") from error
    for table, values in data.items():
        if not isinstance(values, dict):
            raise SettingsError(f"{path}, {table}: expected a table [{table}], got {values!r:.60}")
        # The scale length is read first: a tuning brings its own only where none is set.
        for key in sorted(values, key=lambda key: key != "scale_mm"):
            settings = changed(settings, table, key, values[key], own_tunings, str(path))
    return settings


def write_settings(path: Path, settings: Settings) -> None:
    """Writes what the player has changed, whole or not at all.

    Raises SettingsError when the file cannot be written.
    """
    import tomlkit

    document = tomlkit.document()
    document.add(tomlkit.comment("neckwork settings; `neckwork setup --help` explains them"))
    values = {
        "instrument": {f.name: getattr(settings.neck, f.name) for f in fields(Neck) if f.name != "tuning"}
        | {"tuning": settings.tuning_name},
        "reading": {f.name: getattr(settings.reading, f.name) for f in fields(DiagramStyle)},
        "practice": {f.name: getattr(settings.practice, f.name) for f in fields(Practice)},
    }
    for table, row in values.items():
        kept = {key: value for key, value in row.items() if f"{table}.{key}" in settings.changed_fields}
        if kept:
            section = tomlkit.table()
            for key, value in kept.items():
                section.add(key, list(value) if isinstance(value, tuple) else value)
            document.add(table, section)
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with atomic_write(path, private=True) as out:
            out.write(tomlkit.dumps(document))
    except OSError as error:
        raise SettingsError(f"{path}: cannot be written ({error.strerror}); check the folder's permissions") from error
