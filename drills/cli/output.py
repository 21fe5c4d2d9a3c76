"""Prints what a command says, with nothing in it that a terminal would act on."""

from __future__ import annotations

from typing import Any

import click

from drills.safe_text import escaped

__all__ = ["echo", "echo_json"]

_BOLD = ("\x1b[1m", "\x1b[0m")


def echo(text: str = "", *, err: bool = False, nl: bool = True, bold: bool = False) -> None:
    """Print `text`, controls and what steers the direction of writing written out, such as ``\\x1b``.

    err: to standard error. nl: with a line end. bold: the two sequences that begin and end bold words are kept.
    """
    if not bold:
        click.echo(escaped(text), err=err, nl=nl)
        return
    begin, end = _BOLD
    parts = (end.join(map(escaped, part.split(end))) for part in text.split(begin))
    click.echo(begin.join(parts), err=err, nl=nl)


def echo_json(value: Any) -> None:
    """Print `value` as one line of JSON."""
    from scheduler.json_line import json_line

    click.echo(json_line(value))
