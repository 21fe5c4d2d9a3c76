"""Counts, their intervals, and predicted against actual, checked against references and plain recounts."""

from __future__ import annotations

import math
import statistics
from collections import defaultdict
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy.stats import hypergeom
from statsmodels.stats.proportion import proportion_confint

from scheduler.days.practice_day import practice_day
from scheduler.grade import Grade
from scheduler.log.events import Event, as_us
from scheduler.log.review_log import ReviewLog
from scheduler.memory.baseline import baseline_recalls
from scheduler.review import SECONDS_CAP, Review
from scheduler.statistics.calibration import calibrate, calibration
from scheduler.statistics.counts import Count, sample_range, wilson
from scheduler.statistics.digest import digest
from scheduler.statistics.first_tries import asks, first_tries
from scheduler.statistics.log_digest import digest_of_log
from scheduler.statistics.review_counts import clean_after_gap, count_by
from tests.scheduler.plain_counts import (
    count_by_skill,
    covered,
    days_played,
    first_tries_plainly,
    median_seconds,
    slips_by,
)
from tests.strategies import LOG_START, reviews

AT = datetime(2024, 3, 4, 18, 0, tzinfo=UTC)
TODAY = date(2024, 3, 4)


def played(days: float, grade: Grade = Grade.CLEAN, card: str = "c", **fields) -> Review:
    """A review so many days after the first Monday of March, in the evening."""
    return Review(card, grade, AT + timedelta(days=days), fields.pop("seconds", 4.0), **fields)


# ---- intervals


@pytest.mark.parametrize(
    ("clean", "tries", "low", "high"), [(3, 4, 30, 95), (17, 20, 64, 95), (85, 100, 77, 91)]
)  # fmt: skip
def test_the_intervals_of_three_counts(clean, tries, low, high):
    """drills/RULES.md, F4: the 95 % Wilson intervals of three counts, in whole per cent."""
    assert [round(100 * bound) for bound in wilson(clean, tries)] == [low, high]


@given(st.integers(1, 500).flatmap(lambda tries: st.tuples(st.integers(0, tries), st.just(tries))))
def test_wilson_agrees_with_statsmodels(pair):
    """Wilson's (1927) interval is what statsmodels' proportion_confint gives, and holds the rate."""
    clean, tries = pair
    low, high = wilson(clean, tries)
    want = proportion_confint(clean, tries, alpha=0.05, method="wilson")
    assert (low, high) == pytest.approx(want, abs=1e-12)
    assert 0 <= low <= clean / tries <= high <= 1


@pytest.mark.parametrize(("clean", "tries"), [(1, 0), (0, 0), (-1, 4), (5, 4)])
def test_an_impossible_count_has_no_interval(clean, tries):
    """More clean than tries, or no tries, is refused with what came."""
    with pytest.raises(ValueError, match=f"got {clean} of {tries}"):
        wilson(clean, tries)
    with pytest.raises(ValueError, match=f"got {clean} of {tries} of 144"):
        sample_range(clean, tries, 144)


def test_a_count_under_five_tries_gives_no_interval():
    """3 of 4 says so little that no interval is given; 3 of 5 has one."""
    assert Count(3, 4).interval is None
    assert Count(3, 5).interval == wilson(3, 5)
    assert str(Count(31, 42)) == "31 of 42"
    assert Count(1, 2) + Count(3, 4) == Count(4, 6)


def test_the_sample_of_twenty():
    """17 clean of 20 drawn from 144 is somewhere between 92 and 136, the Wilson interval times the deck."""
    assert sample_range(17, 20, 144) == (92, 136)


@given(st.integers(1, 200).flatmap(lambda whole: st.tuples(st.integers(1, whole), st.just(whole))), st.data())
def test_the_sample_never_contradicts_what_was_seen(sizes, data):
    """At least the clean cards seen are clean, at most all but the misses seen, and a full draw is exact."""
    tries, whole = sizes
    clean = data.draw(st.integers(0, tries))
    low, high = sample_range(clean, tries, whole)
    assert clean <= low <= high <= whole - (tries - clean)
    assert sample_range(clean, whole, whole) == (clean, clean)


@pytest.mark.parametrize(("tries", "whole"), [(20, 144), (20, 60), (35, 144)])
def test_the_sample_holds_the_truth_often_enough(tries, whole):
    """Over every possible truth the interval of a draw without replacement holds it in .95 of draws on average
    and in .93 at worst, by the exact hypergeometric distribution (scipy)."""
    ranges = [sample_range(clean, tries, whole) for clean in range(tries + 1)]
    held = [
        sum(
            hypergeom.pmf(clean, whole, truth, tries)
            for clean, (low, high) in enumerate(ranges)
            if low <= truth <= high
        )
        for truth in range(whole + 1)
    ]
    assert statistics.mean(held) >= 0.95
    assert min(held) >= 0.93


