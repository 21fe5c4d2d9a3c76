"""What a log answers, each way of asking against plain loops over its events: whole logs, set-asides and contents."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from random import Random

import pytest

from scheduler.errors import LogError, ReviewError
from scheduler.grade import Grade
from scheduler.log.contents import content_id, content_text, united, variant_of
from scheduler.log.events import (
    AHEAD_LIMIT,
    KINDS,
    LATEST_STAMP_US,
    STAMP_STEP_US,
    Event,
    Flag,
    Later,
    Lock,
    Meet,
    Rest,
    SetAside,
    Slip,
    Ticket,
    Undo,
    Variant,
    Wake,
    as_us,
    check,
    from_us,
)  # fmt: skip
from scheduler.log.fold import fold_counted
from scheduler.log.review_log import Fingerprint, Foreseen, ReviewLog
from scheduler.log.rows import review_from_row
from scheduler.review import Review

NOW = datetime(2026, 3, 2, 18, tzinfo=timezone(timedelta(hours=1)))
KIND_OF_LOG = ("plain", "set aside", "variants", "both")


def review(event_id: str, minute: float, **fields) -> Review:
    """A review at so many minutes past six."""
    given = {"card": f"card {minute % 3:.0f}", "grade": Grade.CLEAN, "seconds": 3.0, **fields}
    return Review(at=NOW + timedelta(minutes=minute), id=event_id, **given)


def event(body, event_id: str, minute: float, log: str = "one", lag_us: int = 0) -> Event:
    """An event at so many minutes past six, stamped so much later."""
    at = NOW + timedelta(minutes=minute)
    return Event(event_id, log, as_us(at) + lag_us, at, body)


def some_events(random: Random, kind: str) -> list[Event]:
    """Events under few ids; other contents and set-asides as the kind of log says."""
    ids = [f"e{number}" for number in range(8)]
    found = []
    for number in range(random.randrange(3, 14)):
        event_id = random.choice(ids) if kind in ("variants", "both") else f"e{number}"
        target, minute = random.choice(ids), random.randrange(9)
        bodies = [
            review(event_id, minute, grade=random.choice(list(Grade)), slip=random.choice((None, "root"))),
            review(event_id, minute, attempt="repeat", skills=("a", "ü b"), spent=9.0, predicted=0.5, tempo_bpm=80.0),
            review(event_id, minute, session="s"),
            random.choice([Undo(target), Slip(target, random.choice((None, "form", "root"))), Rest("c"), Wake("c")]),
            random.choice([Flag("c", "why"), Lock("l", random.choice((None, target))), Ticket("t", "5"), Meet("c")]),
        ]
        if kind in ("set aside", "both"):
            bodies.append(SetAside((target,)))
            bodies.append(SetAside((target, random.choice(ids))))
        body = random.choice(bodies)
        found.append(event(body, event_id, minute, log=random.choice(("one", "two")), lag_us=random.choice((0, 7))))
    return found


def told(log: ReviewLog) -> tuple[dict[str, int], list[tuple[int, int, Event, Review]]]:
    """The number of every event by its id, and (number, stamp, event, review in effect) in the order of the log."""
    numbers = {one.id: number for number, one in log.since(0)}
    counted = united(one for _, one in log.since(0))
    by_id = {one.id: one for one in counted}
    rows = []
    for one in fold_counted(counted).reviews:
        rows.append((numbers[one.id], by_id[one.id].stamp_us, by_id[one.id], one))
    return numbers, rows


@pytest.mark.parametrize("kind", KIND_OF_LOG)
@pytest.mark.parametrize("part", range(5))
def test_every_way_of_asking_answers_as_the_events_say(part, kind):
    """Reviews, rows, digests, the latest, what stands, and each of them within bounds."""
    random = Random(f"answers {part} {kind}")
    for _ in range(8):
        with ReviewLog(":memory:") as log:
            log.add(some_events(random, kind))
            numbers, rows = told(log)
            last = len(numbers)
            assert sorted(numbers.values()) == list(range(1, last + 1))
            assert list(log.reviews()) == [row[3] for row in rows] == list(log.state().reviews)
            assert log.latest() == (rows[-1][3] if rows else None)
            lags = [(review_from_row(row[:-1]), row[-1]) for row in log.review_rows()]
            assert lags == [(one, stamp - as_us(one.at)) for _, stamp, _, one in rows]
            for after in range(last + 1):
                for until in (0, after, after + 1, last // 2, last, last + 1):
                    wanted = [(stamp, one) for number, stamp, _, one in rows if after < number <= until]
                    assert list(log.reviews_after(after, until)) == wanted, (after, until)
            for minute, end in ((0, 9), (2, 5), (4, 4), (5, 2)):
                since, until = NOW + timedelta(minutes=minute), NOW + timedelta(minutes=end)
                for after, up_to in ((0, 2**62), (last // 2, last), (0, last // 2), (1, 2)):
                    wanted = [
                        digest(one) for number, _, _, one in rows if since <= one.at < until and after < number <= up_to
                    ]
                    assert list(log.digest_rows(since, until, after, up_to)) == wanted
                    numbered = [digest(one) for number, _, _, one in rows if after < number <= up_to]
                    assert list(log.digest_rows(after=after, up_to=up_to)) == numbered
            assert list(log.digest_rows()) == [digest(row[3]) for row in rows]
            for number in range(last + 2):
                stamps = [
                    (one.stamp_us, one.id) for place, one in log.since(0) if place <= number and one.kind == "review"
                ]
                if kind in ("plain", "set aside"):
                    assert log.last_review(number) == max(stamps, default=(0, ""))
                else:
                    effective = [(stamp, one.id) for place, stamp, _, one in rows if place <= number]
                    several = any(one.kind == "variant" for _, one in log.since(0))
                    assert log.last_review(number) == max(effective if several else stamps, default=(0, ""))
                assert [place for place, _ in log.since(number)] == list(range(number + 1, last + 1))
            for minute in range(10):
                until = NOW + timedelta(minutes=minute)
                counted = united(one for _, one in log.since(0))
                if any(one.kind == "variant" for _, one in log.since(0)):
                    counted = [one for one in counted if one.at < until]
                    wanted = fold_counted(one for one in counted if one.kind not in ("review", "slip"))
                    assert log.standing(until) == wanted
            state, standing = log.state(), log.standing()
            assert (standing.rested, standing.flags, standing.locks, standing.tickets, standing.meets) == (
                state.rested, state.flags, state.locks, state.tickets, state.meets,
            )  # fmt: skip
            assert standing.reviews == ()
            newest = next(one.id for number, one in log.since(last - 1))
            assert log.fingerprint() == Fingerprint(log.id, last, newest)
            for minute in range(10):
                limit = NOW + timedelta(minutes=minute)
                assert log.stamped_after(limit) == sum(one.stamp_us > as_us(limit) for one in log.events())
            assert all(log.holds(event_id) for event_id in numbers) and not log.holds("nothing")


def digest(one: Review) -> tuple:
    """A review as it is added up."""
    skills = "[" + ",".join(f'"{skill}"' for skill in one.skills) + "]"
    return (
        one.card, as_us(one.at), 3600, int(one.grade), one.attempt, one.seconds, one.spent, one.predicted, one.slip,
        skills,
    )  # fmt: skip


@pytest.mark.parametrize("kind", KIND_OF_LOG)
@pytest.mark.parametrize("part", range(4))
def test_what_taking_in_would_do_is_foreseen(part, kind):
    """All of it is what taking in does, and nothing is done."""
    random = Random(f"foreseen {part} {kind}")
    for _ in range(8):
        with ReviewLog(":memory:") as log:
            log.add(some_events(random, "plain"))
            coming = some_events(random, kind)
            if random.random() < 0.5:
                coming.append(event(Later("dream", "{}"), "later", 3))
            held = {one.id: one for one in log.events()}
            before, counted = list(log.since(0)), {one.id for one in united(log.events())}
            foreseen = log.foresee(coming)
            assert list(log.since(0)) == before
            added = log.add(coming)
            new = [one for number, one in log.since(len(before))]
            assert (foreseen.new, foreseen.known) == (added.new, added.known) == (len(new), added.known)
            assert foreseen.differing == sum(one.kind == "variant" for one in new)
            assert foreseen.unknown_kinds == sum(one.kind not in KINDS for one in new)
            logs = [one.log for one in new]
            assert foreseen.logs == tuple(sorted(set(logs), key=lambda name: (-logs.count(name), name)))
            clocks = [one.at for one in new]
            assert foreseen.first == min(clocks, default=None) and foreseen.last == max(clocks, default=None)
            undone = {
                one.body.target
                for one in new
                if isinstance(one.body, Undo) and held.get(one.body.target, one).kind in ("review", "flag", "meet")
            } - {one.body.target for one in held.values() if isinstance(one.body, Undo)}
            aside = {target for one in new if isinstance(one.body, SetAside) for target in one.body.targets}
            assert foreseen.taken_back == len((undone | aside) & set(held)), (undone, aside)
            assert counted


def test_nothing_new_is_foreseen_as_nothing():
    """No log, no first and no last day."""
    with ReviewLog(":memory:") as log:
        log.record(review("e", 0))
        known = list(log.events())
        assert log.foresee(known) == Foreseen(0, 1, 0, 0, 0, (), None, None)
        assert log.foresee([]) == Foreseen(0, 0, 0, 0, 0, (), None, None)


def test_contents_of_one_id_are_kept_where_they_count_as_such():
    """Of a table only ids count; the log a review was written to, and a slip named since, make no other content."""
    one = event(review("e", 0), "e", 0)
    other = event(review("e", 0, grade=Grade.LOOKED), "e", 0)
    with ReviewLog(":memory:") as log:
        assert log.add([one])[:] == (1, 0) and log.add([other], contents=False)[:] == (0, 1)
        assert log.foresee([other], contents=False).differing == 0 and log.foresee([other]).differing == 1
        assert log.add([event(one.body, "e", 0, log="two")])[:] == (0, 1)
        log.slip("e", "root", NOW)
        assert log.add([event(review("e", 0, slip="root"), "e", 0)])[:] == (0, 1)
        assert log.add([event(review("e", 0, slip="form"), "e", 0)])[:] == (1, 1)
        assert log.add([event(Rest("c"), "r", 0), event(Rest("c"), "r", 0, log="two")])[:] == (2, 1)
        assert log.add([event(Rest("c"), "r", 0), event(Rest("c"), "r", 0, log="two")])[:] == (0, 2)


def test_more_events_than_are_taken_at_once_are_all_taken():
    """Around five hundred, and a thousand, with one known among them."""
    for count in (499, 500, 501, 1000, 1001):
        with ReviewLog(":memory:") as log:
            coming = [event(Rest("c"), f"r{number}", number / 100) for number in range(count)]
            assert log.add(coming)[:] == (count, 0)
            assert log.add([*coming, event(Wake("c"), "w", 0)])[:] == (1, count)


def test_what_came_from_a_file_is_remembered_taken_back_and_brought_back(tmp_path):
    """First and last number, source and time; only what was new; nothing of it without a source or a time."""
    first = [event(review(f"a{number}", number), f"a{number}", number) for number in range(3)]
    second = [event(review(f"b{number}", number), f"b{number}", number) for number in range(2)]
    with ReviewLog(tmp_path / "log.sqlite3") as log:
        log.record(review("own", 0))
        assert log.imports() == []
        log.add([event(Rest("c"), "r", 0)], source="nobody says when")
        log.add([event(Wake("c"), "w", 0)], at=NOW)
        log.add(first, source="one.json", at=NOW)
        log.add(first, source="again.json", at=NOW)
        log.add([*first, *second], source="two.json", at=NOW + timedelta(days=1))
        one, two = log.imports()
        assert one[:] == (4, 6, "one.json", NOW, False)
        assert two[:] == (7, 8, "two.json", NOW + timedelta(days=1), False)
        gone = log.go_back(one, NOW)
        assert gone.body == SetAside(("a0", "a1", "a2"))
        assert [each.set_aside for each in log.imports()] == [True, False]
        assert {each.id for each in log.reviews()} == {"own", "b0", "b1"}
        also = log.go_back(two, NOW)
        back = log.bring_back(one, NOW)
        assert back.body == SetAside((gone.id,)) and also.id != gone.id
        assert [each.set_aside for each in log.imports()] == [False, True]
        assert {each.id for each in log.reviews()} == {"own", "a0", "a1", "a2"}


@pytest.mark.parametrize("place", range(3))
def test_a_state_goes_on_only_from_where_it_stands(place):
    """Of this log, up to that event, where since then nothing joined earlier, was taken back, named or set aside."""

    def log_of_three() -> tuple[ReviewLog, Event]:
        log = ReviewLog(":memory:")
        made = [log.record(review(f"e{number}", number)) for number in range(3)]
        return log, made[place]

    log, at = log_of_three()
    seq, order = place + 1, (at.stamp_us, at.id)
    assert log.continues(log.id, seq, at.id, order)
    assert not log.continues("other", seq, at.id, order)
    assert not log.continues(log.id, seq, "other", order) and not log.continues(log.id, 9, at.id, order)
    for disturbing, since in (
        (Undo("e0"), True), (Slip("e0", "root"), True), (Undo(f"e{place}"), True), (Slip("e2", "root"), place == 2),
        (Undo("e2"), place == 2), (Rest("c"), False), (Undo("nothing"), False), (SetAside(("x",)), True),
        (Flag("c"), False),
    ):  # fmt: skip
        log, at = log_of_three()
        log.append(disturbing, NOW + timedelta(hours=1))
        assert log.continues(log.id, seq, at.id, order) == (not since), disturbing
    for minute, fits in ((place - 0.5, False), (place + 0.5, True)):
        log, at = log_of_three()
        log.add([event(review("late", minute), "late", minute)])
        assert log.continues(log.id, seq, at.id, order) == fits
    for event_id, fits in (("d", False), ("f", True)):
        log, at = log_of_three()
        log.add([event(review(event_id, place), event_id, place)])
        assert log.continues(log.id, seq, at.id, order) == fits


def test_stamps_go_on_by_a_millisecond_where_the_clock_does_not():
    """Before and after the latest stamp; the clock is kept as it was."""
    with ReviewLog(":memory:") as log:
        first = log.rest("c", NOW)
        assert (first.stamp_us, first.at) == (as_us(NOW), NOW)
        for shift, wanted in ((0, STAMP_STEP_US), (-60, 2 * STAMP_STEP_US), (0.001, 3 * STAMP_STEP_US)):
            one = log.wake("c", NOW + timedelta(seconds=shift))
            assert (one.stamp_us - first.stamp_us, one.at) == (wanted, NOW + timedelta(seconds=shift))
        assert log.rest("c", NOW + timedelta(seconds=1)).stamp_us == as_us(NOW) + 1_000_000


def test_a_log_whose_stamps_stand_at_the_end_writes_no_more():
    """At the latest stamp a log is read; the event after it is refused, and the message names the time."""
    at = from_us(LATEST_STAMP_US)
    with ReviewLog(":memory:") as log:
        log.add([Event("r", "one", LATEST_STAMP_US - STAMP_STEP_US, at, Rest("c"))])
        assert log.wake("c", NOW).stamp_us == LATEST_STAMP_US
        with pytest.raises(LogError, match=r"its latest stamp stands at 9000-01-01T00:00:00\.000000Z, the end"):
            log.rest("c", NOW)
        assert log.fingerprint().last_seq == 2


@pytest.mark.parametrize("ahead", [0, 1])
def test_stamps_are_brought_back_from_past_the_limit_and_no_others(ahead):
    """48 hours ahead is right, a microsecond more is not; brought back it has its clock's time or follows the last."""
    limit = as_us(NOW + AHEAD_LIMIT)
    stamp = limit + ahead
    with ReviewLog(":memory:") as log:
        log.add([event(Rest("c"), "a", 0), Event("b", "one", stamp, NOW + timedelta(minutes=1), Wake("c"))])
        before = log.id
        assert log.mend_stamps(NOW) == ahead
        assert [one.stamp_us for one in log.events()] == [as_us(NOW), as_us(NOW) + 60_000_000 if ahead else stamp]
        assert (log.id != before) == bool(ahead)


