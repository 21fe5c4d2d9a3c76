"""A focus: the part of a deck that a player practises in one sitting."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import chain
from typing import TypeVar

from drills.cards.kinds import AWAY, KINDS
from drills.errors import DeckError, DrillsError, shown
from drills.neck.strings import StringSet, parse_string_sets
from drills.shapes.form import USUAL_FORMS, parse_form
from drills.theory.key import Key, parse_drilled_key
from drills.theory.note import Note
from drills.theory.quality import QualityTable

__all__ = ["FOCUS_OPTIONS", "Focus", "parse_focus"]

_Value = TypeVar("_Value")


@dataclass(frozen=True, slots=True)
class Focus:
    """Empty fields leave the deck as it is; filled ones narrow it.

    What a deck does not hold at all (another set, quality or form) takes the place
    of what it holds, so that asking for it is enough. `added` qualities join the deck's.
    """

    strings: tuple[StringSet, ...] = ()
    qualities: tuple[str, ...] = ()
    added: tuple[str, ...] = ()
    roots: tuple[Note, ...] = ()
    keys: tuple[Key, ...] = ()
    forms: tuple[str, ...] = ()
    prompts: tuple[str, ...] = ()

    def __bool__(self) -> bool:
        return any(getattr(self, field) for field in self.__dataclass_fields__)


FOCUS_OPTIONS = {
    "strings": "--strings", "qualities": "--quality", "added": "--quality +", "roots": "--root", "keys": "--key",
    "forms": "--form", "prompts": "--prompt",
}  # fmt: skip
"""The option of the command line that fills each field of a focus."""


def _parts(text: str | None) -> list[str]:
    return [part.strip() for part in (text or "").split(",") if part.strip()]


def _kind(name: str) -> str:
    if name not in KINDS:
        raise DeckError(f"{shown(name)} is no kind of prompt; expected some of {', '.join(KINDS)}")
    return name


def parse_focus(
    table: QualityTable, *, strings: str | None = None, quality: str | None = None, root: str | None = None,
    key: str | None = None, form: str | None = None, prompt: str | None = None, away: bool = False,
) -> Focus:  # fmt: skip
    """Reads the comma-separated values of the command line; ``+dim7`` adds to the deck's qualities.

    away: every kind of prompt that needs no guitar, unless kinds are named.
    Raises DeckError naming the option that cannot be read.
    """

    def read(option: str, parts: list[str], reader: Callable[[str], _Value]) -> tuple[_Value, ...]:
        try:
            return tuple(reader(part) for part in parts)
        except DrillsError as error:
            raise DeckError(f"--{option}: {error}") from error

    given = _parts(quality)
    return Focus(
        strings=tuple(chain.from_iterable(read("strings", [strings] if strings else [], parse_string_sets))),
        qualities=read("quality", [q for q in given if not q.startswith("+")], lambda q: table.named(q).name),
        added=read("quality", [q[1:] for q in given if q.startswith("+")], lambda q: table.named(q).name),
        roots=read("root", _parts(root), Note.parse),
        keys=read("key", _parts(key), parse_drilled_key),
        forms=read("form", _parts(form), lambda f: f if f in (*USUAL_FORMS, "grip") else parse_form(f).id),
        prompts=read("prompts", _parts(prompt), _kind) or (AWAY if away else ()),
    )
