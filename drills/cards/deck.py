"""Deck files: what to drill, read from TOML and checked; a wrong value is named with file, line and key.

The keys are documented for teachers in decks/README.md.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from difflib import get_close_matches
from pathlib import Path
from typing import Any, TypeVar

from drills.cards.kinds import PROMPT_KINDS
from drills.configuration.home import expanded
from drills.configuration.shipped import MOST_TOML_BYTES, toml_values
from drills.errors import DeckError, DrillsError
from drills.neck.strings import StringSet, parse_strings
from drills.safe_text import drawn
from drills.shapes.form import GRIP_KINDS, POSITIONS, USUAL_FORMS, Form, parse_form
from drills.shapes.shape import fingers_of
from drills.theory.key import KEYS_BY_FOURTHS, Key, parse_drilled_key
from drills.theory.note import Note
from drills.theory.quality import QualityTable, shipped_qualities
from scheduler.plain_file import open_plain

__all__ = ["Block", "Deck", "DeckFault", "deck_faults", "find_deck", "list_decks", "read_deck"]

_Value = TypeVar("_Value")

_MOST_FAULTS = 100
"""So many faults of one file are enough to mend at once."""

_TAUGHT = (
    "first", "set-654", "set-543", "set-432", "set-321", "roots", "keys", "transitions", "finding", "triads",
    "minor", "fourteen", "other-starts", "two-octaves", "shells", "grips-drop2", "grips-drop3", "grips-triads",
    "scales", "pentatonics", "scales-three-per-string", "vocabulary", "everything", "away", "ear",
)  # fmt: skip
"""The shipped decks as a teacher brings them in (drills/RULES.md, B1 and B3b): the first four qualities set by set,
their roots, keys and changes, triads beside them; then the later tiers and other starts; grips, scales and figures."""

_DEEPEST_INCLUDE = 8
_LONGEST_NAME = 255


class DeckFault(DeckError):
    """What is wrong at one place of a deck file: in which file, table and line (0 where none is known), with which key,
    and what came."""

    def __init__(self, message: str, path: Path, where: str, key: str, came: object, line: int) -> None:
        super().__init__(message)
        self.path, self.where, self.key, self.came, self.line = path, where, key, came, line


@dataclass(frozen=True, slots=True)
class Block:
    """Material that is crossed: forms x qualities x (roots or keys) x string sets x prompts.

    forms: form ids, or one of USUAL_FORMS for the usual mode of each chord. qualities: names,
    empty for every diatonic one when keys are given. roots: empty for all twelve.
    core: whether the tuning's core sets come first, so that one deck serves guitar and
    bass. keys: chords are then the keys' own. from_week: released from that week of the
    deck on, 1 at once.

    A block that names another deck stands here as that deck's blocks, its weeks counted from the block's own.

    changes: a page of changes instead (a path, a name or the changes themselves). Its paths begin
    on the root strings in starts (all when empty), in the key of transpose ("" as written);
    its prompts are then empty for the usual two, see `drills.cards.stops_and_joints.PROMPTS`.
    """

    forms: tuple[str, ...] = ("arpeggio",)
    qualities: tuple[str, ...] = ()
    string_sets: tuple[StringSet, ...] = ()
    core: bool = False
    roots: tuple[Note, ...] = ()
    keys: tuple[Key, ...] = ()
    prompts: tuple[str, ...] = ("name",)
    from_week: int = 1
    changes: str = ""
    transpose: str = ""
    starts: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Deck:
    """A deck file as read.

    name: file name without ending. title, about: for people. blocks: the material in
    the order of introduction. starts: the day week 1 begins, or None when everything is
    released. limits: most new skills a session by kind. neck: settings of the neck the
    deck overrides. fingerings: locked fingers by (form id, quality, string set id).
    names: the symbol shown for a quality. teacher: whose fingerings they are.
    in_order: whether new material is met in the order given and in no other.
    students: of a group that shares the deck, by the names of the files they send. own_starts: the day week 1 begins
    for those of them for whom it is not `starts`; `drills.cards.group_decks` makes one student's deck of it.
    """

    name: str
    title: str
    about: str = ""
    blocks: tuple[Block, ...] = ()
    starts: date | None = None
    limits: dict[str, int] = field(default_factory=dict)
    neck: dict[str, int | bool] = field(default_factory=dict)
    fingerings: dict[tuple[str, str, str], tuple[int, ...]] = field(default_factory=dict)
    names: dict[str, str] = field(default_factory=dict)
    teacher: str = ""
    in_order: bool = False
    students: tuple[str, ...] = ()
    own_starts: dict[str, date] = field(default_factory=dict)

    def released(self, today: date | None) -> tuple[Block, ...]:
        """The blocks a student meets by a day; all of them without a day or a start."""
        if self.starts is None or today is None:
            return self.blocks
        week = (today - self.starts).days // 7 + 1
        return tuple(block for block in self.blocks if block.from_week <= week)


_TOP = {
    "title": str, "about": str, "teacher": str, "include": list, "starts": date, "material": list,
    "limits": dict, "neck": dict, "fingerings": dict, "names": dict,
    "in_order": bool, "students": list, "own_starts": dict,
}  # fmt: skip
_BLOCK = {
    "forms": list, "qualities": list, "string_sets": list, "roots": list, "keys": list, "prompts": list,
    "from_week": int, "changes": str, "transpose": str, "from_strings": list, "deck": str,
}  # fmt: skip
_CHANGES_KEYS = ("changes", "transpose", "from_strings", "prompts", "from_week")
"""Keys of a block whose material is a page of changes."""
_DECK_KEYS = ("deck", "from_week")
"""Keys of a block whose material is another deck's."""
_LIMITS = {"new_forms": "form", "new_roots": "root"}
_NECK = {"top_fret": int, "open_roots": bool, "alternates": bool}
_FAULTLESS = {"qualities": ["m7"], "string_sets": ["core"]}
_NEEDED = frozenset(_FAULTLESS)
"""What a block of chords cannot be without, and a block that has nothing wrong."""

