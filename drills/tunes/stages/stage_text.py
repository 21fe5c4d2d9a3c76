"""The stages as a player sees them: where each stands, and one stage with its lines; as text, speech and data."""

from __future__ import annotations

from textwrap import wrap
from typing import Any

from drills.changes.changes import Changes
from drills.lines.line_text import line_json, line_speech, tab_lines
from drills.tunes.stages.stage_table import NAMED_STAGES, STAGES, Stage, StageLines
from drills.tunes.stages.ticket import NamedTicket, Ticket

__all__ = ["heading", "overview_lines", "stage_json", "stage_screen", "stage_speech", "standing", "ticket_words"]


def _times(count: int) -> str:
    return "once more" if count == 1 else "twice"


def standing(stage: Stage, ticket: Ticket) -> str:
    """Where a stage stands: ``in time``, ``open``, ``open, in time once``, or ``""`` for one not open yet."""
    if stage.number < ticket.stage:
        return "in time"
    if stage.number > ticket.stage:
        return ""
    return "open, in time once" if ticket.passes else "open"


def ticket_words(ticket: Ticket) -> str:
    """What opens the next stage, in a sentence; of a named stage, whether it was in time twice."""
    if isinstance(ticket, NamedTicket):
        return f"In time {_times(ticket.missing)}, and it is done." if ticket.missing else "It was in time twice."
    here = STAGES[ticket.stage - 1]
    if not ticket.missing:
        return "Every stage is open."
    after = STAGES[ticket.stage]
    return f"Stage {after.number}, {after.name}, opens when stage {here.number} was in time {_times(ticket.missing)}."


def overview_lines(changes: Changes, ticket: Ticket, width: int = 80) -> list[str]:
    """All ten stages, the open one marked by ``>``."""
    lines = wrap(f"{changes.title or 'Changes'}: ten stages", width)
    longest = max(len(stage.name) for stage in STAGES)
    for stage in STAGES:
        mark = ">" if stage.number == ticket.stage else " "
        lines.append(f"{mark}{stage.number:>2} {stage.name.ljust(longest)}  {standing(stage, ticket)}".rstrip())
    here = STAGES[ticket.stage - 1]
    how = f"--stage {here.number} shows it, --play plays it with you."
    words = max(len(stage.word) for stage in NAMED_STAGES)
    named = [
        text
        for stage in NAMED_STAGES
        for text in wrap(
            f"{stage.word.ljust(words)}  {stage.name}", width, initial_indent="   ", subsequent_indent=" " * (words + 5)
        )
    ]
    return [
        *lines, "", *wrap(f"Stage {here.number}: {here.doing} {how}", width), *wrap(ticket_words(ticket), width), "",
        *wrap("Beside the ten, always open, with --stage and the word:", width), *named,
        *wrap("--strings 654 keeps any stage to one string set.", width),
    ]  # fmt: skip


def heading(stage: Stage, ticket: Ticket, width: int = 80) -> list[str]:
    """Number, name and what to do; a stage that is not open yet may be looked at, and says what opens it."""
    lines = [*wrap(f"Stage {stage.called}, {stage.name}.", width), *wrap(stage.doing, width)]
    if not ticket.is_open(stage.number):
        lines += wrap(f"Not open yet: a look ahead. {ticket_words(ticket)}", width)
    return lines


def stage_screen(found: StageLines, ticket: Ticket, *, width: int = 80, row: str = "fingers") -> list[str]:
    """One stage: its heading and its lines as tablature.

    row: as for `tab_lines`.
    """
    lines = heading(found.stage, ticket, width)
    for line in found.lines:
        lines += ["", *tab_lines(line, width=width, row=row)]
    return lines


def stage_speech(found: StageLines, ticket: Ticket) -> list[str]:
    """One stage to be spoken."""
    return [*heading(found.stage, ticket, 10_000), *(text for line in found.lines for text in line_speech(line))]


def stage_json(found: StageLines, ticket: Ticket) -> dict[str, Any]:
    """One stage as data, with whether it is open and its lines."""
    stage = found.stage
    return {
        "stage": stage.word or stage.number,
        "name": stage.name,
        "doing": stage.doing,
        "open": ticket.is_open(stage.number),
        "lines": [line_json(line) for line in found.lines],
    }
