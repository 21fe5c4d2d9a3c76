"""The steps by which a log's tables came to be, each applied once and in order."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlite_utils import Migrations

from scheduler.log.schema import COLUMNS
from scheduler.review import new_id

if TYPE_CHECKING:
    from sqlite_utils import Database

__all__ = ["migrations"]

_LATER_THAN_FIRST: frozenset[str] = frozenset()
"""Columns a later step adds, so that the first step stays what it was."""


def migrations() -> Migrations:
    """All steps; when one is added, SCHEMA_VERSION goes up by one."""
    steps = Migrations("review log")

    @steps()
    def events_appended_only(db: Database) -> None:
        """One strict table of events that refuses to be changed, and the log's own id."""
        columns = {name: kind for name, kind in COLUMNS.items() if name not in _LATER_THAN_FIRST}
        events = db.create_table(
            "events",
            {"seq": int, **columns},
            pk="seq",
            not_null={"id", "log", "stamp_us", "clock_us", "offset_s", "kind"},
            strict=True,
        )
        events.create_index(["id"], "events_id", unique=True)
        # The order of reading, which also answers "what is the latest stamp".
        events.create_index(["stamp_us", "id"], "events_order", unique=True)
        db.execute("CREATE INDEX events_target ON events(target, kind, stamp_us, id, slip) WHERE target IS NOT NULL")
        db.execute("CREATE INDEX events_standing ON events(stamp_us, id) WHERE kind NOT IN ('review', 'slip', 'undo')")
        for change in ("UPDATE", "DELETE"):
            db.execute(
                f"CREATE TRIGGER events_no_{change.lower()} BEFORE {change} ON events "
                "BEGIN SELECT RAISE(ABORT, 'events are only ever appended'); END"
            )
        db.create_table("identity", {"log": str}, pk="log", not_null={"log"}, strict=True)
        db.table("identity").insert({"log": new_id()})

    return steps
