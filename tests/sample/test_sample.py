"""The blind sample: drawn by chance from what is thought firm, and told with its range."""

from __future__ import annotations

from collections import Counter
from datetime import UTC, date, datetime, timedelta

import pytest
from click.testing import CliRunner

from drills.cards.deck import find_deck, read_deck
from drills.cards.material import gather
from drills.cli.sample import command
from drills.errors import DeckError
from drills.neck.neck import Neck
from drills.sample.draw import draw_sample
from drills.sample.estimate import SAMPLE_TICKET, SampleOutcome, last_sample, outcome, sample_lines
from scheduler.card import CardSpec
from scheduler.grade import Grade
from scheduler.log.events import Event, as_us
from scheduler.log.review_log import ReviewLog
from scheduler.planning.planner import Planner
from scheduler.planning.rules import TeachingRules
from scheduler.review import Review

NOW = datetime(2031, 5, 14, 18, tzinfo=UTC)
DAY = NOW.date()


def firm_history(cards: list[tuple[str, tuple[str, ...]]], until: datetime) -> list[Review]:
    """Clean first tries at growing gaps, the last two days ago: enough to be thought firm."""
    return [
        Review(card, Grade.CLEAN, until - timedelta(days=days, seconds=-15 * number), 4.0, skills=skills,
               id=f"{days:08x}{number:016x}")
        for days in (120, 117, 109, 94, 70, 40, 2)
        for number, (card, skills) in enumerate(cards)
    ]  # fmt: skip


def planner_of(firm: int, unmet: int = 0, rested: frozenset[str] = frozenset()) -> Planner:
    """A planner over cards without shared skills, `firm` of them played long and well."""
    names = [f"card {number:03}" for number in range(firm + unmet)]
    history = firm_history([(name, ()) for name in names[:firm]], NOW)
    return Planner([CardSpec(name) for name in names], 0, history, TeachingRules(rested=rested))


def test_only_firm_cards_are_drawn_each_once():
    """Twenty different cards, none that is unmet or set aside; all when there are fewer."""
    planner = planner_of(40, 40, frozenset({"card 000"}))
    names = [card.id for card in planner.cards]
    draw = draw_sample(planner, names, NOW, DAY, "a")
    assert draw.firm == 39
    assert len(set(draw.cards)) == 20
    assert set(draw.cards) <= set(names[1:40])
    assert set(draw_sample(planner, names[:12], NOW, DAY, "a").cards) == set(names[1:12])


def test_a_draw_is_the_same_for_a_player_and_a_day_and_no_other():
    """Stopping and coming back the same day asks the same cards in the same order, whatever the order of the deck."""
    planner = planner_of(40)
    names = [card.id for card in planner.cards]
    draw = draw_sample(planner, names, NOW, DAY, "a")
    assert draw == draw_sample(planner, reversed(names), NOW, DAY, "a")
    assert draw != draw_sample(planner, names, NOW, DAY + timedelta(days=1), "a")
    assert draw != draw_sample(planner, names, NOW, DAY, "b")


def test_every_firm_card_is_as_likely():
    """Over many days each card is drawn about equally often (chi-squared, 29 degrees of freedom, 99.99 %: 66.2)."""
    planner = planner_of(30)
    names = [card.id for card in planner.cards]
    times = Counter()
    days = 150
    for day in range(days):
        times.update(draw_sample(planner, names, NOW, DAY + timedelta(days=day), "a", 10).cards)
    expected = days * 10 / 30
    assert len(times) == 30
    assert sum((count - expected) ** 2 / expected for count in times.values()) < 66.2


def test_too_few_firm_cards_are_refused_with_what_to_do():
    """Under five there is nothing to draw from: how many there are, and when to ask again."""
    planner = planner_of(4, 20)
    names = [card.id for card in planner.cards]
    for some, said in (
        (names, "4 cards are firm, and a sample draws from 5 or more. Come back after some weeks."),
        (names[:1], "1 card is firm, and a sample draws from 5 or more. Come back after some weeks."),
        ([], "No card is firm yet. Come back after some weeks."),
    ):
        with pytest.raises(DeckError) as refused:
            draw_sample(planner, some, NOW, DAY, "a")
        assert str(refused.value) == said


