"""What has once given a traceback, a hang or a refusal that was no sentence, and a small share of the million."""

from __future__ import annotations

import io
import zipfile
from dataclasses import replace

import pytest

from tests.fuzz.fuzz_run import drawn_again, fuzz
from tests.fuzz.fuzzed_kinds import FUZZED, Bench

DEEP = 30_000
SHARE = 2_000


def _packed(name: bytes) -> bytes:
    """A packed lead sheet whose first file has one name in its folder and another, longer one, at its place."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr(zipfile.ZipInfo("META-INF/container.xml"), "x" * 4_000)
    content = out.getvalue()
    return content[:26] + len(name).to_bytes(2, "little") + content[28:]


PAST = [
    ("settings", "a = " + "[" * DEEP + "]" * DEEP),
    ("settings", "[practice]\nminutes = " + "{a=" * DEEP + "1" + "}" * DEEP),
    ("settings", "a" + ".a" * DEEP + " = 1"),
    ("settings", "a" + ' . "b\\" c"' * DEEP + " = 1"),
    ("settings", "[practice]\nminutes = " + "9" * 5_000),
    ("settings", "practice = [" + '"m", ' * 2_000 + "]"),
    ("decks", "title = " + "[" * DEEP),
    ("decks", "title = " + "9" * 5_000),
    ("decks", "a" + ".a" * DEEP + " = 1"),
    ("tables of tunings and qualities", "a" + ".a" * DEEP + " = 1"),
    ("RRULEs and practice days", "FREQ=WEEKLY;BYDAY=MO;UNTIL=00010101"),
    ("packed MusicXML and bytes", _packed(b"x" * 4_000)),
    ("chord names", "C" + "(" * DEEP),
    ("changes of tunes", "|: " * 3_000 + "C" + " :|" * 3_000),
    ("MusicXML", "<a>" * DEEP),
    ("JSON exports", '{"format":"review-log","version":1,"events":' + "[" * DEEP),
    ("command lines", ["cards", "~x; y"]),
    ("command lines", ["decks", "new", "\udcff"]),
    ("command lines", ["export", "--log", "~nobody-here/log"]),
]
"""Each kind of input, and one that was once taken as it should not be, or is made so that it might be."""


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    """All kinds by name."""
    return {kind.name: kind for kind in Bench(tmp_path_factory.mktemp("fuzz")).fuzzed}


@pytest.mark.parametrize(("name", "value"), PAST, ids=[f"{number} {name}" for number, (name, _) in enumerate(PAST)])
def test_what_was_a_fault_once_is_read_or_refused_in_a_sentence(bench, capsys, name, value):
    """No traceback, and no more than the processor time that an input may take."""
    found = fuzz(replace(bench[name], draw=lambda rng: value), 1, 0)
    assert found["read"] + found["refused"] == 1, capsys.readouterr().err


def test_a_number_draws_the_same_input_again(bench, tmp_path):
    """In another process too, whose ids of events are other ones."""
    for kind in Bench(tmp_path).fuzzed:
        for number in range(5):
            assert drawn_again(kind, number, 1) == drawn_again(bench[kind.name], number, 1)


LEAST = {"packed MusicXML and bytes": 400}
"""Inputs of a kind of which few are ever read: one of forty packed lead sheets is still whole after a draw."""


def test_a_share_of_the_million_is_read_or_refused(bench, capsys):
    """A fixed share of `python -m tests.fuzz.fuzz_run`; no kind is left out, and each is read as well as refused."""
    assert set(FUZZED) <= set(bench)
    assert sum(kind.share for kind in bench.values()) == 1_000_000
    for kind in bench.values():
        found = fuzz(kind, max(LEAST.get(kind.name, 3), kind.share * SHARE // 1_000_000), 7)
        assert (found["traceback"], found["hang"]) == (0, 0), capsys.readouterr().err
        assert found["read"], kind.name
