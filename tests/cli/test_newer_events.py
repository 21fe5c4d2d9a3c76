"""An older tool that meets what a newer one wrote: it keeps it, says so, and hands on all of it."""

from __future__ import annotations

import itertools
import json
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.grade import Grade
from scheduler.log.interchange import import_file, read_events
from scheduler.log.interchange_json import event_to_json
from scheduler.log.review_log import ReviewLog
from scheduler.log.salvage import salvage

NOW = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
WHEN = {"stamp": "2026-03-02T18:00:00.000000Z", "at": "2026-03-02T18:00:00.000000+00:00"}
REVIEW = {"kind": "review", "id": "r1", "log": "newer", **WHEN, "card": "c", "skills": ["s"], "grade": 3,
          "seconds": 2.0, "attempt": "first"}  # fmt: skip
PRESSED = {"pressure": 0.25, "hand": {"left": [1, 2.5, None], "said": "\u00e9 \U0001f44d"}}
NEWER = [
    {**REVIEW, **PRESSED},
    {"kind": "tap-along", "id": "t1", "log": "newer", **WHEN, "version": 7, "beats": [1, 2.5]},
    {"kind": "flag", "id": "f1", "log": "newer", **WHEN, "card": "c", "text": "why?", "voice": "memo.ogg"},
    {"kind": "rest", "id": "e1", "log": "newer", **WHEN, "card": "d"},
]


def _file(folder, rows, name="newer.json", version=1):
    path = folder / name
    path.write_text(json.dumps({"format": "review-log", "version": version, "events": rows}), encoding="utf-8")
    return str(path)


def _exported(neckwork, *args):
    ran = neckwork("export", "--format", "json", *args)
    assert ran.code == 0, ran.err
    return {row["id"]: row for row in json.loads(ran.out)["events"]}


def test_kinds_and_fields_of_a_newer_version_are_kept_said_and_handed_on(neckwork, tmp_path):
    """An invented kind with a version of its own, and invented fields of a review and a flag: import, export, salvage
    and another machine's import lose none of them."""
    ran = neckwork("import", "--yes", _file(tmp_path, NEWER))
    assert ran.code == 0 and "3 events say what only a newer version knows: kept, and handed on" in ran.out
    assert "3 events say what only a newer version knows" in neckwork("log").out
    written = {row["id"]: row for row in NEWER}
    told = {**written, "r1": {**written["r1"], "first_of_day": True, "practice_day": "2026-03-02"}}
    assert _exported(neckwork) == told
    assert _exported(neckwork, "--since", "2026-03-01") == told
    assert neckwork("export", "-o", str(tmp_path / "out.json"), "--format", "json").code == 0
    home = tmp_path / "home"
    assert neckwork("log", "salvage").code == 0
    with (
        ReviewLog(home / "log.sqlite3") as log,
        ReviewLog(home / "log-salvaged.sqlite3") as salvaged,
        ReviewLog(":memory:") as other,
        ReviewLog(":memory:") as joined,
    ):
        import_file(other, tmp_path / "out.json")
        joined.join(home / "log.sqlite3")
        for one in (log, salvaged, other, joined):
            assert {event.id: json.loads(json.dumps(event_to_json(event))) for event in one.events()} == written
        assert [review.grade for review in log.reviews()] == [Grade.CLEAN]
        assert log.faults() == []
    assert salvage(home / "log.sqlite3", tmp_path / "again.sqlite3") == (4, 0)


def test_a_document_of_a_newer_format_is_refused_whole(neckwork, tmp_path):
    """What its events mean is not known, so nothing is taken in, and the way is named."""
    ran = neckwork("import", "--yes", _file(tmp_path, NEWER, version=2))
    assert ran.code == 1
    assert "version: expected 1, got 2; a newer file needs a newer version of this program" in ran.err
    assert "0 events" in neckwork("log").out or "no log yet" in neckwork("log").err


_values = st.recursive(
    st.integers(-5, 5) | st.booleans() | st.text(max_size=5), lambda inner: st.lists(inner, max_size=3), max_leaves=5
)


@given(
    st.lists(
        st.dictionaries(st.text(min_size=1, max_size=6).map(lambda name: f"x-{name}"), _values, max_size=3),
        min_size=1, max_size=3,
    )
)  # fmt: skip
def test_in_whatever_order_logs_are_joined_the_same_fields_stay(several):
    """Machines that say different further things of one event agree once joined, and the review counts once."""
    files = [
        json.dumps({"format": "review-log", "version": 1, "events": [{**REVIEW, **one}]}).encode() for one in several
    ]
    found = set()
    for order in itertools.permutations(files):
        with ReviewLog(":memory:") as log:
            for content in order:
                log.add(read_events(content, "file", log.id))
            [event] = log.events()
            assert len(list(log.reviews())) == 1
            found.add(json.dumps(event_to_json(event), sort_keys=True))
    assert len(found) == 1
    assert json.loads(found.pop()) in [{**REVIEW, **one} for one in several]


def test_further_fields_have_a_limit(neckwork, tmp_path):
    """A flood of them is refused by name."""
    ran = neckwork("import", "--yes", _file(tmp_path, [{**REVIEW, "more": "x" * 100_001}]))
    assert ran.code == 1 and "at most 100,000 characters of further fields" in ran.err


@pytest.mark.parametrize("name", ["id", "log", "stamp", "at", "kind", "card", "grade"])
def test_no_known_field_is_further(name):
    """What this version knows is read as what it is."""
    content = json.dumps({"format": "review-log", "version": 1, "events": [REVIEW]}).encode()
    [event] = read_events(content, "file", "log")
    assert event.more == "" and name in event_to_json(event)