def test_seventeen_of_twenty_from_144():
    """The worked example: somewhere between 92 and 136 (Wilson 1927, to the nearest card)."""
    lines = sample_lines(SampleOutcome(17, 20, 20, 144, 18.2))
    assert lines == [
        "17 clean of 20: somewhere between 92 and 136 of your 144 cards thought firm "
        "(right 19 times in 20; self-reported).",
        "The memory expected 18 of the 20.",
    ]


@pytest.mark.parametrize(
    ("found", "expected"),
    [
        (SampleOutcome(4, 4, 20, 144, None), ["4 clean of 4: under 5 cards a sample says nothing."]),
        (
            SampleOutcome(9, 12, 12, 12, None),
            ["9 clean of 12: that is all of your 12 cards thought firm (self-reported)."],
        ),
    ],
)
def test_a_sample_claims_no_more_than_it_may(found, expected):
    """Four cards say nothing; a whole deck has no range."""
    assert sample_lines(found) == expected


def test_cards_left_out_are_owned_up_to():
    """Whoever skips cards is told that the truth may lie lower."""
    assert sample_lines(SampleOutcome(9, 10, 20, 144, None))[-1].startswith("10 drawn and not graded")


def test_only_the_first_first_try_of_a_drawn_card_counts():
    """Repeats, other cards and second looks change nothing."""
    planner = planner_of(10)
    draw = draw_sample(planner, [card.id for card in planner.cards], NOW, DAY, "a", 5)
    one, two, *_ = draw.cards

    def review(card, grade, attempt="first", predicted=0.9):
        return Review(card, grade, NOW, 3.0, attempt, predicted=predicted if attempt == "first" else None)

    found = outcome(draw, [
        review(one, Grade.LOOKED), review(one, Grade.CLEAN, "repeat"), review(one, Grade.CLEAN),
        review(two, Grade.IN_TIME), review("another", Grade.CLEAN),
    ])  # fmt: skip
    assert (found.clean, found.asked, found.drawn, found.firm) == (1, 2, 5, 10)
    assert found.expected == pytest.approx(1.8)


def test_the_last_sample_is_remembered_and_rubbish_is_not():
    """A ticket reads back as a sentence, with a word when a month has not gone by."""
    ticket = SampleOutcome(17, 20, 20, 144, None).ticket(date(2031, 5, 2))
    assert last_sample(ticket, DAY) == (
        "Last sample, 2031-05-02: 17 clean of 20, drawn from 144. Once a month is enough."
    )
    assert last_sample(ticket, date(2031, 6, 2)) == "Last sample, 2031-05-02: 17 clean of 20, drawn from 144."
    for rubbish in (None, "", "x", "2031-05-02 a b c", "2031-05-02 1 2", "99 1 2 3"):
        assert last_sample(rubbish, DAY) == ""


def test_the_command_asks_the_draw_and_tells_the_range(tmp_path, monkeypatch):
    """Twenty prompts typed through give the range; the log keeps the outcome and the next sample begins with it."""
    monkeypatch.setenv("NECKWORK_HOME", str(tmp_path))
    monkeypatch.setenv("TERM", "dumb")
    now = datetime.now().astimezone()
    material = gather(read_deck(find_deck("first", None)), Neck())
    with ReviewLog(tmp_path / "log.sqlite3") as log:
        history = firm_history([(card.id, card.skills) for card in material.cards.values()], now)
        log.add(Event(review.id, log.id, as_us(review.at), review.at, review) for review in history)
    ran = CliRunner().invoke(command, ["first", "--quiet"], input="\n" * 3 + "\nc\n" * 40, catch_exceptions=False)
    assert ran.exit_code in (0, 130), ran.output
    assert "A blind sample: cards drawn by chance from what is thought firm, each once and cold." in ran.output
    assert "20 clean of 20: somewhere between" in ran.output
    assert f"of your {len(material.cards)} cards thought firm" in ran.output
    with ReviewLog(tmp_path / "log.sqlite3") as log:
        assert log.standing().tickets[SAMPLE_TICKET].endswith(f" 20 20 {len(material.cards)}")
        asked = [review.card for review in log.reviews()][len(history) :]
    assert len(set(asked)) == 20
    again = CliRunner().invoke(command, ["first", "--quiet"], input="q\n" * 5)
    assert again.output.startswith("Last sample, ") and "Once a month is enough." in again.output