def test_stamps_that_are_brought_back_keep_their_order():
    """A clock that shows an earlier time than the one before is passed by a millisecond; one far ahead is not kept."""
    far = as_us(NOW + timedelta(days=30))
    with ReviewLog(":memory:") as log:
        log.add([
            event(Rest("c"), "a", 10), Event("b", "one", far, NOW + timedelta(minutes=5), Wake("c")),
            Event("c", "one", far + 1, NOW + timedelta(minutes=20), Rest("c")),
            Event("d", "one", far + 2, NOW + timedelta(days=40), Wake("c")),
            Event("e", "one", far + 3, NOW + timedelta(minutes=20, milliseconds=2), Wake("c")),
        ])  # fmt: skip
        assert log.mend_stamps(NOW) == 4
        first, twenty = as_us(NOW) + 600_000_000, as_us(NOW) + 1_200_000_000
        assert [(one.id, one.stamp_us) for one in log.events()] == [
            ("a", first), ("b", first + 1_000), ("c", twenty), ("d", twenty + 1_000), ("e", twenty + 2_000),
        ]  # fmt: skip
        assert log.faults() == []
    with ReviewLog(":memory:") as log:
        log.add([Event("a", "one", far, NOW + timedelta(days=40), Rest("c"))])
        assert log.mend_stamps(NOW) == 1 and [one.stamp_us for one in log.events()] == [as_us(NOW)]


