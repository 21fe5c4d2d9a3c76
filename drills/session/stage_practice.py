"""Playing a stage of a tune: hear it over its track, play it, and say when it was in time; the ticket is kept at once.

Everything is a key or a letter and a line of text, so that it is the same on a screen, in a
narrow window and to a screen reader. Sound never keeps anyone waiting.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from drills.sound.score import Score
from drills.tunes.stages.stage_table import STAGES, Stage
from drills.tunes.stages.stage_text import ticket_words
from drills.tunes.stages.ticket import NamedTicket, StageTicket, Ticket

__all__ = ["StageEars", "StageHeard", "StageHearing", "StageSound", "Taking", "practise"]

_PLAY = frozenset({"enter", "pagedown", " "})
_ENDS_TRACK = _PLAY | {"b", "s", "q"}
_IN_TIME = frozenset({"t", "up", "pageup"})
HELP = (
    ("Enter", "count-in, then the line over the track; Page Down of a pedal does the same"),
    ("b", "the track alone"),
    ("n", "the next line of the stage"),
    ("s", "silence"),
    ("t", "I played it through in time; Up and Page Up do the same"),
    ("u", "take that back"),
    ("o", "on to the open stage"),
    ("q", "stop; what was in time is kept"),
)
"""Keys and what they do."""

CAUTION = (
    "Slowly first. Raise the tempo only after three clean passes on different days, by 4 to 8. "
    "Sharp pain, numbness or tingling: stop."
)
"""Said before playing (drills/RULES.md, E)."""

_LOOK_S = 0.3
"""A machine that cannot sound says so within this time, in seconds; a count-in is still under way."""

_LISTEN_S = 0.1
"""So long at most a verdict waits to be said, in seconds."""


class StageSound(Protocol):
    """What plays scores; `drills.sound.playback.Player` is one."""

    def play(self, score: Score) -> None:
        """Begins to sound and returns at once."""
        ...

    def stop(self) -> None:
        """Silence."""
        ...

    def wait(self, timeout_s: float | None = None) -> bool:
        """Waits until nothing sounds, at most so many seconds; whether that came in time."""
        ...

    def take_notice(self) -> str | None:
        """What went wrong, once."""
        ...


@dataclass(frozen=True, slots=True)
class StageHeard:
    """One line of a stage: its title, its lines of text, and its scores; the scores are made when asked for."""

    title: str
    shown: Sequence[str]
    over_track: Callable[[], Score]
    track: Callable[[], Score]


class StageEars(Protocol):
    """What hears the player over a track that is played alone."""

    def begin(self, at: int, track: Score) -> None:
        """The track of the line of that index is about to sound."""
        ...

    def drop(self) -> None:
        """What was played so far is forgotten."""
        ...

    def told(self) -> Sequence[str] | None:
        """What to say once the track is over, None before; said once."""
        ...


@dataclass(frozen=True, slots=True)
class StageHearing:
    """ears: what hears. ask_within: waits so many seconds at most for the next key, and gives ``""`` for none."""

    ears: StageEars
    ask_within: Callable[[float], str]

    def key(self, say: Callable[[str], None]) -> str:
        """The next key, or ``""`` once what was heard has been said."""
        while True:
            if (told := self.ears.told()) is not None:
                for text in told:
                    say(text)
                return ""
            if key := self.ask_within(_LISTEN_S):
                return key


@dataclass(frozen=True, slots=True)
class Taking:
    """How a practice ended: the ticket, and whether the player wants to go on to the open stage."""

    ticket: Ticket
    on: bool = False


def practise(
    stage: Stage,
    lines: Sequence[StageHeard],
    ticket: Ticket,
    *,
    ask: Callable[[], str],
    say: Callable[[str], None],
    sound: StageSound | None,
    keep: Callable[[Ticket], None],
    hearing: StageHearing | None = None,
) -> Taking:
    """Plays one stage until the player stops or goes on.

    lines: one or more. ask: waits for the next key (``enter``, ``up``, or a letter); ``q`` also when input ends.
    sound: None for silence. keep: writes a ticket to the log. hearing: what hears the player over the track, or
    None; it proposes, and a key keeps. Raises what `keep` raises.
    """
    keys = _keys_line(len(lines) > 1)
    for text in (*lines[0].shown, keys):
        say(text)
    at = 0
    before: list[Ticket] = []
    heard = False
    while True:
        key = hearing.key(say) if hearing is not None and heard else ask()
        if not key:
            heard = False
            continue
        turns = key == "n" and len(lines) > 1
        leaves = key == "o" and not (isinstance(ticket, StageTicket) and ticket.stage == stage.number)
        if heard and hearing is not None and (turns or leaves or key in _ENDS_TRACK):
            hearing.ears.drop()
            heard = False
        if sound is not None and (notice := sound.take_notice()):
            say(notice)
            sound = None
        if key == "q":
            return Taking(ticket)
        if key == "o":
            if leaves:
                return Taking(ticket, on=True)
            say(ticket_words(ticket))
            continue
        if key in _PLAY or key == "b":
            if sound is None:
                say("The sound is off; count yourself in.")
                continue
            score = lines[at].track() if key == "b" else lines[at].over_track()
            if key == "b" and hearing is not None:
                hearing.ears.begin(at, score)
            sound.play(score)
            if sound.wait(_LOOK_S):
                if hearing is not None:
                    hearing.ears.drop()
                say(sound.take_notice() or "Nothing sounds on this machine; count yourself in.")
                sound = None
            elif key == "b" and hearing is not None:
                heard = True
                say("The track alone: one bar in. I listen to its end.")
            else:
                say("The track alone: one bar in." if key == "b" else f"{lines[at].title}: one bar in.")
        elif key == "s" and sound is not None:
            sound.stop()
        elif turns:
            at = (at + 1) % len(lines)
            for text in (*lines[at].shown, keys):
                say(text)
        elif key in _IN_TIME:
            if not ticket.is_open(stage.number):
                say(f"Not open yet, so it does not count. {ticket_words(ticket)}")
                continue
            before.append(ticket)
            ticket = ticket.after(stage.number, True)
            keep(ticket)
            say(_told(stage, ticket))
        elif key == "u":
            if not before:
                say("Nothing to take back.")
                continue
            ticket = before.pop()
            keep(ticket)
            say(f"Taken back. {ticket_words(ticket)}")
        elif key == "h":
            for name, meaning in HELP:
                say(f"{name:>5}  {meaning}")


def _keys_line(several: bool) -> str:
    return f"Enter play, b track, {'n next, ' if several else ''}s silence, t in time, u undo, o on, q stop, h keys"


def _told(stage: Stage, ticket: Ticket) -> str:
    if isinstance(ticket, NamedTicket):
        return f"In time. {ticket_words(ticket)}" if ticket.missing else ticket_words(ticket)
    if ticket.stage == stage.number + 1 and not ticket.passes:
        return f"In time, twice: stage {ticket.stage}, {STAGES[ticket.stage - 1].name}, is open. o goes on."
    if ticket.stage > stage.number:
        return "In time once more."
    return f"In time. {ticket_words(ticket)}"
