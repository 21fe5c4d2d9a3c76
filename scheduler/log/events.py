"""What can happen in a log: kinds of event, each appended once and never changed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import ClassVar

from scheduler.errors import ReviewError
from scheduler.grade import Grade
from scheduler.review import Review

__all__ = [
    "AHEAD_LIMIT",
    "KINDS",
    "LATEST_STAMP_US",
    "STAMP_STEP_US",
    "Body",
    "Event",
    "Flag",
    "Later",
    "Lock",
    "Meet",
    "Rest",
    "SetAside",
    "Slip",
    "Ticket",
    "Undo",
    "Variant",
    "Wake",
    "Witness",
    "as_us",
    "check",
    "from_us",
    "offset_seconds",
]

STAMP_STEP_US = 1_000
"""How far an event is stamped after the one before it when the clock has not moved on: 1 ms."""

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_STAMP_RANGE_US = (
    (datetime(1900, 1, 1, tzinfo=UTC) - _EPOCH) // timedelta(microseconds=1),
    (datetime(9000, 1, 1, tzinfo=UTC) - _EPOCH) // timedelta(microseconds=1),
)
LATEST_STAMP_US = _STAMP_RANGE_US[1]
"""The latest stamp that a log takes, in microseconds since 1970 UTC: the start of the year 9000."""

AHEAD_LIMIT = timedelta(hours=48)
"""How far ahead of the clock a stamp from another machine may lie.

Two clocks that are both right differ by nothing; one set to the wrong time zone by at most 26 hours.
"""

_NAME_LIMIT = 1_000
_TEXT_LIMIT = 10_000
_SKILLS_LIMIT = 1_000
_TARGETS_LIMIT = 5_000_000
_FIELDS_LIMIT = 5_000_000
_MORE_LIMIT = 100_000
_HOW = ("shown", "accepted")


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
    """Records a right of entry, such as a stage that was reached; None gives it up."""

    kind: ClassVar[str] = "ticket"
    subject: str
    value: str | None


@dataclass(frozen=True, slots=True)
class Meet:
    """A lesson was shown: the card and the skills it then had, whether or not a review followed."""

    kind: ClassVar[str] = "meet"
    card: str
    skills: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SetAside:
    """Leaves the events whose ids are `targets` out of account, whatever their kind: an import taken back.

    One set-aside may name another, which brings back what that one had left out.
    """

    kind: ClassVar[str] = "set-aside"
    targets: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Variant:
    """Another content met under the id `target`: the text that `scheduler.log.contents.content_text` makes of it.

    The id of a variant is made from its content, so it is the same in every log.
    """

    kind: ClassVar[str] = "variant"
    target: str
    content: str


@dataclass(frozen=True, slots=True)
class Witness:
    """What a machine made of the attempt that the review `target` grades; the review's own grade stays the grade.

    proposed: the grade it would have given, None where it did not know. how: ``shown`` where the player graded with
    the proposal in sight, ``accepted`` where it was taken without a word. source: what heard, and its version.
    sure: 0 to 1. detail: what it noticed, in its own notation; nothing here reads it.
    """

    kind: ClassVar[str] = "heard"
    target: str
    proposed: Grade | None
    how: str
    source: str
    sure: float
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Later:
    """An event of a kind that this version does not know, kept and handed on as it came.

    kind: its name. fields: what it says, the text of a JSON object.
    """

    kind: str
    fields: str


Body = Review | Undo | Rest | Wake | Flag | Lock | Slip | Ticket | Meet | SetAside | Variant | Witness | Later

KINDS: dict[str, type[Body]] = {
    kind.kind: kind for kind in (Review, Undo, Rest, Wake, Flag, Lock, Slip, Ticket, Meet, SetAside, Variant, Witness)
}
"""The kinds of event by the name they are stored under."""


def as_us(at: datetime) -> int:
    """`at`, which must carry an offset, as whole microseconds since 1970 UTC."""
    return (at - _EPOCH) // timedelta(microseconds=1)


def offset_seconds(at: datetime) -> int:
    """Local time minus UTC of `at`, which must carry an offset, in whole seconds."""
    offset = at.utcoffset()
    if offset is None:
        raise ReviewError(f"moment {at!r}: expected a date and time with a UTC offset")
    return offset // timedelta(seconds=1)


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
    more: what a newer version says of it beside, the text of a JSON object, or nothing. It is kept and handed on.
    """

    id: str
    log: str
    stamp_us: int
    at: datetime
    body: Body
    more: str = ""

    @property
    def kind(self) -> str:
        """The name of what happened, a key of KINDS."""
        return self.body.kind

    @property
    def order(self) -> tuple[int, str]:
        """The key of the total order in which a log is read: stamp, then id."""
        return (self.stamp_us, self.id)


