"""What an event says, as one text: how two contents under one id are told apart, and which of them counts."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable

from scheduler.errors import ReviewError
from scheduler.log.events import Event, SetAside, Variant
from scheduler.log.interchange_json import event_from_json, event_to_json

__all__ = ["agrees", "aside_ids", "content_id", "content_text", "told_by", "united", "variant_of"]

_ID_BYTES = 12
"""As long as the random ids of events."""


def content_text(event: Event) -> str:
    """What an event says, the same text on every machine.

    The log a review was first written to does not belong to it: a table of reviews does not name it.
    """
    said = event_to_json(event)
    if event.kind == "review":
        del said["log"]
    return json.dumps(said, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def content_id(text: str) -> str:
    """The id of a content: 96 bits of BLAKE2b (RFC 7693) of its text, hexadecimal."""
    return hashlib.blake2b(text.encode(), digest_size=_ID_BYTES).hexdigest()


def variant_of(event: Event) -> Event:
    """The event that keeps the content of `event` in a log that holds another under the same id."""
    text = content_text(event)
    return Event(content_id(text), event.log, event.stamp_us, event.at, Variant(event.id, text))


def told_by(variant: Event) -> Event:
    """The event whose content a variant keeps; raises ReviewError when it keeps none."""
    where = f"variant event {variant.id!r}"
    body = variant.body
    if not isinstance(body, Variant):
        raise ReviewError(f"{where}: expected a variant, got a {variant.kind}")
    try:
        said = json.loads(body.content)
    except (ValueError, RecursionError) as error:
        raise ReviewError(f"{where}, content: expected the text of an event ({error})") from None
    if isinstance(said, dict) and said.get("kind") == "review":
        said["log"] = variant.log
    event = event_from_json(said, f"{where}, content")
    if isinstance(event.body, Variant) or event.id != body.target or variant_of(event) != variant:
        raise ReviewError(
            f"{where}, content: expected an event of id {body.target!r} whose content has the variant's own id, "
            f"got {event.kind} {event.id!r:.80}"
        )
    return event


def agrees(variant: Event) -> Event:
    """`variant` itself, once it is known to keep a whole event, and any other event as it is.

    Raises ReviewError, as `told_by` does.
    """
    if isinstance(variant.body, Variant):
        told_by(variant)
    return variant


def united(events: Iterable[Event]) -> list[Event]:
    """One event for each id, in the order of the log: what counts of `events`, in whatever order they come.

    Of several contents of one id the one with the earliest stamp counts, then the one whose text sorts first;
    contents and events that a set-aside names do not. A set-aside is itself left out by one that is later in the
    order of the log, so that what counts depends on which events there are, and on nothing else.
    """
    first, rivals = _contents(events)
    aside = _set_aside(first.values(), rivals)
    for event_id, contents in rivals.items():
        left = [one for content, one in contents.items() if content not in aside]
        first.pop(event_id, None)
        if left:
            first[event_id] = min(left, key=lambda one: (one.stamp_us, content_text(one)))
    counted = (event for event in first.values() if event.id not in aside) if aside else first.values()
    return sorted(counted, key=lambda event: event.order)


def aside_ids(events: Iterable[Event]) -> set[str]:
    """The ids, of events and of variants, that the set-asides among `events` leave out of account."""
    first, rivals = _contents(events)
    return _set_aside(first.values(), rivals)


def _contents(events: Iterable[Event]) -> tuple[dict[str, Event], dict[str, dict[str, Event]]]:
    """The events by their ids, and all contents, by theirs, of the ids that have several."""
    first: dict[str, Event] = {}
    rivals: dict[str, dict[str, Event]] = {}
    for event in events:
        if isinstance(event.body, Variant):
            told = told_by(event)
            rivals.setdefault(told.id, {})[event.id] = told
        held = first.setdefault(event.id, event)
        if held is not event and held != event:
            rivals.setdefault(event.id, {})[content_id(content_text(event))] = event
    for event_id, contents in rivals.items():
        if event_id in first:
            one = first[event_id]
            contents[content_id(content_text(one))] = one
    return first, rivals


def _set_aside(events: Iterable[Event], rivals: dict[str, dict[str, Event]]) -> set[str]:
    """The ids of the events, and of the contents, that are left out of account."""
    found = {
        event.id: (event.order, event.id, event.body)
        for event in events
        if isinstance(event.body, SetAside) and event.id not in rivals
    }
    for contents in rivals.values():
        for content, event in contents.items():
            if isinstance(event.body, SetAside):
                found[content] = (event.order, event.id, event.body)
    aside: set[str] = set()
    for content, (_, event_id, body) in sorted(found.items(), key=lambda one: (one[1][0], one[0]), reverse=True):
        if event_id not in aside and content not in aside:
            aside.update(body.targets)
    return aside
