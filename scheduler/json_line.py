"""A value as one line of JSON that is safe to show.

It imports nothing of either package, so both may use it.
"""

from __future__ import annotations

import json
import re
from typing import Any

__all__ = ["json_line"]


def json_line(value: Any) -> str:
    r"""The JSON text of `value`: letters of every script as they are, what is not drawn written as ``\u`` and a number.

    It is read back to the same value. Control characters, overrides of the direction of writing and lone surrogates
    are among what is written as a number, so that neither a terminal nor a file takes harm.
    """
    text = json.dumps(value, ensure_ascii=False)
    return text if text.isprintable() else _NOT_DRAWN.sub(lambda found: _numbered(found[0]), text)


_NOT_DRAWN = re.compile(r"[^ -~]")


def _numbered(character: str) -> str:
    # Beyond the first 65,536 characters JSON writes two numbers, as UTF-16 does (RFC 8259, section 7).
    return character if character.isprintable() else json.dumps(character)[1:-1]
