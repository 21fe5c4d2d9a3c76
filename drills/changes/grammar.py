"""The grammar of changes, and the messages for a text that breaks it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, cast

from drills.errors import ChangesError

if TYPE_CHECKING:
    from lark import Lark, ParseTree, Token

__all__ = ["GRAMMAR", "LONGEST_TEXT", "Word", "branches", "syntax_tree", "word_of", "words"]

LONGEST_TEXT = 40_000
"""Characters; a page of 2,000 bars has some 30,000. It bounds the work on a wrong file."""

GRAMMAR = r"""
start: line? (_NEWLINE line?)*
?line: SECTION -> label
     | SECTION ATTRIBUTE music? -> head
     | SECTION music -> head
     | ATTRIBUTE -> attribute
     | ATTRIBUTE music -> head
     | music
music: edge? bar (edge bar)* edge?
edge: BAR OPEN? | OPEN | CLOSE TIMES? (BAR | OPEN)? | BOTH TIMES?
bar: ENDING? (PERCENT | slot)+
slot: (CHORD | NO_CHORD) MODE? LENGTH? | HOLD

SECTION.9: /\[[^\]\n]*\]/
ATTRIBUTE.8: /(?:(?i:key|metre|meter|time|tempo|feel)[^\S\n]*:(?!\|)[^\n;|]*|[A-Za-z]{3,20}[^\S\n]*:(?!\|)[^\n;]*)/
BOTH.7: /:\|+:/
OPEN.6: /\|+:/
CLOSE.6: /:\|+\]?/
BAR.5: /\|+\]?/
ENDING.5: /[1-9](,[1-9])*\.?(?=[\s|;]|$)/
TIMES.5: /x[1-9](?=[\s|;]|$)/
PERCENT.5: /%/
HOLD.5: /[.\/](?=[\s|:;]|$)/
NO_CHORD.5: /[Nn]\.?[Cc]\.?(?=[\s|:;*{]|$)/
MODE.5: /\{[^}\n]*\}/
LENGTH.5: /\*[^\s|:;\[\]{}*]*/
CHORD.1: /[^\s|:;\[\]{}*%][^\s|:;\[\]{}*]*/
COMMENT.9: /(?<![^\s;|])#[^\n]*/
_NEWLINE: /[\n;]/
SPACE: /[^\S\n]+/
%ignore SPACE
%ignore COMMENT
"""
"""Lark's notation; LALR(1), one look-ahead, so that the work grows with the text's length.

No key, metre, tempo or feel holds a bar line, so music may follow these on their line; a title may hold one.
"""

_SAID = {
    "SECTION": "a section such as [A]",
    "ATTRIBUTE": "a line such as key: Bb",
    "BAR": "a bar line |",
    "OPEN": "|:",
    "CLOSE": ":|",
    "TIMES": "x2",
    "PERCENT": "%",
    "HOLD": "a . to hold",
    "CHORD": "a chord such as Cm7",
    "NO_CHORD": "N.C.",
    "ENDING": "an ending such as 1.",
    "MODE": "a mode such as {Dorian}",
    "LENGTH": "a length such as *2",
    "_NEWLINE": "the end of the line",
}
# BOTH, TIMES and LENGTH are left out where something plainer is accepted too.
_ORDER = ("CHORD", "PERCENT", "NO_CHORD", "BAR", "_NEWLINE", "SECTION", "ATTRIBUTE")


@dataclass(frozen=True, slots=True)
class Word:
    """One word of the text: the kind the grammar gives it, its characters, its 1-based place."""

    kind: str
    text: str
    line: int
    column: int


@cache
def _parser() -> Lark:
    from lark import Lark  # a tenth of a second that only changes need

    return Lark(GRAMMAR, parser="lalr", lexer="basic", maybe_placeholders=False)


def word_of(token: Token) -> Word:
    """A token of the grammar as a word."""
    # Only tokens that a program makes have no place; the lexer's own have.
    return Word(token.type, str(token), cast(int, token.line), cast(int, token.column))


def words(tree: ParseTree) -> list[Word]:
    """The words right under a node, in order."""
    from lark import Token

    return [word_of(child) for child in tree.children if isinstance(child, Token)]


def branches(tree: ParseTree) -> list[ParseTree]:
    """The nodes right under a node, in order."""
    from lark import Tree

    return [child for child in tree.children if isinstance(child, Tree)]


def _place(text: str, position: int) -> tuple[int, int]:
    line = text.count("\n", 0, position) + 1
    return line, position - (text.rfind("\n", 0, position) + 1) + 1


def _expected(kinds: set[str]) -> str:
    listed = [_SAID[kind] for kind in _ORDER if kind in kinds] or [_SAID[k] for k in sorted(kinds) if k in _SAID]
    return ", ".join(listed[:-1]) + (" or " if len(listed) > 1 else "") + listed[-1] if listed else "the end"


def syntax_tree(text: str) -> ParseTree:
    """The tree of a text whose line ends are ``\\n``.

    Raises ChangesError with line and column, what was expected there and what came.
    """
    from lark.exceptions import UnexpectedCharacters, UnexpectedInput, UnexpectedToken

    if len(text) > LONGEST_TEXT:
        raise ChangesError(
            f"changes: expected at most {LONGEST_TEXT:,} characters, got {len(text):,}; is this a page of changes?"
        )
    try:
        return _parser().parse(text)
    except UnexpectedCharacters as error:
        position = cast(int, error.pos_in_stream)
        line, column = _place(text, position)
        mark = text[position]
        hint = {"{": "close it with }", "[": "close it with ]"}.get(mark, "take it out")
        raise ChangesError(f"line {line}, column {column}: {mark!r} stands alone; {hint}", line, column) from error
    except UnexpectedToken as error:
        came = error.token
        kinds = set(error.accepts or error.expected)
        if came.type == "$END":
            line, column = _place(text, len(text))
            found = "the text ends there"
        else:
            word = word_of(came)
            line, column = word.line, word.column
            found = "the line ends there" if came.type == "_NEWLINE" else f"got {word.text[:24]!r}"
        empty = came.type in ("BAR", "OPEN", "CLOSE", "BOTH") and "CHORD" in kinds and "BAR" not in kinds
        hint = "; the bar is empty, write % to repeat the one before" if empty else ""
        near = tuple(_SAID[kind] for kind in _ORDER if kind in kinds)
        message = f"line {line}, column {column}: expected {_expected(kinds)}, {found}{hint}"
        raise ChangesError(message, line, column, near) from error
    except UnexpectedInput as error:
        raise ChangesError(f"changes: not understood ({type(error).__name__}); check the bar lines") from error
