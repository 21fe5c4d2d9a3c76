"""The command line turns options into calls and does nothing else.

Each command lives in a module of its own that is imported only when it is run,
so that starting the tool costs what the command needs and no more.
"""

from __future__ import annotations

import errno
import gc
import importlib
import os
import stat
import sys

import click

from drills.errors import DrillsError
from scheduler.errors import SchedulerError

__all__ = ["COMMANDS", "group", "main"]

COMMANDS = {
    "session": "Play today's ten minutes.",
    "placement": "Find out in three minutes what you already play.",
    "round": "Take one form through all keys in order, with a click.",
    "shape": "Show a chord's shape: arpeggio, grip or scale.",
    "tune": "Read a page of changes: bars, keys, modes, and the whole neck for each chord.",
    "path": "Walk the roots through the changes of a tune.",
    "stages": "Take changes from bare roots to music in ten stages, in time.",
    "etude": "Find a practice line over changes, each note with its reason.",
    "choruses": "Two demonstration choruses: chord tones only, then with the mode.",
    "track": "Something to play over: count-in, click, bass and grips from the changes.",
    "ready": "Say what of a tune will come clean by a date.",
    "hear": "Hear a shape, or write it as a WAV or MIDI file.",
    "listen": "Hear a shape being played, and propose a grade.",
    "tuner": "Tune the open strings, find a capo, and try out the microphone.",
    "handout": "Print pages: shapes with their blank and key, booklets, empty paper.",
    "phone": "A page that plays sessions on a phone, without a network.",
    "cards": "List the cards of a deck, and what is left out with the reason.",
    "decks": "List decks, or make, check and show one.",
    "setup": "Tell the tool about your instrument and how you read diagrams.",
    "progress": "What is firm, what is not, in counts.",
    "sample": "Find out how much of what is firm comes clean: twenty cards by chance.",
    "refit": "Fit the memory's constants to your own log, if that foresees you better.",
    "roster": "A teacher's students on one sheet, from the files they sent.",
    "book": "Keep a teacher's book of lessons: notes, what was set, what was heard.",
    "wake": "List rested cards, or bring them back.",
    "export": "Write the log, or a part of it, as CSV, JSON, Markdown or HTML.",
    "import": "Read an exported log back in.",
    "join": "Unite the logs of several machines.",
    "log": "Look after the log itself: its copies, and mending it.",
}
"""Commands and their one-line help, in the order shown; `drills.cli.<name>` holds `command`."""

_CAUTION = (
    "Ten minutes is a small load: count it with everything else your hand does. Sharp pain, numbness, "
    "tingling or weakness: stop, and see a doctor or a hand therapist. Keep the volume at speech level."
)


class _Lazy(click.Group):
    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        if name not in COMMANDS:
            return None
        command: click.Command = importlib.import_module(
            f"drills.cli.{name.replace('-', '_').replace('import', 'import_')}"
        ).command
        return _taking_player(command)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        # Listed from the table: building every command only to read its help would import them all.
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        name = args[0]
        if name not in COMMANDS:
            from difflib import get_close_matches

            near = get_close_matches(name, COMMANDS, n=2)
            hint = f"; did you mean {' or '.join(near)}?" if near else f"; expected one of {', '.join(COMMANDS)}"
            raise click.UsageError(f"no command {name[:40]!r}{hint}")
        return super().resolve_command(ctx, args)


def _version(ctx: click.Context, _param: click.Parameter, value: bool) -> None:
    if value:
        from drills import __version__

        click.echo(f"neckwork {__version__}")
        ctx.exit()


def _player(ctx: click.Context, _param: click.Parameter, name: str | None) -> None:
    if name is not None:
        from drills.cli.player_files import PLAYER

        ctx.find_root().meta[PLAYER] = name


def _player_option() -> click.Option:
    return click.Option(
        ["--player", "player_name"], metavar="NAME", callback=_player, expose_value=False,
        help="Another player on this machine, with a log, settings and decks of their own.",
    )  # fmt: skip