@pytest.mark.parametrize(
    ("body", "fits"),
    [
        (Rest("x" * 1_000), True), (Rest("x" * 1_001), False), (Rest(""), False), (Rest("a\nb"), False),
        (Flag("c", "x" * 10_000), True), (Flag("c", "x" * 10_001), False), (Flag("c", ""), True),
        (Flag("c", "\0"), False),
        (Flag("c", "\ud800"), False), (Lock("l", None), True), (Lock("l", "x" * 10_001), False), 
        (Ticket("", "x"), False),
        (Meet("c", ("s",) * 1_000), True), (Meet("c", ("s",) * 1_001), False), (Meet("c", ["s"]), False),
        (Meet("c", ("",)), False), (Slip("t", None), True), (Slip("t", ""), False), (Slip("t", "x" * 1_001), False),
        (SetAside(("t",)), True), (SetAside(["t"]), False), (SetAside(("",)), False), (Undo(""), False),
        (Later("", "{}"), False), (Later("dream", "x" * 10_001), True), (Variant("t", "x" * 10_001), True),
        (Variant("", "x"), False), (Later("dream", "x" * 5_000_000), True), (Later("dream", "x" * 5_000_001), False),
    ],
)  # fmt: skip
def test_names_and_texts_are_fit_for_a_log_up_to_their_limits(body, fits):
    """At the limit one is written, one past it refused."""
    one = event(body, "e", 0)
    if fits:
        assert check(one) is one
    else:
        with pytest.raises(ReviewError, match=f"^{body.kind} event 'e'"):
            check(one)


