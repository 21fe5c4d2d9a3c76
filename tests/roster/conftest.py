"""Students made for the tests, and the files they send."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from scheduler.grade import Grade
from scheduler.log.events import Event, Flag, Rest, as_us
from scheduler.log.interchange_json import write_json
from scheduler.review import Review

TODAY = date(2031, 5, 14)
"""A Wednesday of a year to come: no clock of a test machine is near it."""


def card(root: str, quality: str, strings: str, kind: str = "name") -> str:
    """A card's id on a guitar in standard tuning."""
    return f"E2A2D3G3B3E4/arpeggio/{root}/{quality}/{strings}/{kind}"


@pytest.fixture
def played() -> Callable[..., list[Event]]:
    """Makes the events of first tries: ``played("m7", "432", "lccf", days_ago=2)``, a letter a grade."""

    def make(quality: str, strings: str, grades: str, days_ago: int = 1, **more) -> list[Event]:
        at = datetime(TODAY.year, TODAY.month, TODAY.day, 18, tzinfo=UTC) - timedelta(days=days_ago)
        events = []
        for number, letter in enumerate(grades):
            moment = at + timedelta(seconds=30 * number)
            review = Review(
                card("C", quality, strings), Grade("lfct".index(letter) + 1), moment, 4.0 + number % 3, **
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
    """Writes a student's export into the folder of the lessons, and answers the folder."""
    folder = tmp_path / "lessons"
    folder.mkdir()

    def write(name: str, *events: list[Event]) -> Path:
        with (folder / name).open("w", encoding="utf-8") as out:
            write_json([event for some in events for event in some], out)
        return folder

    return write


@pytest.fixture
def today() -> date:
    """The day of the sheet."""
    return TODAY