_TYPE_NAMES = {
    str: "text",
    list: "a list",
    dict: "a table",
    int: "a whole number",
    bool: "true or false",
    date: "a date such as 2026-09-07",
}


class _DeckReader:
    """Reads one file; every refusal names file, line, table and key."""

    def __init__(self, path: Path, table: QualityTable):
        self.path, self.table = path, table
        self.taking = ("", "include", "")  # table, key and value that name the deck that is being taken over
        try:
            with open_plain(path, MOST_TOML_BYTES) as file:
                self.text = file.read().decode("utf-8")
            self.data = toml_values(self.text)
        except OSError as error:
            raise DeckError(f"deck {path}: cannot be read ({error.strerror}); check the path") from error
        except ValueError as error:  # wrong TOML or wrong UTF-8
            raise DeckError(f"deck {path}: not readable as TOML ({error}); mend that line") from error

    def refuse(self, where: str, key: str, expected: str, came: object) -> DeckFault:
        shown = repr(came)
        line = self._line(where, key)
        place = f"{self.path}, line {line}" if line else str(self.path)
        said = (
            f"deck {place}: {where + ', ' if where else ''}{key}: expected {expected}, "
            f"got {shown if len(shown) <= 60 else shown[:57] + '...'}"
        )
        return DeckFault(said, self.path, where, key, came, line)

    def leave_out(self, fault: DeckFault) -> bool:
        """Take what a fault is about out of what was read, so that the next one shows; whether that could be done."""
        number = int(fault.where.removeprefix("material ")) if fault.where.startswith("material ") else 0
        tables = self.data.get("material", [])
        table = tables[number - 1] if number else self.data.get(fault.where) if fault.where else self.data
        if fault.key in ("include", "material") and not number:
            self.data.setdefault("material", [dict(_FAULTLESS)])  # an include may have been all that there was
        if fault.key == "starts" and not fault.where:
            self.data["starts"] = date.min  # a group needs one
            return True
        if not isinstance(table, dict) or fault.key not in table:
            if not number:
                return fault.key == "material"
            tables[number - 1] = dict(_FAULTLESS)  # something is missing: the rest of the table can say no more
            return True
        value = table[fault.key]
        if fault.key == "deck":
            tables[number - 1] = dict(_FAULTLESS)
        elif fault.key == "students" and fault.came in value[value.index(fault.came) + 1 :]:
            table[fault.key] = list(dict.fromkeys(value))
        elif isinstance(value, list) and fault.came in value and len(value) > 1:
            table[fault.key] = [one for one in value if one != fault.came]
        elif number and fault.key in _NEEDED:
            table[fault.key] = _FAULTLESS[fault.key]
        else:
            del table[fault.key]
        return True

    def _line(self, where: str, key: str) -> int:
        """1-based line of a key in a table, or of the table's head for a key it lacks, or 0; [[material]] tables are
        counted from 1."""
        inside, seen, head = "", 0, 0
        for number, line in enumerate(self.text.splitlines(), 1):
            if header := re.match(r"\s*\[+\s*([\w.-]+)", line):
                seen += header[1] == "material"
                inside = f"material {seen}" if header[1] == "material" else header[1]
                head = number if inside == where else head
            elif inside == where and re.match(rf"\s*\"?{re.escape(key)}\"?\s*=", line):
                return number
        return head

    def typed(self, where: str, table: dict[str, Any], fields: Mapping[str, type]) -> None:
        for key, value in table.items():
            kind = fields.get(key)
            if kind is None:
                near = get_close_matches(key, fields, 1)
                meant = f" (nearest: {near[0]})" if near else ""
                raise self.refuse(where, key, f"a key of {', '.join(fields)}{meant}", key)
            if key == "material" and isinstance(value, dict):
                raise self.refuse(where, key, "tables written [[material]] with two brackets", "[material]")
            # In Python a bool is an int and a datetime is a date; in a deck file neither is meant.
            other = isinstance(value, bool) if kind is int else kind is date and isinstance(value, datetime)
            if not isinstance(value, kind) or other:
                raise self.refuse(where, key, _TYPE_NAMES[kind], value)

    def each(self, where: str, key: str, values: list[object], read: Callable[[str], _Value]) -> list[_Value]:
        found = []
        for value in values:
            if not isinstance(value, str):
                raise self.refuse(where, key, "a list of text", value)
            try:
                found.append(read(value))
            except DrillsError as error:
                raise self.refuse(where, key, str(error).partition("expected ")[2] or "a known value", value) from error
        return found

    def block(self, number: int, table: object) -> Block:
        where = f"material {number}"
        if not isinstance(table, dict):
            raise self.refuse("", "material", "tables written [[material]]", table)
        self.typed(where, table, _BLOCK)
        if "changes" in table:
            return self.changes_block(where, table)
        for key in _CHANGES_KEYS[1:3]:
            if key in table:
                raise self.refuse(where, key, "a key changes beside it", table[key])
        forms = [
            form
            for name in self.each(where, "forms", table.get("forms", ["arpeggio"]), str)
            for form in self._forms(where, name)
        ]
        roots = table.get("roots", [])
        roots = [] if roots in ([], ["all"]) else self.each(where, "roots", roots, Note.parse)
        keys = table.get("keys", [])
        keys = list(KEYS_BY_FOURTHS) if keys == ["all"] else keys
        qualities = self.each(where, "qualities", table.get("qualities", []), lambda name: self.table.named(name).name)
        prompts = self.prompts(where, table, ["name"])
        if not qualities and not keys:
            raise self.refuse(where, "qualities", "at least one quality, or keys", table.get("qualities", []))
        if "string_sets" not in table or not table["string_sets"]:
            raise self.refuse(
                where, "string_sets", 'at least one set such as "654", or "core"', table.get("string_sets")
            )
        sets = table["string_sets"]
        from_week = self.from_week(where, table)
        return Block(
            tuple(dict.fromkeys(forms)),
            tuple(qualities),
            tuple(self.each(where, "string_sets", [name for name in sets if name != "core"], parse_strings)),
            "core" in sets,
            tuple(roots),
            tuple(self.each(where, "keys", keys, parse_drilled_key)),
            tuple(prompts),
            from_week,
        )

    def changes_block(self, where: str, table: dict[str, Any]) -> Block:
        """A block whose material is a page of changes; a higher floor reads the page."""
        for key in table:
            if key not in _CHANGES_KEYS:
                raise self.refuse(where, key, f"only {', '.join(_CHANGES_KEYS)} beside changes", table[key])
        changes, starts = table["changes"].strip(), table.get("from_strings", [])
        if not changes:
            raise self.refuse(where, "changes", 'a file, a shipped page or chords such as "| Cm7 | F7 |"', changes)
        if not all(type(string) is int and 1 <= string <= 12 for string in starts):
            raise self.refuse(where, "from_strings", "string numbers such as [6, 5]", starts)
        # A page beside the deck file goes with it, wherever the deck is used from.
        beside = self.path.parent / changes
        if len(changes.encode()) < _LONGEST_NAME and beside.is_file():
            changes = str(beside)
        return Block(
            prompts=self.prompts(where, table, []), from_week=self.from_week(where, table), changes=changes,
            transpose=table.get("transpose", ""), starts=tuple(starts),
        )  # fmt: skip

    def deck_block(self, where: str, table: dict[str, Any]) -> tuple[str, int]:
        """The name of the deck whose material a block is, and the week in which its first week falls."""
        self.typed(where, table, _BLOCK)
        for key in table:
            if key not in _DECK_KEYS:
                raise self.refuse(where, key, f"only {' and '.join(_DECK_KEYS)} beside deck", table[key])
        name: str = table["deck"]
        return name, self.from_week(where, table)

    def students(self) -> tuple[str, ...]:
        """The names of a group, each once."""
        found: list[str] = []
        for name in self.each("", "students", self.data.get("students", []), str):
            plain = drawn(name).strip()
            # It is a file's name, and a folder's.
            named = plain and not plain.startswith(".") and not set(plain) & set("/\\") and len(plain) <= _LONGEST_NAME
            if not named or plain.casefold() in map(str.casefold, found):
                raise self.refuse("", "students", "the name of each student's file, once and without its ending", name)
            found.append(plain)
        if found and "starts" not in self.data:
            raise self.refuse("", "starts", "the day the group's week 1 begins, such as 2026-09-07", None)
        return tuple(found)

    def own_starts(self, students: tuple[str, ...]) -> dict[str, date]:
        """The days of those whose week 1 begins on another, by their name among the students."""
        known, found = {name.casefold(): name for name in students}, dict[str, date]()
        table = self.data.get("own_starts", {})
        for key in table:
            if (name := known.get(drawn(key).strip().casefold())) is None:
                near = get_close_matches(key, students, 1)
                meant = f" (nearest: {near[0]})" if near else ""
                raise self.refuse("own_starts", key, f"one of the students{meant}", key)
            self.typed("own_starts", {key: table[key]}, {key: date})
            found[name] = table[key]
        return found

    def prompts(self, where: str, table: dict[str, Any], usual: list[str]) -> tuple[str, ...]:
        prompts = self.each(where, "prompts", table.get("prompts", usual), str)
        for prompt in prompts:
            if prompt not in PROMPT_KINDS:
                raise self.refuse(where, "prompts", f"of {', '.join(PROMPT_KINDS)}", prompt)
        return tuple(prompts)

    def from_week(self, where: str, table: dict[str, Any]) -> int:
        from_week: int = table.get("from_week", 1)
        if from_week < 1:
            raise self.refuse(where, "from_week", "1 or more", from_week)
        return from_week

    def _forms(self, where: str, name: str) -> Iterable[str]:
        if name in USUAL_FORMS:
            return [name]
        if name.startswith("scale-") and name.endswith("-pentatonic-positions"):
            return [form for number in range(POSITIONS) for form in self._forms(where, f"{name[:-1]}{number + 1}")]
        if name.startswith("grip-") and name.endswith("-all"):
            voicing = name.removeprefix("grip-").removesuffix("-all")
            if voicing in GRIP_KINDS:
                count = {"shell": 2, "close": 3}.get(voicing, 4)
                return [Form("grip", voicing=voicing, inversion=i).id for i in range(count)]
        try:
            return [parse_form(name).id]
        except DrillsError as error:
            raise self.refuse(where, "forms", str(error).partition("expected ")[2], name) from error

    def limits(self) -> dict[str, int]:
        table = self.data.get("limits", {})
        self.typed("limits", table, dict.fromkeys(_LIMITS, int))
        for key, value in table.items():
            if value < 0:
                raise self.refuse("limits", key, "0 or more", value)
        return {_LIMITS[key]: value for key, value in table.items()}

    def fingerings(self) -> dict[tuple[str, str, str], tuple[int, ...]]:
        found = {}
        for key, value in self.data.get("fingerings", {}).items():
            parts = key.split()
            if len(parts) not in (2, 3):
                raise self.refuse("fingerings", key, 'a key such as "m7 654" or "arpeggio-down m7 654"', value)
            form = parts[0] if len(parts) == 3 else "arpeggio"
            try:
                named = (parse_form(form).id, self.table.named(parts[-2]).name, parse_strings(parts[-1]).id)
            except DrillsError as error:
                raise self.refuse("fingerings", key, str(error).partition("expected ")[2], key) from error
            fingers = fingers_of(value) if isinstance(value, str) else None
            if fingers is None:
                raise self.refuse("fingerings", key, 'fingers 1 to 4 such as "1 4 3 1 3"', value)
            found[named] = fingers
        return found

    def names(self) -> dict[str, str]:
        found = {}
        for key, value in self.data.get("names", {}).items():
            try:
                quality = self.table.named(key)
                same = isinstance(value, str) and self.table.named(value) is quality
            except DrillsError as error:
                raise self.refuse("names", key, "a quality and one of its accepted symbols", value) from error
            if not same:
                raise self.refuse("names", key, f"a symbol that means {quality.name}", value)
            found[quality.name] = value
        return found


