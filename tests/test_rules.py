"""The page of rules, drills/RULES.md: every rule cited is on it, and every rule on it says where it comes from."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PAGE = (ROOT / "drills" / "RULES.md").read_text(encoding="utf-8")
RULE_LINES = re.findall(r"^(?:### |- \*\*)(0\.\d+|[A-G]\d*b?)(?:\.|\*\*)(.*)$", PAGE, re.M)
SECTIONS = set(re.findall(r"^## ([0A-G])\b", PAGE, re.M))
_ID = r"(?:0(?:\.\d+)?|[A-G]\d*b?)(?![\w(#+])"
_CITATION = re.compile(rf"(?:\b[Rr]ules?(?:, section)? |drills/RULES\.md, )({_ID}(?:(?:, | and | to ){_ID})*)")
_MARK = re.compile(r"\[(?:computed|common practice|source: )[^\]]*\]")


def _citations():
    for folder in ("drills", "scheduler", "tests", "data"):
        for path in (ROOT / folder).rglob("*"):
            if path.suffix in (".py", ".toml"):
                for found in _CITATION.finditer(path.read_text(encoding="utf-8")):
                    for name in re.findall(_ID, found[1]):
                        yield path.relative_to(ROOT), name


def test_every_rule_cited_is_on_the_page():
    """A reference leads somewhere; there are some hundred of them."""
    there = SECTIONS | {name for name, _ in RULE_LINES}
    cited = list(_citations())
    assert len(cited) > 100
    assert [(str(path), name) for path, name in cited if name not in there] == []


def test_every_rule_carries_its_mark():
    """Computed, common practice, or a published source; section E's rule E has its own heading and mark."""
    assert len(RULE_LINES) > 60
    assert [name for name, rest in RULE_LINES if not _MARK.search(rest)] == []
    names = [name for name, _ in RULE_LINES]
    assert len(names) == len(set(names))


def test_the_scheduler_cites_no_rule_of_music():
    """`scheduler` knows nothing of music."""
    assert [str(path) for path, _ in _citations() if path.parts[0] == "scheduler"] == []
