"""Connects a session to the terminal: it translates keys, shows screens and handles signals."""

from __future__ import annotations

import contextlib
import signal
import sys
from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING

from drills.configuration.diagram_style import DiagramStyle
from drills.safe_text import escaped
from drills.session.colours import ColourSystem, colour_system, tone_style
from drills.session.drill import Drill
from drills.session.key_bindings import HURTS
from drills.session.lines_while_playing import reading_while_playing
from drills.session.plain import spoken
from drills.session.screen_lines import ScreenLine
from drills.session.screens import pages, screen
from drills.session.session_sentences import STOPPED
from drills.session.session_state import Phase

if TYPE_CHECKING:
    from prompt_toolkit.input import Input
    from prompt_toolkit.key_binding import KeyPressEvent
    from prompt_toolkit.output import Output

__all__ = ["ansi", "run", "run_lines"]

_NAMES = {
    "<sigint>": "interrupt", "c-c": "interrupt", "c-d": "interrupt", "c-m": "enter", "c-j": "enter",
    "c-h": "backspace", "c-i": "tab", "s-up": "up", "s-down": "down", "s-left": "left", "s-right": "right",
}  # fmt: skip
_STYLES = {"big": "bold", "strong": "bold", "quiet": "", "": ""}
"""Weights of type only. Text has the player's own colours, and faint type (SGR 2) is left alone too: how faint it
is drawn is the terminal's choice, and at half strength it may fall under the contrast that WCAG 2.2 asks of text."""


_DEPTHS: dict[ColourSystem, str] = {
    "none": "DEPTH_1_BIT", "256": "DEPTH_8_BIT", "truecolor": "DEPTH_24_BIT",
}  # fmt: skip
"""The same in the words of prompt_toolkit."""


def ansi(lines: list[ScreenLine], width: int, system: ColourSystem = "none") -> str:
    """Lines drawn with rich as text with terminal codes; roles are weight of type, tones of a chord colours too."""
    import io

    from rich.console import Console
    from rich.text import Text

    out = io.StringIO()
    console = Console(
        file=out, width=width, force_terminal=True, color_system="standard" if system == "none" else system,
        no_color=system == "none", highlight=False, legacy_windows=False, _environ={},
    )  # fmt: skip
    # Deck text goes in as Text, so that brackets in a name are never read as markup; in one piece, which draws
    # a screen in a third of the time that its lines take one by one.
    styled = [Text(escaped(line.text), style=_STYLES[line.role]) for line in lines]
    for line, text in zip(lines, styled, strict=True):
        for start, end, tone in line.tones:
            text.stylize(tone_style(tone, system), start, end)
    console.print(Text("\n", no_wrap=True, overflow="crop", end="").join(styled), crop=True)
    return out.getvalue().rstrip("\n")