@dataclass
class _TakenOver:
    """What other decks hand on beside their material; a group is its own file's alone."""

    limits: dict[str, int] = field(default_factory=dict)
    neck: dict[str, int | bool] = field(default_factory=dict)
    fingerings: dict[tuple[str, str, str], tuple[int, ...]] = field(default_factory=dict)
    names: dict[str, str] = field(default_factory=dict)
    teacher: str = ""
    in_order: bool = False

    def add(self, other: Deck) -> tuple[Block, ...]:
        """Takes over another deck's settings, the later over the earlier, and answers its blocks."""
        self.limits |= other.limits
        self.neck |= other.neck
        self.fingerings |= other.fingerings
        self.names |= other.names
        self.teacher = self.teacher or other.teacher
        self.in_order = self.in_order or other.in_order
        return other.blocks


def read_deck(path: Path, table: QualityTable | None = None, own: Path | None = None) -> Deck:
    """Reads and checks a deck file with all it includes.

    table: qualities known, the shipped ones by default. own: the player's deck
    folder, searched for included names before the shipped one.
    Raises DeckError naming file, line, table and key, what was expected and what came.
    """
    return _read(path, table or shipped_qualities(), own, ())


def deck_faults(path: Path, table: QualityTable | None = None, own: Path | None = None) -> list[DeckError]:
    """Everything that is wrong with a deck file, in the order of its lines; none for one that can be read.

    Each fault is found by reading the file again without those found before. A file that is no TOML has one.
    """
    found: list[DeckError] = []
    table = table or shipped_qualities()
    try:
        reader = _DeckReader(path, table)
        while len(found) < _MOST_FAULTS:
            try:
                _read(path, table, own, (), reader)
                break
            except DeckFault as fault:
                found.append(fault)
                where, key, name = reader.taking
                mine = fault if fault.path == path else reader.refuse(where, key, "", name)
                if not reader.leave_out(mine):
                    break
    except DeckError as error:
        found.append(error)
    return sorted(found, key=lambda error: error.line if isinstance(error, DeckFault) and error.path == path else 0)


