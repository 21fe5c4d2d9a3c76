"""Students made for the tests, and the files they send."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from scheduler.grade import Grade
from scheduler.log.events import Event, Flag, Rest, as_us
from scheduler.log.interchange_json import write_json
from scheduler.review import Review
from tests.cli.conftest import neckwork

__all__ = ["neckwork"]

TODAY = date(2031, 5, 14)
"""A Wednesday of a year to come: no clock of a test machine is near it."""


ROOTS = ("C", "F", "G", "D", "Bb", "A", "Eb", "E", "Ab", "B", "Db", "F#", "C#", "Gb", "G#", "D#", "A#")
"""Every pitch class, and the other spelling where it has one: each makes a card of its own."""

FORMS = ("arpeggio", "arpeggio-from3", "arpeggio-from5", "arpeggio-from7")


def card(root: str, quality: str, strings: str, kind: str = "name", form: str = "arpeggio") -> str:
    """A card's id on a guitar in standard tuning."""
    return f"E2A2D3G3B3E4/{form}/{root}/{quality}/{strings}/{kind}"


def card_at(number: int, quality: str, strings: str) -> str:
    """The numbered card of a place, from 0: all roots in the plain form, then all roots in the next form."""
    form, root = divmod(number, len(ROOTS))
    return card(ROOTS[root], quality, strings, form=FORMS[form])


@pytest.fixture
def played() -> Callable[..., list[Event]]:
    """Makes the events of first tries: ``played("m7", "432", "lccf", days_ago=2)``, a letter a grade.

    A card has one first try a day, so that each grade is given to a card of its own, from the one numbered
    ``skip`` on. ``one_card=True`` asks that one card again and again instead. later_s: seconds after 18:00.
    """

    def make(
        quality: str, strings: str, grades: str, days_ago: int = 1, *,
        skip: int = 0, one_card: bool = False, later_s: float = 0, **more,
    ) -> list[Event]:  # fmt: skip
        at = datetime(TODAY.year, TODAY.month, TODAY.day, 18, tzinfo=UTC) - timedelta(days=days_ago)
        events = []
        for number, letter in enumerate(grades):
            moment = at + timedelta(seconds=later_s + 30 * (skip + number))
            review = Review(
                card_at(skip if one_card else skip + number, quality, strings),
                Grade("lfct".index(letter) + 1), moment, 4.0 + number % 3, **
                {"spent": 30.0, "skills": (f"form:arpeggio/{quality}", "root:C@4D3"), **more},
            )  # fmt: skip
            events.append(Event(review.id, "a" * 24, as_us(moment), moment, review))
        return events

    return make


@pytest.fixture
def said() -> Callable[..., list[Event]]:
    """Makes the event of a question or of a card set aside."""

    def make(
        text: str | None, quality: str = "m7", strings: str = "432", number: int = 0, days_ago: int = 0
    ) -> list[Event]:
        at = datetime(TODAY.year, TODAY.month, TODAY.day, 17, 0, number, tzinfo=UTC) - timedelta(days=days_ago)
        named = card("C", quality, strings)
        return [Event(f"{number:024x}", "a" * 24, as_us(at), at, Rest(named) if text is None else Flag(named, text))]

    return make


@pytest.fixture
def send(tmp_path) -> Callable[..., Path]:
    """Writes a student's export into the folder of the lessons, and answers the folder; each name has its own log."""
    folder = tmp_path / "lessons"
    folder.mkdir()

    def write(name: str, *events: list[Event]) -> Path:
        own = hashlib.sha256(Path(name).stem.encode()).hexdigest()[:24]
        with (folder / name).open("w", encoding="utf-8") as out:
            write_json([replace(event, log=own) for some in events for event in some], out)
        return folder

    return write


@pytest.fixture
def today() -> date:
    """The day of the sheet."""
    return TODAY