def _taking_player(command: click.Command) -> click.Command:
    """A command, and those under it, with the option that every command takes."""
    if not any(param.name == "player_name" for param in command.params):
        command.params.append(_player_option())
        if isinstance(command, click.Group):
            for under in command.commands.values():
                _taking_player(under)
    return command


@click.group(
    cls=_Lazy,
    params=[_player_option()],
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog=_CAUTION,
)
@click.option("--version", is_flag=True, callback=_version, expose_value=False, is_eager=True, help="Show the version.")
@click.pass_context
def group(ctx: click.Context) -> None:
    """Every seventh-chord arpeggio, with its grip, mode and sound, in every key on every string set.

    Run without a command to play today's session.

    \b
    Examples:
      neckwork session --minutes 5 --strings 543
      neckwork shape F#m7 --strings 543
    """
    if ctx.invoked_subcommand is None:
        session = group.get_command(ctx, "session")
        if session is not None:
            ctx.invoke(session)


def main(args: list[str] | None = None) -> int:
    """Runs the command line and ends the process with its exit code.

    0 done; 1 asked for something that is not there or does not fit; 2 wrong usage;
    130 interrupted, 129 when the terminal went away, with everything graded kept.
    """
    if args is None and not _ready_streams():
        _say("standard output is closed; nothing was done")
        sys.exit(1)
    code = _run(args)
    if args is None:
        sys.exit(code)
    return code


def _ready_streams() -> bool:
    """Open what is closed of the three standard streams upon nothing; whether there is one to write answers to.

    Otherwise the first files opened, the log among them, would take their numbers, and get what is meant for a screen.
    """
    closed = []
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            closed.append(os.open(os.devnull, os.O_RDWR))
    if 0 in closed:
        sys.stdin = os.fdopen(0, encoding="utf-8")
    for number, name in ((1, "stdout"), (2, "stderr")):
        if number in closed:
            setattr(sys, name, os.fdopen(number, "w", encoding="utf-8"))
    return 1 not in closed


def _run(args: list[str] | None) -> int:
    # Starting makes many small lasting objects and no garbage; looking for it is a tenth of the start.
    gc.set_threshold(200_000, 20, 50)
    try:
        result = group.main(args=args, prog_name="neckwork", standalone_mode=False)
        code = result if isinstance(result, int) else 0
        sys.stdout.flush()
        return code
    except click.NoSuchOption as error:
        from drills.cli.mistaken_options import instead_of

        context = error.ctx.command_path if error.ctx else "neckwork"
        _say(f"{instead_of(error)}\nTry '{context} --help'.")
        return 2
    except click.UsageError as error:
        context = error.ctx.command_path if error.ctx else "neckwork"
        _say(f"{error.format_message()}\nTry '{context} --help'.")
        return 2
    except click.ClickException as error:
        _say(error.format_message())
        return 1
    except (click.Abort, KeyboardInterrupt):
        return 130
    except (DrillsError, SchedulerError) as error:
        _say(str(error))
        return 1
    except BrokenPipeError:
        # The reader of a pipe went away (| head): nothing is wrong; keep Python from complaining at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except OSError as error:
        if error.errno == errno.EIO and not error.filename and stat.S_ISCHR(os.fstat(1).st_mode):
            return 128 + 1  # as SIGHUP, number 1, would have ended it: the terminal went away before the signal came
        _say(f"{error.filename or 'the output'}: {error.strerror or error}")
        return 1
    except UnicodeEncodeError as error:
        # What was typed or names a file may hold bytes that are no UTF-8 (PEP 383); no file takes them as text.
        _say(f"{error.object[max(0, error.start - 20) : error.end]!r}: expected text, got bytes that "
             "are no UTF-8; give another word or name")  # fmt: skip
        return 1
    except Exception as error:
        # A fault of the tool's own: the player gets one line, whoever mends it asks for the rest.
        if os.environ.get("NECKWORK_TRACEBACK"):
            raise
        _say(f"a fault inside the tool ({type(error).__name__}); everything graded is kept. "
             "NECKWORK_TRACEBACK=1 shows where, for a report.")  # fmt: skip
        return 1


def _say(message: str) -> None:
    from drills.cli.output import echo

    echo(f"neckwork: {message}", err=True)