def _read(
    path: Path, table: QualityTable, own: Path | None, above: tuple[Path, ...], reader: _DeckReader | None = None
) -> Deck:  # fmt: skip
    here = path.resolve()
    if here in above:  # a deck that includes itself, at once or by way of others
        loop = " -> ".join(p.name for p in (*above[above.index(here) :], here))
        raise DeckError(f"deck {path}, include: the files include one another in a loop ({loop}); remove one include")
    if len(above) >= _DEEPEST_INCLUDE:
        raise DeckError(f"deck {path}, include: more than {_DEEPEST_INCLUDE} files deep; flatten the includes")
    reader = reader or _DeckReader(path, table)
    data = reader.data
    reader.typed("", data, _TOP)
    taken = _TakenOver()

    def take_over(where: str, key: str, name: str) -> tuple[Block, ...]:
        reader.taking = where, key, name
        try:
            found = find_deck(name, own, beside=path.parent)
        except DeckError as error:
            raise reader.refuse(where, key, "the name or path of another deck", name) from error
        return taken.add(_read(found, table, own, (*above, here)))

    blocks = [
        block
        for name in reader.each("", "include", data.get("include", []), str)
        for block in take_over("", "include", name)
    ]
    for number, each in enumerate(data.get("material", []), 1):
        if isinstance(each, dict) and "deck" in each:
            name, week = reader.deck_block(f"material {number}", each)
            others = take_over(f"material {number}", "deck", name)
            blocks += [replace(block, from_week=week + block.from_week - 1) for block in others]
        else:
            blocks.append(reader.block(number, each))
    if not blocks:
        raise reader.refuse("", "material", "at least one [[material]] table or an include", None)
    students = reader.students()
    own_neck = data.get("neck", {})
    reader.typed("neck", own_neck, _NECK)
    if not 1 <= own_neck.get("top_fret", 15) <= 36:
        raise reader.refuse("neck", "top_fret", "a fret from 1 to 36", own_neck["top_fret"])
    return Deck(
        drawn(path.stem), drawn(data.get("title", path.stem)), drawn(data.get("about", "")),
        tuple(blocks), data.get("starts"),
        taken.limits | reader.limits(), taken.neck | own_neck, taken.fingerings | reader.fingerings(),
        taken.names | reader.names(), drawn(data.get("teacher", taken.teacher)),
        data.get("in_order", taken.in_order), students, reader.own_starts(students),
    )  # fmt: skip


