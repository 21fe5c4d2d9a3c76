"""What each moment of a session shows, as lines with a role; no colours, no terminal codes here."""

from __future__ import annotations

from dataclasses import replace

from drills.configuration.diagram_style import DiagramStyle
from drills.diagrams.answer import heading
from drills.session import card_screens
from drills.session.drill import Drill
from drills.session.ending import end_lines
from drills.session.glossary import word_lines
from drills.session.key_bindings import HELP, offered
from drills.session.opening import weakest
from drills.session.screen_lines import KEEP, ScreenLine, blank, drawing, fitted, wrapped
from drills.session.session_sentences import (
    BEFORE_YOU_START,
    MICROPHONE_ON,
    care_lines,
    caution_lines,
    focus_words,
    listening_words,
    music_keys,
    music_words,
    paused_words,
    plan_line,
    unfit_words,
    warm_up_words,
    yesterday_words,
)
from drills.session.session_state import Phase

__all__ = ["pages", "screen"]


def screen(drill: Drill, style: DiagramStyle, width: int, height: int) -> list[ScreenLine]:
    """The lines for the state the drill is in, cut to the window; while the microphone is open each page says so."""
    if not _microphone(drill):
        return _page(drill, style, width, height)
    return [*_page(drill, style, width, height - 1), ScreenLine(MICROPHONE_ON, "quiet")]


def _microphone(drill: Drill) -> bool:
    return drill.ears is not None and drill.ears.listening


def _page(drill: Drill, style: DiagramStyle, width: int, height: int) -> list[ScreenLine]:
    state = drill.state
    if state.help:
        shown = _key_pages(drill, width, height)
        page = min(state.help, len(shown))
        more = "Any key goes on." if page < len(shown) else "Any key goes back."
        head = "Keys" if len(shown) == 1 else f"Keys, {page} of {len(shown)}"
        return fitted([ScreenLine(head, "strong"), *shown[page - 1], ScreenLine(more, "quiet")], height)
    if state.words:
        said = [line for text in word_lines(drill) for line in wrapped(text, width)]
        return fitted(
            [ScreenLine("In words", "strong"), blank(), *said, ScreenLine("Any key goes back.", "quiet")], height
        )
    if state.paused_s is not None:
        return [ScreenLine(), *wrapped(paused_words(state), width, "strong")]
    body = {
        Phase.START: _start, Phase.WARM_UP: _warm_up, Phase.LESSON: card_screens.lesson,
        Phase.PROMPT: card_screens.prompt, Phase.ANSWER: card_screens.answer, Phase.REPEAT: card_screens.repeat,
        Phase.MUSIC: _music, Phase.END: _end, Phase.DONE: _end,
    }[state.phase](drill, style, width, height)  # fmt: skip
    if state.note:
        body = [*body, *wrapped(state.note, width, "strong", 8)]
    return fitted(body, height)


def pages(drill: Drill, style: DiagramStyle, width: int, height: int) -> int:
    """How many pages the list of keys takes in the window when it is open, else grip and mode."""
    height -= _microphone(drill)
    if drill.state.help:
        return len(_key_pages(drill, width, height))
    return card_screens.beside_pages(drill, style, width, height)


def _key_pages(drill: Drill, width: int, height: int) -> list[list[ScreenLine]]:
    """The keys and their meanings, as many on a page as have room under its head and over its foot."""
    found: list[list[ScreenLine]] = [[]]
    for keys, meaning in offered(HELP, drill.audible):
        lines = wrapped(f"{keys}: {meaning}", width, weight=5)
        if found[-1] and len(found[-1]) + len(lines) > height - 2:
            found.append([])
        found[-1] += lines
    return found


def _start(drill: Drill, _style: DiagramStyle, width: int, _height: int) -> list[ScreenLine]:
    lines = [*wrapped(drill.material.deck.title, width, "strong"), blank(), *wrapped(plan_line(drill), width)]
    if drill.called:
        lines = [*wrapped(drill.called, width, weight=6), *lines]
    if drill.tune is not None and drill.tune.forecast:
        lines += wrapped(drill.tune.forecast, width, weight=8)
    if drill.returned:
        lines += wrapped(drill.returned.line, width)
    if missed := yesterday_words(drill):
        lines += wrapped(missed, width, weight=6)
    if unfit := unfit_words(drill):
        lines += wrapped(unfit, width, "quiet", 4)
    lines += [blank(), ScreenLine("Enter starts.  h keys  q leave", "quiet")]
    if words := listening_words(drill):
        lines += wrapped(words, width, weight=6)
    if words := focus_words(drill.state):
        lines += wrapped(words, width, "quiet", 7)
    return lines


def _warm_up(drill: Drill, style: DiagramStyle, width: int, height: int) -> list[ScreenLine]:
    lines = []
    if drill.state.caution:
        lines = [ScreenLine(BEFORE_YOU_START, "strong"), blank()]
        lines += [line for text in caution_lines(drill.state) for line in wrapped(text, width)]
    if drill.state.warm_up_s:
        lines += [*([blank()] if lines else []), ScreenLine("Warm up", "strong"), *wrapped(warm_up_words(drill), width)]
        shape = drill.warm_up()
        if shape is not None:
            # Under the cautions the drawing goes before a word of them does.
            weight = 4 if drill.state.caution else KEEP
            lines += [blank(), *wrapped(heading(shape), width, weight=7)]
            drawn = drawing(drill, style, shape, width, height - len(lines) - 2)
            lines += [replace(line, weight=weight) for line in drawn]
    return [*lines, blank(), ScreenLine("Enter goes on.", "quiet")]


def _music(drill: Drill, style: DiagramStyle, width: int, height: int) -> list[ScreenLine]:
    shape = drill.material.answer(weakest(drill.state) or drill.state.card_in_hand)
    above = [ScreenLine("A musical minute", "strong"), *wrapped(music_words(drill), width), blank()]
    below = [blank(), *wrapped(music_keys(drill), width, "quiet")]
    return [*above, *drawing(drill, style, shape, width, height - len(above) - len(below) - 2), *below]


def _end(drill: Drill, _style: DiagramStyle, width: int, _height: int) -> list[ScreenLine]:
    lines: list[ScreenLine] = [ScreenLine("Done.", "strong"), blank()]
    care = care_lines(drill) if drill.state.hurts else []
    for text in care:
        lines += wrapped(text, width)
    for text in end_lines(drill)[len(care) :]:
        lines += wrapped(text, width, weight=4 if care else KEEP)
    keys = f"Enter leaves.  u {'nothing hurts, a wrong key' if drill.state.hurts else 'takes back the last grade'}"
    if drill.state.offer:
        keys += "  m another ten, after a minute's rest"
    return [*lines, blank(), *wrapped(keys, width, "quiet")]
