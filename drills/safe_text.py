"""Makes text from files fit to be shown: nothing in it that a terminal, a browser or a page would act on."""

from __future__ import annotations

__all__ = ["drawn", "escaped", "one_line"]


def drawn(text: str) -> str:
    """`text` without what is not drawn (`str.isprintable`: controls, line ends, what is no character).

    Signs that only steer (zero-width signs, overrides of the direction of writing: Unicode's category Cf) are left
    out, the others become spaces. Accents, accidentals and letters written from right to left stay.
    """
    if text.isprintable():
        return text
    import unicodedata  # few texts need it, and every start of the program would pay for it

    return "".join(c if c.isprintable() else "" if unicodedata.category(c) == "Cf" else " " for c in text)


def one_line(text: str) -> str:
    """`text` as `drawn`, with spaces in a row made one and none at the ends."""
    return " ".join(drawn(text).split())


def escaped(text: str) -> str:
    r"""`text` with line ends as they are and everything else that is not drawn written out, such as ``\x1b``.

    A message that repeats what was typed shows by this what came. A tab becomes two spaces.
    """
    if text.isprintable():
        return text
    lines = text.replace("\t", "  ").split("\n")
    return "\n".join(_escaped_line(line.removesuffix("\r")) + "\r" * line.endswith("\r") for line in lines)


def _escaped_line(line: str) -> str:
    return "".join(c if c.isprintable() else _written(c) for c in line)


def _written(character: str) -> str:
    code = ord(character)
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"