# ---- counts


def test_repeats_are_never_counted():
    """A repeat after a miss changes no count, time, slip or coverage, but its day is a day played."""
    first = [played(0, Grade.LOOKED, slip="root"), played(1)]
    repeat = played(2, attempt="repeat", slip="shape", seconds=1.0)
    for history in (first, [*first, repeat]):
        assert count_by(history, lambda one: one.card) == {"c": Count(1, 2)}
        assert median_seconds(history, lambda one: "name") == {"name": 4.0}
        assert slips_by(history, lambda one: one.card) == {"c": {"root": 1}}
        assert covered(history, TODAY + timedelta(days=2), lambda one: one.card) == {"c"}
    assert days_played([*first, repeat], TODAY + timedelta(days=2)) == 3


def test_a_gap_is_counted_in_practice_days():
    """A card played again a week later, an hour earlier in the day, has been away seven days."""
    history = [played(0), played(7 - 1 / 24, Grade.LOOKED), played(28), played(28.01)]
    assert clean_after_gap(asks(history), 7) == Count(1, 2)
    assert clean_after_gap(asks(history), 21) == Count(1, 1)
    assert clean_after_gap(asks([played(0)]), 7) == Count()
    repeat = [played(0), played(6, attempt="repeat"), played(8)]
    assert clean_after_gap(asks(repeat), 7) == Count()


def test_coverage_is_of_the_last_thirty_days():
    """A clean first try counts for thirty practice days, today the last of them."""
    history = [played(0, card="a"), played(0, Grade.FOUND, card="b")]
    for day, want in ((0, {"a"}), (29, {"a"}), (30, set())):
        assert covered(history, TODAY + timedelta(days=day), lambda one: one.card) == want


def test_days_of_the_last_fourteen():
    """Days are counted once however much was played, late nights for the day before, older days not at all."""
    history = [played(0), played(0.1), played(0.3), played(5), played(-13), played(-14), played(6)]
    assert days_played(history, TODAY) == 2
    assert days_played(history, TODAY + timedelta(days=6)) == 3


def test_a_time_is_capped_at_a_minute():
    """A player who left the room for coffee counts as sixty seconds."""
    history = [played(0, seconds=900.0), played(1, seconds=4.0), played(2, Grade.FOUND, seconds=1.0)]
    assert median_seconds(history, lambda one: "name") == {"name": 32.0}


# ---- predicted against actual


def test_predicted_against_actual_by_hand():
    """Two predictions worked out on paper: log loss in nats, Brier's (1950) squares, bins and their distance."""
    trust = calibrate([(0.8, True, 0.9), (0.4, False, 0.7)])
    assert trust.tries == 2
    assert trust.predicted == pytest.approx(0.6)
    assert trust.actual == 0.5
    assert trust.log_loss == pytest.approx(-(math.log(0.8) + math.log(0.6)) / 2)
    assert trust.plain_loss == pytest.approx(-(math.log(0.9) + math.log(0.3)) / 2)
    assert trust.base_loss == pytest.approx(-(math.log(1 / 2) + math.log(1 / 3)) / 2)
    assert trust.brier == pytest.approx((0.04 + 0.16) / 2)
    assert trust.base_brier == pytest.approx((1 / 4 + 4 / 9) / 2)
    assert trust.bins == ((0.4, Count(0, 1)), (0.8, Count(1, 1)))
    assert trust.error == pytest.approx((0.2 + 0.4) / 2)
    assert trust.helps and trust.beats_simplest


def test_predictions_that_say_nothing_do_not_help():
    """Saying the opposite of what happens is worse than the running average, and says so."""
    assert not calibrate([(0.1, True, 0.5), (0.9, False, 0.5)] * 20).helps
    assert calibrate([(0.9, True, 0.5), (0.1, False, 0.5)] * 20).helps


def test_a_committee_that_does_no_better_than_its_simplest_member_shows():
    """The same predictions are no better; where every card is by itself, a half-life a card is as good as any."""
    assert not calibrate([(0.7, True, 0.7), (0.4, False, 0.4)]).beats_simplest
    assert not calibrate([(0.6, True, 0.9)] * 5).beats_simplest
    assert calibrate([(0.9, True, 0.6)] * 5).beats_simplest


