"""An import taken back, one id with several contents, and kinds of event that only a newer version knows.

That joining is a join of a semilattice (commutative, associative, idempotent) is what makes replicas converge
(Shapiro, Preguiça, Baquero and Zawirski 2011, "Conflict-free Replicated Data Types").
"""

from __future__ import annotations

import io
import json
from datetime import UTC, datetime, timedelta
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.errors import ReviewError
from scheduler.grade import Grade
from scheduler.log.contents import content_id, content_text, variant_of
from scheduler.log.events import Event, Flag, Later, Lock, Rest, SetAside, Slip, Undo, Wake, as_us
from scheduler.log.fold import fold
from scheduler.log.interchange import foresee_file, import_file, read_events
from scheduler.log.review_log import ReviewLog
from scheduler.review import Review
from scheduler.statistics.log_digest import digest_of_log
from tests.log_exports import export_json

NOW = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
IDS = [f"e{number}" for number in range(6)]


def review(number, grade=Grade.CLEAN, minute=0):
    """A review of an id of its own."""
    return Review("c", grade, NOW + timedelta(minutes=minute or number), 3.0, skills=("s",), id=f"e{number}")


def event_of(body, event_id, minute, log="one"):
    """An event stamped by the minute."""
    at = NOW + timedelta(minutes=minute)
    return Event(event_id, log, as_us(at), at, body)


@st.composite
def events(draw):
    """A few events under few ids, so that ids meet with other contents and name one another."""
    made = []
    for _ in range(draw(st.integers(1, 7))):
        event_id, minute = draw(st.sampled_from(IDS)), draw(st.integers(0, 5))
        target = draw(st.sampled_from(IDS))
        body = draw(
            st.sampled_from([
                Undo(target), Slip(target, "root"), Rest("c"), Wake("c"), Flag("c", "why"), Lock("l", target),
                SetAside((target,)), SetAside((target, event_id)), Later("dream", '{"of": 3}'),
                *(Review("c", grade, NOW + timedelta(minutes=minute), 3.0, id=event_id) for grade in Grade),
                *(Review("d", grade, NOW + timedelta(minutes=minute), 3.0, id=event_id) for grade in Grade),
            ])
        )  # fmt: skip
        made.append(event_of(body, event_id, minute))
    return made


def answers(log):
    """What a log answers by all its ways of reading, besides the fold of its events."""
    latest = log.latest()
    state = log.state()
    assert list(log.reviews()) == list(state.reviews)
    assert [one for _, one in log.reviews_after(0, 10**9)] == list(state.reviews)
    assert latest == (state.reviews[-1] if state.reviews else None)
    assert sum(1 for _ in log.review_rows()) == sum(1 for _ in log.digest_rows()) == len(state.reviews)
    standing = log.standing()
    assert (standing.rested, standing.flags, standing.locks) == (state.rested, state.flags, state.locks)
    digest_of_log(log)
    return state


@pytest.mark.long
@settings(max_examples=150, deadline=None)
@given(st.lists(events(), min_size=2, max_size=3))
def test_joining_is_the_same_whatever_the_order(parts):
    """Logs that took in the same events in other orders, and twice, say the same; so does the fold of their events."""
    seen = []
    for order in permutations(parts):
        with ReviewLog(":memory:") as log:
            for part in (*order, order[0]):
                log.add(part)
            state = answers(log)
            assert fold(reversed(list(log.events()))) == state
            seen.append(state)
    assert all(state == seen[0] for state in seen)


@settings(max_examples=100, deadline=None)
@given(events(), events(), events())
def test_joining_logs_is_commutative_associative_and_idempotent(one, two, three):
    """Whole logs joined, each of which has seen the others' contents under its own ids, come to one state."""
    logs = []
    for part in (one, two, three):
        logs.append(ReviewLog(":memory:"))
        logs[-1].add(part)

    def joined(*names):
        log = ReviewLog(":memory:")
        for name in names:
            log.add(list(logs[name].events()))
        return log

    a, b = joined(0, 1, 2), joined(2, 1, 0)
    a.add(list(joined(1, 2).events()))
    b.add(list(joined(0, 2, 1).events()))
    assert answers(a) == answers(b)


def test_the_earlier_stamp_counts_and_both_contents_are_kept():
    """In either order of joining: the same choice, the same report, and the other content is not lost."""
    first, second = event_of(review(1, minute=3), "e1", 3), event_of(review(1, Grade.LOOKED, 2), "e1", 2)
    for order in ((first, second), (second, first)):
        with ReviewLog(":memory:") as log:
            log.add([order[0]])
            assert log.foresee([order[1]])[:3] == (1, 1, 1)
            log.add([order[1]])
            assert [one.grade for one in log.reviews()] == [Grade.LOOKED]
            assert len(list(log.events())) == 2
            assert log.foresee([order[1], order[0]])[:3] == (0, 2, 0)


def test_going_back_on_an_import_keeps_what_was_graded_later(tmp_path):
    """401 undos in a file empty a log; taken back, every review counts again, and later ones stay."""
    path = tmp_path / "undos.json"
    with ReviewLog(":memory:") as bad, open(path, "w", encoding="utf-8") as out:
        for number in range(401):
            bad.undo(f"r{number}", NOW)
        export_json(bad, out)
    with ReviewLog(tmp_path / "log.sqlite3") as log:
        for number in range(401):
            log.record(Review("c", Grade.CLEAN, NOW + timedelta(minutes=number), 3.0, id=f"r{number}"))
        before = log.state()
        assert foresee_file(log, path, now=NOW).taken_back == 401
        import_file(log, path, now=NOW)
        assert log.state().reviews == ()
        late = Review("d", Grade.CLEAN, NOW + timedelta(days=1), 3.0)
        log.record(late)
        [one] = log.imports()
        assert (one.source, one.set_aside) == ("undos.json", False)
        written = len(list(log.events()))
        log.go_back(one, NOW + timedelta(days=1))
        assert len(list(log.events())) == written + 1
        assert list(log.reviews()) == [*before.reviews, late]
        assert log.imports()[0].set_aside
        other = ReviewLog(":memory:")
        with open(path, "rb") as file:
            other.add(read_events(file.read(), "undos", other.id))
        other.add(log.events())
        assert list(other.reviews()) == [*before.reviews, late]
        log.bring_back(one, NOW + timedelta(days=2))
        assert list(log.reviews()) == [late]
        assert not log.imports()[0].set_aside


