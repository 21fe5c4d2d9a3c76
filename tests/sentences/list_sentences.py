"""Every sentence the program can say, found in its code and listed by module.

    python -m tests.sentences.list_sentences

writes SENTENCES.md beside this script. A sentence is a text of three words or more that the code holds outside its
docstrings; what is filled in while it runs stands in braces. Refusals, which are raised, stand apart from what is said.
Texts of another language than English (queries, style sheets, patterns, markup) are left out by their look.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

__all__ = ["PAGE", "page", "sentences_of"]

ROOT = Path(__file__).resolve().parent.parent.parent
PAGE = Path(__file__).with_name("SENTENCES.md")
_WORD = re.compile(r"(?<![\w{])[A-Za-z][a-z']*(?![\w}])")
_OTHER = re.compile(
    r"^\s*(?:SELECT|INSERT|UPDATE|CREATE|PRAGMA|DELETE|WITH|FROM|WHERE|ORDER)\b|[{;]\s*[\w-]+:|</?\w+[\s>]|\(\?|\\[dwsb]|"
    r"^[\w-]+(?:/[\w-]+)+$|--[\w-]+:|function ?\(|=>|\bconst |<\?xml|###|^PRODID|^:root|sans-serif"
)
_LONGEST_PART = 40


def page() -> str:
    """The whole page."""
    lines = [
        "# Sentences the program can say",
        "",
        "Found in the code by `python -m tests.sentences.list_sentences`. What stands in braces is filled in.",
    ]
    for folder in ("drills", "scheduler"):
        for path in sorted((ROOT / folder).rglob("*.py")):
            said, refused = sentences_of(path.read_text(encoding="utf-8"))
            if said or refused:
                lines += ["", f"## {path.relative_to(ROOT).with_suffix('').as_posix()}", ""]
                lines += [f"- {_plain(text)}" for text in said]
                lines += [f"- refuses: {_plain(text)}" for text in refused]
    return "\n".join(lines) + "\n"


def sentences_of(source: str) -> tuple[list[str], list[str]]:
    """What a module says, and how it refuses, each text once, in the order of the code."""
    tree = ast.parse(source)
    raised = {id(node) for one in ast.walk(tree) if isinstance(one, ast.Raise) for node in ast.walk(one)}
    said: dict[str, None] = {}
    refused: dict[str, None] = {}
    for node in _texts(tree):
        text = _text(node)
        if _is_sentence(text):
            (refused if id(node) in raised else said).setdefault(text)
    return list(said), list(refused)


def _texts(tree: ast.AST) -> Iterator[ast.Constant | ast.JoinedStr]:
    """The texts of a module that are no docstrings, each whole: the parts of a filled-in text are not told apart."""
    if isinstance(tree, ast.JoinedStr):
        yield tree
        return
    if isinstance(tree, ast.Constant):
        if isinstance(tree.value, str):
            yield tree
        return
    if isinstance(tree, ast.Expr) and isinstance(tree.value, ast.Constant):
        return
    for child in ast.iter_child_nodes(tree):
        yield from _texts(child)


def _text(node: ast.Constant | ast.JoinedStr) -> str:
    if isinstance(node, ast.Constant):
        return str(node.value)
    return "".join(
        f"{{{ast.unparse(part.value)[:_LONGEST_PART]}}}" if isinstance(part, ast.FormattedValue) else str(part.value)
        for part in node.values
        if isinstance(part, ast.FormattedValue | ast.Constant)
    )


def _is_sentence(text: str) -> bool:
    bare = re.sub(r"\{[^{}]*\}", " {} ", text)
    return len(_WORD.findall(bare)) >= 3 and " " in text.strip() and not _OTHER.search(bare)


def _plain(text: str) -> str:
    return " ".join(text.split()).replace("<", "&lt;").replace("*", "\\*").replace("_", "\\_")


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