def test_the_simplest_memory_by_hand():
    """By hand: a card first met has .1, a half-life of 1.2 days later .5; a clean try then grows it 1 + 1.6 * .5^.8
    times, a miss halves it; a repeat changes nothing but begins a card never met."""
    grown = 1.2 * (1 + 1.6 * 0.5**0.8)
    history = [played(0), played(1.2), played(1.2 + grown), played(1.2 + grown, Grade.LOOKED)]
    assert baseline_recalls(history) == pytest.approx([0.1, 0.5, 0.5, 1.0])
    missed = [played(0, attempt="repeat"), played(1.2, Grade.FOUND), played(1.5, attempt="repeat"), played(1.8)]
    assert baseline_recalls(missed) == pytest.approx([0.1, 0.5, 2 ** (-0.3 / 0.6), 0.5])
    assert baseline_recalls([played(0), played(0.6, card="other"), played(1.2)]) == pytest.approx([0.1, 0.1, 0.5])


def test_one_sure_mistake_is_not_the_end():
    """A prediction of exactly 0 or 1 that fails costs much and not infinitely much."""
    assert calibrate([(1.0, False, 0.5), (0.0, True, 0.5)]).log_loss == pytest.approx(-math.log(1e-6))


def test_only_first_tries_with_a_prediction_are_judged():
    """Repeats and reviews without a stored prediction tell nothing about the predictions."""
    history = [played(0, predicted=0.7), played(1), played(2, predicted=0.2, attempt="repeat")]
    assert calibration(history) == calibrate([(0.7, True, 0.1)])
    assert calibration(history[1:]) is None


# ---- the digest


def at_day(one: Review, day: int, minute: int) -> Review:
    """The same review on another day, in its own zone."""
    return replace(one, at=(AT + timedelta(days=day, minutes=minute)).astimezone(one.at.tzinfo))


@given(
    st.lists(
        st.builds(at_day, reviews(cards=st.sampled_from("abcd")), st.integers(-40, 40), st.integers(-800, 800)),
        max_size=40,
    ),
    st.sampled_from((0.0, 4.0, 5.5)),
)
def test_the_digest_agrees_with_the_plain_functions(history, hour):
    """The one quick pass gives what each plain function gives from the same reviews, in any order of clocks."""
    whole = digest(history, hour)

    def key(card: str) -> str | None:
        return None if card == "d" else card

    def of_review(one: Review) -> str | None:
        return key(one.card)

    assert whole.count_by(key) == count_by(history, of_review, hour)
    tries = first_tries_plainly(history, hour)
    assert list(first_tries(history, hour)) == tries
    assert whole.total == Count(sum(one.grade.clean for one, _ in tries), len(tries))
    asked = [one for one in history if one.attempt == "first"]
    assert whole.total + whole.again + whole.new == Count(sum(one.grade.clean for one in asked), len(asked))
    for gap in (7, 21):
        assert sum((tally.after[gap] for tally in whole.cards.values()), Count()) == clean_after_gap(
            asks(history, hour), gap
        )
    for days in (1, 14):
        assert whole.played(TODAY, days) == days_played(history, TODAY, days, hour)
    assert whole.covered(TODAY, key) == covered(history, TODAY, of_review, 30, hour)
    assert {group: middle for group, (middle, _) in whole.seconds_by(key).items()} == median_seconds(
        history, of_review, hour
    )
    assert {c: t.slips for c, t in whole.cards.items() if t.slips} == slips_by(history, lambda one: one.card)
    assert whole.trust == calibration(history)
    latest = {one.card: one.skills for one in history}
    alike = [replace(one, skills=latest[one.card]) for one in history]
    assert whole.count_by_skill() == count_by_skill(alike, hour)
    assert whole.between(date(2024, 1, 1), date(2025, 1, 1)) == whole.total
    for tallies in (whole.days(), whole.weeks()):
        assert sum((one.count for one in tallies), Count()) == whole.total
        assert sum(one.met for one in tallies) == len(whole.cards)
        assert sum(one.days for one in tallies) == len(whole.days())
    assert all(week.day.weekday() == 0 for week in whole.weeks())
    later = [count for gap, count in whole.gaps.items() if gap >= 7]
    assert sum(later, Count()) == clean_after_gap(asks(history, hour), 7)
    # A card's first try has no gap before it, unless a repeat came first.
    seen: set[str] = set()
    known = [one for one in history if (one.card in seen, seen.add(one.card))[0]]
    again = [one for one, _ in tries if any(one is other for other in known)]
    assert sum(count.tries for count in whole.gaps.values()) == len(again)


