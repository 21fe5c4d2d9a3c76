"""The page of all sentences is current, and claims are made where their rules are kept and nowhere else."""

from __future__ import annotations

import re

from tests.sentences.list_sentences import PAGE, page, sentences_of

LATE = 40
"""Lines added, changed or gone, of some two thousand."""

CLAIMS = re.compile(r"\b(?:[Ww]eakest|[Ss]tronger|[Gg]oing well|[Tt]o watch|[Nn]ot yet)\b")
RULED = {
    "drills/progress/claim_sentences": "the sentences of `scheduler.statistics.claims`",
    "drills/roster/term": "the same claims in a parent's words",
    "drills/tunes/ready/readiness_words": "the rule of not yet for joints; and a forecast's count",
    "drills/cli/handout": "the name of a layout",
}


def test_the_page_is_current():
    """Run `python -m tests.sentences.list_sentences` after sentences have changed, and read what it changed.

    The work of a day may be ahead of the page by LATE lines; more is a page forgotten.
    """
    written, found = PAGE.read_text(encoding="utf-8").splitlines(), page().splitlines()
    late = sorted(set(written) ^ set(found))
    assert len(late) <= LATE, late


def test_sentences_are_found_and_docstrings_and_patterns_are_not():
    """What is said and what is raised stand apart; the parts of one text are one; queries and markup are none."""
    said, refused = sentences_of(
        '"""A module about three things."""\n'
        'SQL = "SELECT one, two FROM three things"\n'
        'PAGE = "<p class=x>this is markup</p>"\n'
        "def f(n):\n"
        '    """Says how many there are."""\n'
        '    if n > 3:\n        raise ValueError(f"{n!r}: expected three at most")\n'
        '    return f"There are {n} " "of them here."\n'
    )
    assert said == ["There are {n} of them here."]
    assert refused == ["{n}: expected three at most"]


def test_claims_are_made_only_where_their_rules_are_kept():
    """No other module says weakest, stronger, going well, to watch or not yet."""
    module, wrong = "", []
    for line in page().splitlines():
        if line.startswith("## "):
            module = line.removeprefix("## ")
        elif CLAIMS.search(line) and module not in RULED and not module.startswith("scheduler/evaluate"):
            wrong.append(f"{module}: {line}")
    assert wrong == []
