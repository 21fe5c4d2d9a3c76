"""What could not be written to the log, as a file that `neckwork import` reads."""

from __future__ import annotations

import io
import tempfile
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path

from drills.errors import SettingsError
from scheduler.atomic_write import atomic_write
from scheduler.log.events import Body, Event, as_us
from scheduler.log.interchange_json import write_json
from scheduler.review import Review, new_id

__all__ = ["rescue"]


def rescue(waiting: Iterable[tuple[Body, datetime]], log_path: Path) -> Path:
    """Write events to a file beside the log, or where temporary files go; answers its name.

    Raises SettingsError, which ends with the document itself on one line, when there is no place at all to write to.
    """
    log = new_id()
    events = [
        Event(body.id if isinstance(body, Review) else new_id(), log, as_us(at), at, body) for body, at in waiting
    ]
    name = f"unwritten-{events[0].id}.json"
    for folder in (log_path.parent, Path(tempfile.gettempdir())):
        try:
            with atomic_write(folder / name, private=True) as out:
                write_json(events, out)
        except OSError:
            continue
        return folder / name
    document = io.StringIO()
    write_json(events, document)
    # Between events alone there are line ends: in a text JSON writes them out.
    raise SettingsError(
        f"{name}: no place to write to; put the line that follows into a file, and neckwork import takes it in:\n"
        + document.getvalue().replace("\n", "")
    )