def _of_b(days: float, grade: Grade) -> Review:
    return played(days, grade, "b")


@example([_of_b(7, Grade.LOOKED), _of_b(0, Grade.CLEAN)])
@given(st.lists(reviews(cards=st.sampled_from("abcd")), max_size=30))
def test_times_are_kept_apart_by_kind(history):
    """A day's and a week's median times are those of each kind's clean first tries."""
    kinds = {"a": "name", "b": "name", "c": "degree", "d": "degree"}
    tries = list(first_tries_plainly(history))  # of the whole log: a clock set back makes no new first try
    for tally in digest(history, kind=kinds.__getitem__).weeks():
        times = defaultdict(list)
        for one, _ in tries:
            if one.grade.clean and timedelta(0) <= practice_day(one.at) - tally.day < timedelta(days=7):
                times[kinds[one.card]].append(min(one.seconds, SECONDS_CAP))
        assert {kind: middle for kind, (middle, _) in tally.seconds_by_kind.items()} == {
            kind: statistics.median(values) for kind, values in times.items()
        }


@given(st.lists(reviews(), max_size=12, unique_by=lambda one: one.id), st.sampled_from((0.0, 4.0)))
def test_a_log_digests_itself(history, hour):
    """The digest read straight from the file is that of the reviews in effect, slips and undo included."""
    with ReviewLog(":memory:") as log:
        log.add(Event(one.id, "other", as_us(one.at), one.at, one) for one in history)
        for one in history[::3]:
            log.slip(one.id, "root", AT)
        for one in history[::4]:
            log.undo(one.id, AT)
        assert digest_of_log(log, hour) == digest(log.reviews(), hour)
        middle = LOG_START + timedelta(days=400)
        early, late = digest_of_log(log, hour, until=middle), digest_of_log(log, hour, since=middle)
        assert early == digest([one for one in log.reviews() if one.at < middle], hour)
        assert late == digest([one for one in log.reviews() if one.at >= middle], hour)


def test_weeks_hold_what_was_played():
    """A week's row has its Monday, days, first tries, median, minutes and the cards met in it."""
    history = [
        played(0, card="a", spent=30.0), played(0.01, Grade.LOOKED, card="b", spent=9_999.0),
        played(2, card="a", seconds=6.0), played(2.01, card="a", attempt="repeat", spent=60.0),
        played(7, Grade.FOUND, card="a"),
    ]  # fmt: skip
    first, second = digest(history).weeks()
    assert (first.day, first.days, first.count, first.seconds, first.met) == (TODAY, 2, Count(2, 3), 5.0, 2)
    assert first.minutes == pytest.approx((30 + 120 + 6 + 60) / 60)
    assert (second.count, second.seconds, second.met) == (Count(0, 1), None, 0)


def test_a_card_tells_its_own_history():
    """A card's tally has its grades, last days and times, for the sentences that name it."""
    history = [
        played(0, Grade.LOOKED, card="a", slip="root", skills=("form:old",)),
        played(3, Grade.IN_TIME, card="a", seconds=2.5, skills=("form:new",)),
        played(9, Grade.FOUND, card="a", attempt="repeat", skills=("form:new",)),
    ]
    one = digest(history).cards["a"]
    assert one.count == Count(1, 2)
    assert one.grades == {Grade.LOOKED: 1, Grade.IN_TIME: 1}
    assert (one.first_day, one.last_day, one.clean_day) == (
        TODAY, TODAY + timedelta(days=9), TODAY + timedelta(days=3)
    )  # fmt: skip
    assert (one.slips, one.seconds, one.skills) == ({"root": 1}, (2.5,), ("form:new",))


def test_a_card_missed_and_asked_again_the_same_day_is_one_first_try():
    """By hand: a miss, two clean asks later that day, a clean one next day: two first tries, one of them clean."""
    history = [played(0, Grade.LOOKED), played(0.01), played(0.02), played(1)]
    whole = digest(history)
    assert (whole.total, whole.again, whole.new) == (Count(1, 2), Count(2, 2), Count())


def test_the_day_of_a_lesson_is_new_and_no_first_try():
    """By hand: a lesson, an ask the same day, one the next: the first is new today, the second a first try."""
    history = [played(0, attempt="repeat"), played(0.01), played(1, Grade.FOUND)]
    whole = digest(history)
    assert (whole.total, whole.again, whole.new) == (Count(0, 1), Count(), Count(1, 1))
