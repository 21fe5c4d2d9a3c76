"""The walk of a phone page: its rules, and that the page in a browser walks as Python does."""

import json
import random
from datetime import UTC, datetime, timedelta
from functools import cache

import pytest

from drills.cards.deck import find_deck, read_deck
from drills.cards.material import gather
from drills.configuration.shipped import data_file
from drills.neck.neck import Neck
from drills.phone.phone_plan import AGAIN_NEXT_TIME, walk_tables
from drills.phone.walk import ASK, LESSON, LOOKED, PlayedStep, WalkCard, WalkTables, next_step
from scheduler.planning.planner import Planner
from tests.phone.chromium import CHROMIUM, Tab

AT = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
KINDS = ("form", "root", "time")


@cache
def planned(deck="first", sessions=5, minutes=10.0):
    """A deck's planner and the tables of a page of so many daily sessions."""
    material = gather(read_deck(find_deck(deck, None)), Neck())
    planner = Planner(material.specs(), 0, (), material.rules())
    return material, planner, walk_tables(material, planner, [AT + timedelta(days=d) for d in range(sessions)], minutes)


def invented(seed):
    """Tables drawn by chance: cards that share skills and tags, sessions of some of them, limits, gaps."""
    draw = random.Random(seed)
    skills = draw.randint(3, 12)
    cards = tuple(
        WalkCard(
            tuple(draw.sample(range(skills), draw.randint(1, 3))),
            tuple(draw.sample(range(4), draw.randint(0, 2))),
            ("root",) if draw.random() < 0.5 else (),
        )
        for _ in range(draw.randint(1, 14))
    )
    numbers = range(len(cards))
    return WalkTables(
        cards=cards,
        kinds=tuple(draw.choice(KINDS) for _ in range(skills)),
        met=tuple(draw.sample(range(skills), draw.randint(0, skills // 2))),
        sessions=tuple(tuple(draw.sample(numbers, draw.randint(1, len(cards)))) for _ in range(draw.randint(1, 4))),
        limits={"form": draw.randint(0, 3), "root": draw.randint(1, 4)},
        shown=("form", "root"),
        running=(draw.randint(0, 2), draw.randint(0, 2)),
        first_day=draw.random() < 0.5,
        gaps=tuple(draw.randint(3, 7) for _ in range(5)),
        share=draw.choice((0.0, 0.1, 0.5)),
        again=draw.randint(0, 4),
    )


def walked(tables, sessions, grades, aside=()):
    """All that is played when grade after grade is given, so many steps a session."""
    history, given = [], iter(grades)
    for session, steps in enumerate(sessions):
        for _ in range(steps):
            step = next_step(tables, history, session, aside)
            if step is None:
                break
            history.append(PlayedStep(session, step.do, step.card, next(given) if step.do == ASK else 0))
    return history


def sequence(seed):
    """Steps of some sessions, more grades than they can need, and cards set aside."""
    draw = random.Random(f"sequence {seed}")
    sessions = [draw.randint(0, 25) for _ in range(draw.randint(1, 5))]
    weights = draw.choice(((1, 1, 1, 1), (5, 1, 1, 1), (1, 1, 8, 2)))
    return sessions, draw.choices((1, 2, 3, 4), weights, k=sum(sessions)), draw.sample(range(3), draw.choice((0, 0, 1)))


IN_PAGE = """
(({tables, runs}) => runs.map(([which, sessions, grades, aside]) => {
  const history = [];
  let given = 0;
  sessions.forEach((steps, session) => {
    for (let number = 0; number < steps; number += 1) {
      const step = nextStep(tables[which], history, session, aside);
      if (step === null) break;
      history.push({session, done: step.do, card: step.card, grade: step.do === 'ask' ? grades[given++] : 0});
    }
  });
  return history.map(({session, done, card, grade}) => [session, done, card, grade]);
}))
"""


@pytest.mark.skipif(CHROMIUM is None, reason="needs Chromium")
def test_the_page_walks_as_python_does_over_a_thousand_sequences_of_grades(tmp_path):
    """The script of the page comes to the same steps as Python, for a thousand sequences of grades over a real deck's
    tables and two hundred invented ones."""
    all_tables = [planned()[2], *(invented(seed) for seed in range(200))]
    runs = [(0 if seed < 300 else seed % len(all_tables), *sequence(seed)) for seed in range(1000)]
    expected = [[list(one) for one in walked(all_tables[which], *rest)] for which, *rest in runs]
    script = data_file("phone/walk.js").read_text(encoding="utf-8")
    asked = json.dumps({"tables": [tables.as_json() for tables in all_tables], "runs": runs})
    with Tab() as tab:
        tab.run(f"(0, eval)({json.dumps(script + ';window.nextStep = nextStep;')})")
        found = tab.run(f"({IN_PAGE})({asked})")
    assert len(expected) == 1000 and sum(map(len, expected)) > 10_000
    assert found == expected


@pytest.mark.parametrize("seed", range(60))
def test_nothing_is_asked_before_its_lesson(seed):
    """A card is asked only when every skill of a kind that lessons show was met, or is told with the prompt on a first
    day (rule A1)."""
    tables = planned()[2] if seed < 20 else invented(seed)
    history = walked(tables, *sequence(seed))
    met = set(tables.met)
    for one in history:
        card = tables.cards[one.card]
        new = {tables.kinds[skill] for skill in card.skills if skill not in met} & set(tables.shown)
        told = tables.first_day and one.session == 0 and new <= set(card.told)
        assert (one.done == LESSON) == bool(new and not told)
        met |= set(card.skills)


@pytest.mark.parametrize("seed", range(60))
def test_no_session_meets_more_that_is_new_than_its_limits(seed):
    """Two new forms and four new roots a session, or what the tables say (rule B6)."""
    tables = planned()[2] if seed < 20 else invented(seed)
    met, begun = set(tables.met), {}
    for one in walked(tables, *sequence(seed)):
        new = [skill for skill in tables.cards[one.card].skills if skill not in met]
        met.update(new)
        for skill in new:
            key = (one.session, tables.kinds[skill])
            begun[key] = begun.get(key, 0) + 1
    assert all(count <= tables.limits.get(kind, count) for (_, kind), count in begun.items())


@pytest.mark.parametrize("seed", range(40))
def test_a_card_is_not_asked_twice_running_while_another_is_open(seed):
    """No card follows itself, and none that shares its root's place while a planned one that does not may be asked
    (rule B8)."""
    _, _, tables = planned()
    history = walked(tables, [18, 18], random.Random(seed).choices((1, 2, 3, 4), k=36))
    seen = 0
    for place, (before, after) in enumerate(zip(history, history[1:], strict=False), 1):
        if before.session != after.session:
            continue
        assert before.card != after.card
        tags = set(tables.cards[before.card].apart)
        if tags & set(tables.cards[after.card].apart):
            played = {one.card for one in history[:place] if one.session == after.session}
            met = {skill for one in history[:place] for skill in tables.cards[one.card].skills} | set(tables.met)
            open_now = [
                card for card in tables.sessions[after.session]
                if card not in played and met.issuperset(tables.cards[card].skills)
                and tags.isdisjoint(tables.cards[card].apart)
            ]  # fmt: skip
            assert open_now == []
        seen += 1
    assert seen > 20


def test_a_miss_comes_back_after_three_to_seven_others():
    """Between a card looked up and its return lie as many others as the planner's rules ask, two more where the root
    at the same place was asked just before, and not always as many (rule B8)."""
    _, planner, tables = planned()
    fewest, most = planner.rules.return_after
    gaps = []
    for missed in range(8):
        grades = [1 if number == missed else 3 for number in range(40)]
        for session in (0, 1, 2):
            history = walked(tables, [0] * session + [30], grades)
            (place,) = (n for n, one in enumerate(history) if one.grade == LOOKED)
            back = next(n for n, one in enumerate(history) if n > place and one.card == history[place].card)
            gaps.append(len({one.card for one in history[place + 1 : back]}))
    assert fewest <= min(gaps) and max(gaps) <= most + 2
    assert len(set(gaps)) >= 4


@pytest.mark.parametrize("count", [2, 3, 4, 5, 6])
def test_among_few_cards_a_miss_comes_back_after_each_other_once(count):
    """Where fewer others are open than the number drawn, it waits for all of them and no longer (rule B4)."""
    numbers = tuple(range(count))
    tables = WalkTables(
        cards=tuple(WalkCard((number,)) for number in numbers), kinds=("form",) * count, met=numbers,
        sessions=(numbers,), limits={}, shown=(), running=(0, 0), first_day=False, gaps=(7,), share=1.0, again=0,
    )  # fmt: skip
    history = walked(tables, [4 * count], [1 if number == count else 3 for number in range(4 * count)])
    order = [one.card for one in history]
    between = order[count + 1 : order.index(order[count], count + 1)]
    assert sorted(between) == sorted(set(numbers) - {order[count]})


@pytest.mark.parametrize("seed", range(10))
def test_a_session_goes_on_as_long_as_the_time_does(seed):
    """However it goes, there is a next step after the plan is played: what was missed, and then what went well."""
    _, _, tables = planned()
    assert len(walked(tables, [80], random.Random(seed).choices((1, 2, 3, 4), k=80))) == 80


def test_what_was_missed_comes_first_next_time():
    """The next session begins with its own first card, and then with what was missed at its first question."""
    _, _, tables = planned()
    first = walked(tables, [12], [1] * 30)
    missed = list(dict.fromkeys(one.card for one in first if one.done == ASK and one.grade == LOOKED))
    nexts = [one.card for one in walked(tables, [12, 9], [1] * 100) if one.session == 1]
    expected = [card for card in missed[:AGAIN_NEXT_TIME] if card != tables.sessions[1][0]]
    assert len(expected) >= 2
    assert set(nexts[: len(expected) + 3]) >= set(expected[:2])


def test_cards_set_aside_never_come():
    """What stretches a hand that hurts is left out of every session that follows."""
    _, _, tables = planned()
    aside = set(tables.sessions[0][:3])
    history = walked(tables, [25, 25], [3] * 100, aside)
    assert history and not aside & {one.card for one in history}


def test_a_plan_begins_as_the_planner_would():
    """The first card is the planner's own choice, and a first session asks its shape at two more roots before it
    shows another (rule B8)."""
    material, planner, tables = planned()
    ids = list(material.cards)
    first = tables.sessions[0]
    assert ids[first[0]] == planner.next(AT)
    form = planner.card(ids[first[0]]).skills[0]
    assert form.startswith("form:")
    assert all(form in planner.card(ids[number]).skills for number in first[:3])
    assert any(form not in planner.card(ids[number]).skills for number in first)


def test_making_a_plan_leaves_the_planner_as_it_was():
    """What is played to make a plan is forgotten with it."""
    material, planner, _ = planned()
    before = planner.snapshot()
    walk_tables(material, planner, [AT, AT + timedelta(days=1)], 10.0)
    assert planner.snapshot() == before


def test_sessions_bring_new_cards_day_by_day():
    """The sessions planned ahead go on where the last one ended: what they meet grows."""
    _, _, tables = planned(sessions=7)
    seen, grown = set(), []
    for cards in tables.sessions:
        assert len(cards) == len(set(cards)) >= 4
        grown.append(len(set(cards) - seen))
        seen |= set(cards)
    assert grown[0] and sum(map(bool, grown)) >= 5
