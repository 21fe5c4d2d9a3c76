"""The phone page: one HTML file with its tables, drawings, sounds, styles and scripts in it, which fetches nothing."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from html import escape
from typing import Any

from drills.cards.material import Material
from drills.configuration.diagram_style import DiagramStyle
from drills.configuration.shipped import data_file
from drills.phone.phone_cards import PhoneCards
from drills.phone.phone_plan import page_skills, walk_tables
from drills.phone.phone_sound import sound_tables
from drills.safe_text import drawn, one_line
from drills.session.session_sentences import STOP_AND_ASK
from scheduler.planning.planner import Planner

__all__ = ["PhoneRequest", "phone_page"]

CAUTIONS = (
    STOP_AND_ASK,
    "Warm up on easy shapes high on the neck. Count these minutes with all else your hand does.",
    "Keep sound at speech level. Your teacher's word on technique goes before this page's.",
)
"""What is said before the first card; the same as in a session (drills/RULES.md, E)."""

_SCRIPTS = ("walk.js", "pluck.js", "page.js")


@dataclass(frozen=True, slots=True)
class PhoneRequest:
    """What a page is made for.

    page: an id of its own: the page's grades are kept under it. student: whose page it is, or nothing. made: when it
    was made. begins: when its sessions begin, rising. minutes: how long each is. audible: whether it has sound.
    day_starts_at_hour: the local hour at which a practice day begins.
    """

    page: str
    student: str
    made: datetime
    begins: Sequence[datetime]
    minutes: float
    audible: bool
    day_starts_at_hour: float


def phone_page(material: Material, planner: Planner, style: DiagramStyle, request: PhoneRequest) -> str:
    """The whole page as text.

    planner: has learned what is known of the player, and has the rules of the session; it stays as it is.
    """
    tables = walk_tables(material, planner, request.begins, request.minutes)
    cards = PhoneCards(material, planner, style, request.audible)
    texts = [cards.card(card) for card in material.cards.values()]
    title = one_line(material.deck.title)
    data: dict[str, Any] = {
        "page": request.page,
        "student": one_line(request.student),
        "title": title,
        "made": request.made.date().isoformat(),
        "minutes": request.minutes,
        "dayStarts": request.day_starts_at_hour,
        "cautions": list(CAUTIONS),
        "skills": page_skills(material),
        "tables": tables.as_json(),
        "cards": texts,
        "parts": cards.drawings.parts,
        "phrases": cards.drawings.phrases,
        "drawings": cards.drawings.drawings,
        "sound": sound_tables(cards.keys) if request.audible else None,
    }
    return _filled(title, request.student, data)


def _filled(title: str, student: str, data: dict[str, Any]) -> str:
    page = _read("page.html")
    # A closing tag in a text would end the block it stands in: no sign that opens one is left.
    block = json.dumps(data, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c").replace("\u2028", " ")
    called = f"{title}, {one_line(student)}" if student else title
    parts = {
        "{{title}}": escape(drawn(called)),
        "{{style}}": _read("page.css"),
        "{{data}}": block,
        "{{script}}": "\n".join(_read(name) for name in _SCRIPTS),
    }
    before, *rest = page.split("{{")
    filled = [before]
    for piece in rest:
        name, _, after = piece.partition("}}")
        filled += [parts["{{" + name + "}}"], after]
    return "".join(filled)


def _read(name: str) -> str:
    return data_file(f"phone/{name}").read_text(encoding="utf-8")