def check(event: Event) -> Event:
    """`event` itself, once everything in it is known to be fit for storing.

    Ids, cards, skills, slips, subjects and sessions are printable text of at most
    1,000 characters, flags and values text of at most 10,000 without NUL or
    lone surrogates, a card has at most 1,000 skills, and times lie between
    the years 1900 and 9000. Raises ReviewError naming the field.
    """
    body = event.body
    where = f"{event.kind} event {event.id!r}"
    if len(event.more) > _MORE_LIMIT:
        raise ReviewError(f"{where}: expected at most {_MORE_LIMIT:,} characters of further fields, got more")
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
    match body:
        case Review():
            _review(where, event, body)
        case Meet():
            _name(where, "card", body.card)
            _skills(where, body.skills)
        case Rest() | Wake():
            _name(where, "card", body.card)
        case Flag():
            _name(where, "card", body.card)
            _text(where, "text", body.text)
        case Undo():
            _name(where, "target", body.target)
        case Slip():
            _name(where, "target", body.target)
            if body.slip is not None:
                _name(where, "slip", body.slip)
        case SetAside():
            if not isinstance(body.targets, tuple) or len(body.targets) > _TARGETS_LIMIT:
                raise ReviewError(f"{where}, targets: expected at most {_TARGETS_LIMIT} ids, got {body.targets!r:.80}")
            for target in body.targets:
                _name(where, "targets", target)
        case Variant():
            _name(where, "target", body.target)
            _text(where, "content", body.content, _FIELDS_LIMIT)
        case Witness():
            _name(where, "target", body.target)
            _name(where, "source", body.source)
            _text(where, "detail", body.detail)
            if body.how not in _HOW:
                raise ReviewError(f"{where}, how: expected one of {', '.join(_HOW)}, got {body.how!r:.80}")
            if not 0 <= body.sure <= 1:
                raise ReviewError(f"{where}, sure: expected 0 to 1, got {body.sure!r:.80}")
        case Later():
            _name(where, "kind", body.kind)
            _text(where, "fields", body.fields, _FIELDS_LIMIT)
        case Lock() | Ticket():
            _name(where, "subject", body.subject)
            if body.value is not None:
                _text(where, "value", body.value)
    return event


def _review(where: str, event: Event, review: Review) -> None:
    """Raise ReviewError unless the review agrees with its event and its names are fit for storing."""
    if review.id != event.id:
        raise ReviewError(f"{where}, id: expected the review's own id {review.id!r}, got {event.id!r}")
    if review.session is not None:
        _name(where, "session", review.session)
    if review.at != event.at:
        raise ReviewError(f"{where}, at: expected the review's own time {review.at}, got {event.at}")
    _name(where, "card", review.card)
    _skills(where, review.skills)


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


def _text(where: str, field: str, value: object, limit: int = _TEXT_LIMIT) -> None:
    if isinstance(value, str) and len(value) <= limit and "\0" not in value:
        try:
            value.encode()
            return
        except UnicodeEncodeError:
            pass
    raise ReviewError(
        f"{where}, {field}: expected text of at most {limit} characters, "
        f"without NUL or lone surrogates, got {value!r:.80}"
    )