def run(
    drill: Drill,
    style: DiagramStyle,
    environ: Mapping[str, str],
    *,
    source: Input | None = None,
    sink: Output | None = None,
) -> int:
    """Plays a session full screen; returns the exit code, 130 when interrupted.

    source, sink: prompt_toolkit input and output, the terminal's own by default. Whatever a key,
    a drawing or passing time raises (a full disk) ends the session and is raised from here, with
    the terminal given back: prompt_toolkit would show the player where it happened.
    """
    from prompt_toolkit.application import Application
    from prompt_toolkit.formatted_text import ANSI
    from prompt_toolkit.key_binding import KeyBindings
    from prompt_toolkit.keys import Keys
    from prompt_toolkit.layout import Layout, Window
    from prompt_toolkit.layout.controls import FormattedTextControl
    from prompt_toolkit.output.color_depth import ColorDepth

    from drills.session.paste_parser import PasteParser

    code = 0
    system = colour_system(style.colour, environ)

    @contextlib.contextmanager
    def failing() -> Iterator[None]:
        try:
            yield
        except Exception as error:
            if app.is_running and app.future is not None and not app.future.done():
                app.exit(exception=error)

    def room() -> tuple[int, int]:
        size = app.output.get_size()
        return max(20, size.columns - 2), max(5, size.rows - 1)

    def draw() -> ANSI:
        width, height = room()
        with failing():
            return ANSI(ansi(screen(drill, style, width, height), width + 1, system))
        return ANSI("")

    bindings = KeyBindings()

    @bindings.add(Keys.Any)
    @bindings.add("escape", eager=True)
    @bindings.add("c-c")
    @bindings.add("<sigint>")
    def _key(event: KeyPressEvent) -> None:
        nonlocal code
        pressed = event.key_sequence[0]
        raw = getattr(pressed.key, "value", pressed.key)
        name = _NAMES.get(raw, raw)
        if name == "interrupt":
            code = 130
            event.app.exit()
            return
        with failing():
            drill.press(name, pages=pages(drill, style, *room()) if drill.state.help or name == "g" else 1)
            if drill.state.phase is Phase.DONE:
                event.app.exit()

    @bindings.add("c-z")
    def _suspend(event: KeyPressEvent) -> None:
        event.app.suspend_to_background()

    app: Application[None] = Application(
        layout=Layout(Window(FormattedTextControl(draw, show_cursor=False), wrap_lines=False)),
        key_bindings=bindings, full_screen=True, include_default_pygments_style=False, erase_when_done=True,
        input=source, output=sink, color_depth=ColorDepth(_DEPTHS[system]),
    )  # fmt: skip
    pasting: PasteParser | None = None
    if sys.platform != "win32":  # the console of Windows has other input, and no pastes with marks
        from prompt_toolkit.input.vt100 import Vt100Input

        if isinstance(app.input, Vt100Input):
            pasting = app.input.vt100_parser = PasteParser(app.input.vt100_parser.feed_key_callback)
    app.ttimeoutlen = 0.05  # how long an Escape waits to be told from an arrow key

    def leave(number: int) -> Callable[[], None]:
        def _leave() -> None:
            nonlocal code
            code = 128 + number
            if app.is_running:
                app.exit()

        return _leave

    def at_start() -> None:
        import asyncio

        async def pass_time() -> None:
            while True:
                await asyncio.sleep(drill.tick_s)
                with failing():
                    if pasting is not None:
                        pasting.drop_unended()
                    if drill.tick():
                        app.invalidate()

        app.create_background_task(pass_time())
        loop = asyncio.get_running_loop()
        for name in ("SIGTERM", "SIGHUP"):
            number = getattr(signal, name, None)
            if number is not None:
                try:
                    loop.add_signal_handler(number, leave(number))
                except (NotImplementedError, RuntimeError, ValueError):
                    return  # not the main thread, or a platform without them

    try:
        app.run(pre_run=at_start)
    except EOFError:
        code = 130
    return code


_WORDS = {
    "": "enter", "looked": "l", "found": "f", "found it": "f", "clean": "c", "in time": "t", "time": "t",
    "quit": "q", "undo": "u", "next": "n", "help": "h", "pause": "p", "rest": "r",
    "raise": "pageup", "hurts": HURTS,
    "\x1b[5~": "pageup", "\x1b[6~": "pagedown", "\x1b[a": "up", "\x1b[b": "down", "\x1b[c": "right", "\x1b[d": "left",
}  # fmt: skip
_WHILE_WRITING = {
    "quit": "escape",
    "next": "tab",
    HURTS: HURTS,
    "hurts": HURTS,
    "my hand hurts": HURTS,
    "\x1b[5~": "pageup",
}


def _keys(line: str, writing: bool) -> list[str]:
    """The keys a typed line stands for: a letter or a word, or letter by letter where an answer is written."""
    typed = line.lower()
    if not writing:
        return [_WORDS.get(typed, typed[:1])]
    if typed in _WHILE_WRITING:
        return [_WHILE_WRITING[typed]]
    return [*line, "enter"]


def run_lines(drill: Drill, read: Callable[[], str], say: Callable[[str], None]) -> int:
    """Plays a session in spoken lines: a letter or a word and Enter for each key.

    read: the next line typed, raising EOFError at the end. say: prints one line.
    """

    def tell() -> None:
        for line in spoken(drill):
            say(line)

    if drill.ears is not None and drill.ears.hands_free:
        read = reading_while_playing(drill, read, tell)
    try:
        while True:
            tell()
            line = read().strip()
            drill.tick()
            if drill.state.gone:  # nothing could be shown while a line was waited for; it still counts
                say(STOPPED)
                drill.press("", rest_s=0.0)
            for key in _keys(line, writing=drill.state.typing and drill.state.phase is Phase.PROMPT):
                drill.press(key, rest_s=0.0)
            if drill.state.phase is Phase.DONE:
                return 0
    except (EOFError, KeyboardInterrupt):
        return 130