def find_deck(name: str, own: Path | None, beside: Path | None = None) -> Path:
    """The file a deck name or path means: a path, one beside the including file, the player's, the shipped.

    Raises DeckError listing the known names otherwise.
    """
    from drills.configuration.shipped import decks_folder

    direct = expanded(name)
    if direct.suffix == ".toml":
        for candidate in [direct] if beside is None else [direct, beside / direct]:
            if candidate.exists():  # what is no file is refused by whoever reads it, by what it is
                return candidate
    for folder in (beside, own, decks_folder()):
        if folder is not None and "/" not in name and (folder / f"{name}.toml").is_file():
            return folder / f"{name}.toml"
    known = ", ".join(sorted(path.stem for path in list_decks(own)))
    raise DeckError(f"deck {name[:60]!r}: no such deck; expected a .toml file or one of {known}")


def list_decks(own: Path | None) -> list[Path]:
    """The player's own decks, which win over shipped ones of the same name, after the shipped ones as taught."""
    from drills.configuration.shipped import decks_folder

    found = {path.stem: path for path in sorted(decks_folder().glob("*.toml"))}
    if own is not None and own.is_dir():
        found |= {path.stem: path for path in sorted(own.glob("*.toml"))}
    order = {name: number for number, name in enumerate(_TAUGHT)}
    return sorted(found.values(), key=lambda path: (order.get(path.stem, len(order)), path.stem))