@pytest.mark.parametrize(
    ("year", "past", "fits"), [(1900, 0, True), (1900, -1, False), (9000, 0, True), (9000, 1, False)]
)
def test_times_lie_between_two_years(year, past, fits):
    """To the microsecond, by the clock and by the stamp."""
    edge = as_us(datetime(year, 1, 1, tzinfo=UTC)) + past
    for one in (Event("e", "l", edge, NOW, Rest("c")), Event("e", "l", as_us(NOW), from_us(edge), Rest("c"))):
        if fits:
            assert check(one) is one
        else:
            with pytest.raises(ReviewError, match="expected a time between the years 1900 and 9000"):
                check(one)


def test_of_several_contents_the_earliest_counts_then_the_text_that_sorts_first():
    """In whatever order they come; what a set-aside names does not; a later set-aside takes it back."""
    early, late = event(review("e", 1), "e", 1), event(review("e", 2), "e", 2)
    tie = event(review("e", 1, grade=Grade.LOOKED), "e", 1)
    first = min((early, tie), key=content_text)
    for order in ([early, late, tie], [tie, late, early], [late, tie, early]):
        assert united(order) == [first]
        assert first in united([*order, variant_of(order[0])])
    aside = event(SetAside((content_id(content_text(first)),)), "s", 3)
    rest = early if first is tie else tie
    assert [one for one in united([early, late, tie, aside]) if one.id == "e"] == [rest]
    back = event(SetAside(("s",)), "t", 4)
    assert [one for one in united([early, late, tie, aside, back]) if one.id == "e"] == [first]
    both = event(SetAside(("e",)), "u", 5)
    assert [one.id for one in united([early, both])] == ["u"]
    same_time = [event(SetAside(("y",)), "x", 3), event(SetAside(("x",)), "y", 3), event(Rest("c"), "z", 1)]
    assert [one.id for one in united(same_time)] == ["z", "y"]


def test_of_two_set_asides_with_one_id_and_one_stamp_the_greater_content_id_is_looked_at_first():
    """It leaves the other out where it names it, so that what counts is the same whichever came first."""
    seen = set()
    for number in range(12):
        named = event(SetAside(("r",)), "s", 3)
        naming = event(SetAside((content_id(content_text(named)), f"nothing {number}")), "s", 3)
        greater = content_id(content_text(naming)) > content_id(content_text(named))
        other = event(Rest("c"), "r", 1)
        for order in ([other, named, naming], [naming, other, named]):
            assert ("r" in [one.id for one in united(order)]) == greater
        seen.add(greater)
    assert seen == {False, True}
