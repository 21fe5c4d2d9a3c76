"""Events to rows of the log and back."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import fields
from datetime import datetime, timedelta, timezone
from functools import lru_cache
from typing import Any

from scheduler.grade import Grade
from scheduler.log.events import (
    Body,
    Event,
    Flag,
    Later,
    Lock,
    Meet,
    Rest,
    SetAside,
    Slip,
    Ticket,
    Undo,
    Variant,
    Wake,
    Witness,
    as_us,
    from_us,
    offset_seconds,
)
from scheduler.log.schema import COLUMNS
from scheduler.review import Review

__all__ = ["REVIEW_COLUMNS", "DigestRow", "Row", "from_row", "review_from_row", "skills_from_text", "to_row"]

Row = tuple[Any, ...]
"""What SQLite answers: the values of some columns, each text, a number or None."""

DigestRow = tuple[str, int, int, int, str, float, float | None, float | None, str | None, Any]
"""A review as it is added up: card, clock in microseconds since 1970 UTC, offset in seconds, grade,
attempt, seconds, spent, predicted, slip, skills."""

REVIEW_COLUMNS = "id, clock_us, offset_s, card, skills, grade, seconds, attempt, spent, session, tempo_bpm, predicted"
"""What `review_from_row` takes, before the slip in effect."""

_NAMES = tuple(COLUMNS)
_WITNESS_FIELDS = tuple(field.name for field in fields(Witness))
_GRADES = {int(grade): grade for grade in Grade}


def to_row(event: Event) -> dict[str, Any]:
    """The columns of `event`; its stamp is the one it carries."""
    row: dict[str, Any] = dict.fromkeys(_NAMES)
    row.update(
        id=event.id,
        log=event.log,
        stamp_us=event.stamp_us,
        clock_us=as_us(event.at),
        offset_s=offset_seconds(event.at),
        kind=event.kind,
    )
    match event.body:
        case Review() as review:
            row.update(
                card=review.card,
                skills=_skills_text(review.skills),
                grade=int(review.grade),
                seconds=review.seconds,
                attempt=review.attempt,
                spent=review.spent,
                session=review.session,
                slip=review.slip,
                tempo_bpm=review.tempo_bpm,
                predicted=review.predicted,
            )
        case Undo(target):
            row["target"] = target
        case Slip(target, slip):
            row.update(target=target, slip=slip)
        case Rest(card) | Wake(card):
            row["card"] = card
        case Flag(card, text):
            row.update(card=card, value=text)
        case Meet(card, skills):
            row.update(card=card, skills=_skills_text(skills))
        case Lock(subject, value) | Ticket(subject, value):
            row.update(subject=subject, value=value)
        case SetAside(targets):
            row["value"] = json.dumps(targets, ensure_ascii=False, separators=(",", ":"))
        case Variant(target, content):
            row.update(target=target, value=content)
        case Witness() as heard:
            row["value"] = _witness_text(heard)
        case Later(_, stated):
            row["value"] = stated
    return row


def from_row(row: Row) -> Event:
    """The event of a row holding all of COLUMNS in their order."""
    values = dict(zip(_NAMES, row, strict=True))
    kind = values["kind"]
    at = _local(values["clock_us"], values["offset_s"])
    if kind == "review":
        body: Body = review_from_row(
            (values["id"], values["clock_us"], values["offset_s"], values["card"], values["skills"],
             values["grade"], values["seconds"], values["attempt"], values["spent"], values["session"],
             values["tempo_bpm"], values["predicted"], values["slip"])
        )  # fmt: skip
    else:
        make = _BODIES.get(kind)
        body = make(values) if make else Later(kind, values["value"] or "{}")
    return Event(values["id"], values["log"], values["stamp_us"], at, body)


def _witness_text(heard: Witness) -> str:
    """The fields as a version that does not know the kind keeps them, so that both write the same row."""
    stated = {name: getattr(heard, name) for name in _WITNESS_FIELDS}
    return json.dumps({name: value for name, value in stated.items() if value is not None}, ensure_ascii=False)


def _witness(row: dict[str, Any]) -> Body:
    """What was heard; as it came where a version that does not know the kind has kept something else."""
    try:
        stated = json.loads(row["value"])
        proposed = stated.get("proposed")
        texts = [stated["target"], stated["how"], stated["source"], stated.get("detail", "")]
        if all(isinstance(text, str) for text in texts):
            target, how, source, detail = texts
            return Witness(
                target, None if proposed is None else Grade(proposed), how, source, float(stated["sure"]), detail
            )
    except (AttributeError, LookupError, TypeError, ValueError):
        pass
    return Later("heard", row["value"] or "{}")


def review_from_row(row: Row) -> Review:
    """The review of a row holding REVIEW_COLUMNS and the slip in effect.

    The row was checked when it was written, and a log of many years holds a
    hundred thousand of them, so the fields are set without the checks of
    `Review` (measured: less than half the time).
    """
    review_id, clock_us, offset_s, card, skills, grade, seconds, attempt, spent, session, tempo, predicted, slip = row
    review = _new(Review)
    _set_card(review, card)
    _set_grade(review, _GRADES[grade])
    _set_at(review, _epoch(offset_s) + timedelta(0, 0, clock_us))
    _set_seconds(review, seconds)
    _set_attempt(review, attempt)
    _set_skills(review, skills_from_text(skills))
    _set_spent(review, spent)
    _set_session(review, session)
    _set_id(review, review_id)
    _set_slip(review, slip)
    _set_tempo(review, tempo)
    _set_predicted(review, predicted)
    return review


_new = object.__new__
(
    _set_card, _set_grade, _set_at, _set_seconds, _set_attempt, _set_skills,
    _set_spent, _set_session, _set_id, _set_slip, _set_tempo, _set_predicted,
) = (
    Review.__dict__[name].__set__
    for name in ("card", "grade", "at", "seconds", "attempt", "skills",
                 "spent", "session", "id", "slip", "tempo_bpm", "predicted")
)  # fmt: skip


@lru_cache(maxsize=256)
def _epoch(offset_s: int) -> datetime:
    return from_us(0).astimezone(timezone(timedelta(seconds=offset_s)))


def _local(clock_us: int, offset_s: int) -> datetime:
    return _epoch(offset_s) + timedelta(microseconds=clock_us)


@lru_cache(maxsize=20_000)
def _skills_text(skills: tuple[str, ...]) -> str:
    return json.dumps(skills, ensure_ascii=False, separators=(",", ":"))


@lru_cache(maxsize=20_000)
def skills_from_text(text: str) -> tuple[str, ...]:
    """The skills of a row."""
    # Cached because cards come back: one tuple serves all reviews of a card.
    return tuple(json.loads(text))


_BODIES: dict[str, Callable[[dict[str, Any]], Body]] = {
    "undo": lambda row: Undo(row["target"]),
    "rest": lambda row: Rest(row["card"]),
    "wake": lambda row: Wake(row["card"]),
    "flag": lambda row: Flag(row["card"], row["value"]),
    "lock": lambda row: Lock(row["subject"], row["value"]),
    "set-aside": lambda row: SetAside(tuple(json.loads(row["value"]))),
    "variant": lambda row: Variant(row["target"], row["value"]),
    "heard": _witness,
    "slip": lambda row: Slip(row["target"], row["slip"]),
    "ticket": lambda row: Ticket(row["subject"], row["value"]),
    "meet": lambda row: Meet(row["card"], skills_from_text(row["skills"])),
}