def copied(log, other, at):
    """Take the events of `other` into `log`, as an import that is remembered."""
    log.add(list(other.events()), source="other", at=at)


def test_an_import_that_went_back_on_itself_is_taken_back_and_counts_again():
    """A log joined whole, with what its player took in and went back on: no part of that is the joiner's doing."""
    minutes = iter(NOW + timedelta(minutes=10 + number) for number in range(20))
    with ReviewLog(":memory:") as one, ReviewLog(":memory:") as two, ReviewLog(":memory:") as third:
        third.record(review(1))
        third.record(review(2))
        copied(one, third, next(minutes))
        one.go_back(one.imports()[0], next(minutes))
        kept = one.record(review(3, minute=12))
        copied(two, one, next(minutes))
        [joined] = two.imports()
        assert not joined.set_aside
        assert [each.id for each in two.reviews()] == [kept.id]
        for _ in range(2):
            two.go_back(joined, next(minutes))
            assert two.imports()[0].set_aside
            assert list(two.reviews()) == []
            two.bring_back(joined, next(minutes))
            assert not two.imports()[0].set_aside
            assert [each.id for each in two.reviews()] == [kept.id]
        copied(one, two, next(minutes))
        assert one.state() == two.state()
        one.bring_back(one.imports()[0], next(minutes))
        assert [each.id for each in one.reviews()] == ["e1", "e2", kept.id]


def test_an_import_brought_back_brings_nothing_else():
    """Another machine went back on more than came here in one import: the rest stays left out."""
    minutes = iter(NOW + timedelta(minutes=10 + number) for number in range(20))
    with ReviewLog(":memory:") as one, ReviewLog(":memory:") as two, ReviewLog(":memory:") as third:
        third.record(review(1))
        copied(two, third, next(minutes))
        third.record(review(2))
        copied(two, third, next(minutes))
        copied(one, third, next(minutes))
        one.go_back(one.imports()[0], next(minutes))
        copied(two, one, next(minutes))
        assert [each.set_aside for each in two.imports()] == [True, True, False]
        two.bring_back(two.imports()[0], next(minutes))
        # The third import is the going back itself, which no longer counts.
        assert [each.set_aside for each in two.imports()] == [False, True, True]
        assert [each.id for each in two.reviews()] == ["e1"]
        two.bring_back(two.imports()[1], next(minutes))
        assert [each.set_aside for each in two.imports()] == [False, False, True]
        assert [each.id for each in two.reviews()] == ["e1", "e2"]


def test_what_may_be_saved_beside_a_log_does_not_outlive_a_set_aside():
    """A state that stands for events before it is not gone on from."""
    with ReviewLog(":memory:") as log:
        log.record(review(1))
        event = log.record(review(2))
        print_of = log.fingerprint()
        order = log.last_review(print_of.last_seq)
        assert log.continues(log.id, print_of.last_seq, print_of.last_id, order)
        log.append(SetAside((event.id,)), NOW)
        assert not log.continues(log.id, print_of.last_seq, print_of.last_id, order)


def test_a_kind_of_a_newer_version_is_kept_and_handed_on(tmp_path):
    """In and out of JSON and of a log it comes as it was, whatever fields it has."""
    said = {
        "kind": "dream", "id": "d1", "log": "new", "stamp": "2026-03-02T18:00:00.000000Z",
        "at": "2026-03-02T18:00:00.000000+00:00", "of": ["sheep", {"count": 3.5}], "card": None, "target": "ü",
    }  # fmt: skip
    text = json.dumps({"format": "review-log", "version": 1, "events": [said]})
    with ReviewLog(tmp_path / "log.sqlite3") as log:
        assert log.foresee(read_events(text.encode(), "new", log.id)).unknown_kinds == 1
        log.add(read_events(text.encode(), "new", log.id))
        log.record(review(1))
        out = io.StringIO()
        export_json(log, out)
        assert said in json.loads(out.getvalue())["events"]
        assert len(answers(log).reviews) == 1


@pytest.mark.parametrize("what", ["id", "content", "target"])
def test_a_forged_variant_is_refused(what):
    """Its id is made from its content, and its content is of the id it names."""
    variant = variant_of(event_of(review(1), "e1", 1))
    row = {"kind": "variant", "id": variant.id, "log": "one", "stamp": "2026-03-02T18:01:00Z",
           "at": "2026-03-02T18:01:00+00:00", "target": "e1", "content": variant.body.content}  # fmt: skip
    text = json.dumps({"format": "review-log", "version": 1, "events": [row]})
    with ReviewLog(":memory:") as log:
        assert log.add(read_events(text.encode(), "x", log.id)).new == 1
    row[what] = "e2" if what != "content" else row["content"].replace('"grade":3', '"grade":4')
    text = json.dumps({"format": "review-log", "version": 1, "events": [row]})
    with ReviewLog(":memory:") as log, pytest.raises(ReviewError, match="variant"):
        log.add(read_events(text.encode(), "x", log.id))
    assert content_id(content_text(event_of(review(1), "e1", 1))) == variant.id
