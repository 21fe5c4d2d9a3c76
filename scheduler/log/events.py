"""What can happen in a log: nine kinds of event, each appended once and never changed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import ClassVar

from scheduler.errors import ReviewError
from scheduler.review import SLIPS, Review

__all__ = [
    "KINDS",
    "STAMP_STEP_US",
    "Body",
    "Event",
    "Flag",
    "Lock",
    "Meet",
    "Rest",
    "Slip",
    "Ticket",
    "Undo",
    "Wake",
    "as_us",
    "body_kind",
    "check",
    "from_us",
]

STAMP_STEP_US = 1_000
"""How far an event is stamped after the one before it when the clock has not moved on: 1 ms."""

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_STAMP_RANGE_US = (
    (datetime(1900, 1, 1, tzinfo=UTC) - _EPOCH) // timedelta(microseconds=1),
    (datetime(9000, 1, 1, tzinfo=UTC) - _EPOCH) // timedelta(microseconds=1),
)
_NAME_LIMIT = 1_000
_TEXT_LIMIT = 10_000
_SKILLS_LIMIT = 1_000


@dataclass(frozen=True, slots=True)
class Undo:
    """Takes back the review, flag or meeting whose id is `target`, for good."""

    kind: ClassVar[str] = "undo"
    target: str


@dataclass(frozen=True, slots=True)
class Rest:
    """Sets a card aside: it is not asked until it is woken."""

    kind: ClassVar[str] = "rest"
    card: str


@dataclass(frozen=True, slots=True)
class Wake:
    """Brings a rested card back."""

    kind: ClassVar[str] = "wake"
    card: str


@dataclass(frozen=True, slots=True)
class Flag:
    """A question for the teacher about a card; the text may be empty."""

    kind: ClassVar[str] = "flag"
    card: str
    text: str = ""


@dataclass(frozen=True, slots=True)
class Lock:
    """Fixes how `subject` is played; None gives the choice back to the program."""

    kind: ClassVar[str] = "lock"
    subject: str
    value: str | None


@dataclass(frozen=True, slots=True)
class Slip:
    """Names what failed in the review `target`; a later slip replaces it, None clears it."""

    kind: ClassVar[str] = "slip"
    target: str
    slip: str | None


@dataclass(frozen=True, slots=True)
class Ticket:
    """Records a right of entry, such as the stage of a tune reached; None gives it up."""

    kind: ClassVar[str] = "ticket"
    subject: str
    value: str | None


@dataclass(frozen=True, slots=True)
class Meet:
    """A lesson was shown: the card and the skills it then had, whether or not a review followed."""

    kind: ClassVar[str] = "meet"
    card: str
    skills: tuple[str, ...] = ()


Body = Review | Undo | Rest | Wake | Flag | Lock | Slip | Ticket | Meet

KINDS: dict[str, type] = {
    "review": Review,
    **{kind.kind: kind for kind in (Undo, Rest, Wake, Flag, Lock, Slip, Ticket, Meet)},
}
"""The kinds of event by the name they are stored under."""


def body_kind(body: Body) -> str:
    """The name `body` is stored under, e.g. ``rest``."""
    return "review" if type(body) is Review else body.kind


def as_us(at: datetime) -> int:
    """`at`, which must carry an offset, as whole microseconds since 1970 UTC."""
    return (at - _EPOCH) // timedelta(microseconds=1)


def from_us(us: int) -> datetime:
    """The UTC time that lies `us` microseconds after the start of 1970."""
    return _EPOCH + timedelta(microseconds=us)


@dataclass(frozen=True, slots=True)
class Event:
    """One entry of a log.

    id: unique over all logs; a review's own id when the body is a review.
    log: id of the machine's log it was first written to.
    stamp_us: its place in time, microseconds since 1970 UTC: the clock, or
        1 ms after the latest stamp of the log if the clock has not passed
        that (a hybrid logical clock: Kulkarni, Demirbas, Madappa, Avva and
        Leone 2014, "Logical Physical Clocks").
    at: what the clock showed, with the local offset; a clock set back is
        kept as it was.
    body: what happened.
    """

    id: str
    log: str
    stamp_us: int
    at: datetime
    body: Body

    @property
    def kind(self) -> str:
        """The name of what happened, a key of KINDS."""
        return body_kind(self.body)

    @property
    def order(self) -> tuple[int, str]:
        """The key of the total order in which a log is read: stamp, then id."""
        return (self.stamp_us, self.id)


def check(event: Event) -> Event:
    """`event` itself, once everything in it is known to be fit for storing.

    Ids, cards, skills, subjects and sessions are printable text of at most
    1,000 characters, flags and values text of at most 10,000 without NUL or
    lone surrogates, a card has at most 1,000 skills, and times lie between
    the years 1900 and 9000. Raises ReviewError naming the field.
    """
    body, kind = event.body, event.kind
    where = f"{kind} event {event.id!r}"
    _name(where, "id", event.id)
    _name(where, "log", event.log)
    if not isinstance(event.at, datetime) or event.at.utcoffset() is None:
        raise ReviewError(f"{where}, at: expected a date and time with a UTC offset, got {event.at!r}")
    for field, us in (("stamp", event.stamp_us), ("at", as_us(event.at))):
        if not _STAMP_RANGE_US[0] <= us <= _STAMP_RANGE_US[1]:
            raise ReviewError(
                f"{where}, {field}: expected a time between the years 1900 and 9000, "
                f"got {us} microseconds after 1970; set the clock right"
            )
    if kind == "review":
        if body.id != event.id:
            raise ReviewError(f"{where}, id: expected the review's own id {body.id!r}, got {event.id!r}")
        if body.session is not None:
            _name(where, "session", body.session)
        if body.at != event.at:
            raise ReviewError(f"{where}, at: expected the review's own time {body.at}, got {event.at}")
    for field in ("card", "target", "subject"):
        if hasattr(body, field):
            _name(where, field, getattr(body, field))
    if kind in ("review", "meet"):
        _skills(where, body.skills)
    if kind == "flag":
        _text(where, "text", body.text)
    if kind in ("lock", "ticket") and body.value is not None:
        _text(where, "value", body.value)
    if kind == "slip" and body.slip is not None and body.slip not in SLIPS:
        raise ReviewError(f"{where}, slip: expected one of {', '.join(SLIPS)}, got {body.slip!r}")
    return event


def _skills(where: str, skills: object) -> None:
    if not isinstance(skills, tuple) or len(skills) > _SKILLS_LIMIT:
        raise ReviewError(f"{where}, skills: expected at most {_SKILLS_LIMIT} in a tuple, got {skills!r:.80}")
    for skill in skills:
        _name(where, "skills", skill)


def _name(where: str, field: str, value: object) -> None:
    if not (isinstance(value, str) and value.isprintable() and 0 < len(value) <= _NAME_LIMIT):
        raise ReviewError(
            f"{where}, {field}: expected printable text of 1 to {_NAME_LIMIT} characters, got {value!r:.80}"
        )


def _text(where: str, field: str, value: object) -> None:
    if isinstance(value, str) and len(value) <= _TEXT_LIMIT and "\0" not in value:
        try:
            value.encode()
            return
        except UnicodeEncodeError:
            pass
    raise ReviewError(
        f"{where}, {field}: expected text of at most {_TEXT_LIMIT} characters, "
        f"without NUL or lone surrogates, got {value!r:.80}"
    )
