"""Which cards may be asked, against the rules told in plain loops, and which of them the planner chooses."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from random import Random

import numpy as np
import pytest

from scheduler import CardSpec, Grade, Planner, Review, TeachingRules
from scheduler.errors import CardError, RulesError
from scheduler.memory.played import Played
from scheduler.planning.eligibility import apart_from, open_cards
from scheduler.planning.preferences import Asking, DeckIndex, weigh
from scheduler.planning.session_so_far import SessionSoFar

START = datetime(2026, 1, 5, 18, 0, tzinfo=UTC)


def told_open(
    cards: Sequence[CardSpec], rules: TeachingRules, begun: Sequence[str], new_of: dict[str, tuple[str, ...]]
) -> list[str]:
    """Cards without new skills as they stand, then new ones: of the first stage with room, in order, within limits."""
    asked = [
        card for card in cards
        if card.id not in rules.rested and (rules.focus is None or card.id in rules.focus)
    ]  # fmt: skip
    free = [card.id for card in asked if card.id not in new_of]
    unmet = [card for card in asked if card.id in new_of]
    stages = sorted({card.stage for card in unmet}) if rules.in_stage_order else [None]
    for stage in stages:
        fresh = []
        for card in unmet:
            if stage is not None and card.stage != stage:
                continue
            fits = True
            for kind, limit in rules.new_per_session.items():
                wanted = sum(skill.startswith(f"{kind}:") for skill in new_of[card.id])
                had = sum(skill.startswith(f"{kind}:") for skill in set(begun))
                if wanted and wanted > limit - had:
                    fits = False
            if fits:
                fresh.append(card.id)
        if fresh:
            return free + fresh
    return free


@pytest.mark.parametrize("part", range(4))
def test_cards_are_open_as_the_rules_say(part):
    """Made-up decks, limits, stages, rest and focus."""
    random = Random(f"open {part}")
    for _ in range(150):
        kinds = ("form", "root", "free")
        cards = [CardSpec(f"c{number}", stage=random.randrange(3)) for number in range(random.randrange(1, 8))]
        new_of = {
            card.id: tuple(f"{random.choice(kinds)}:{random.randrange(4)}" for _ in range(random.randrange(1, 4)))
            for card in cards
            if random.random() < 0.6
        }
        begun = [f"{random.choice(kinds)}:n{number}" for number in range(random.randrange(4))]
        ids = [card.id for card in cards]
        rules = TeachingRules(
            new_per_session={kind: random.randrange(4) for kind in ("form", "root") if random.random() < 0.7},
            in_stage_order=random.random() < 0.7,
            rested=frozenset(random.sample(ids, random.randrange(len(ids)))),
            focus=random.choice((None, None, frozenset(random.sample(ids, random.randrange(len(ids) + 1))))),
        )
        so_far = SessionSoFar((Played("id", "c0", 0.0, "s", True, False, True, tuple(begun)),))
        kinds_of = {card_id: tuple(skill.partition(":")[0] for skill in new) for card_id, new in new_of.items()}
        found = [card.id for card in open_cards(cards, rules, so_far, kinds_of)]
        assert found == told_open(cards, rules, begun, new_of), (cards, rules, begun, new_of)


def told_apart(cards: list[CardSpec], asked: list[str], reach: int, waiting: frozenset[str]) -> list[str]:
    """The steps one after another, each with fewer and fewer others between."""
    by_id = {card.id: card for card in cards}
    tags = {
        tag
        for place in range(max(0, len(asked) - reach), len(asked))
        if reach and asked[place] in by_id
        for tag in by_id[asked[place]].apart
    }
    by_heart = set()
    for place in range(4, len(asked)):
        if len(asked) >= 4 and asked[place - 4 : place] == asked[-4:]:
            by_heart.add(asked[place])
    for step in range(4):
        for between in (3, 2, 1):
            if between == 1 and step < 3:
                continue
            left = []
            for card in cards:
                if card.id in asked[-between:]:
                    continue
                if step == 0 and card.id in waiting:
                    continue
                if step <= 1 and card.id in by_heart:
                    continue
                if step <= 2 and tags & set(card.apart):
                    continue
                left.append(card.id)
            if left:
                return left
    return [card.id for card in cards]


@pytest.mark.parametrize("part", range(4))
def test_cards_are_kept_apart_as_the_steps_say(part):
    """Made-up decks of one card to seven, tags, orders that repeat, and cards held back; ids of other decks too."""
    random = Random(f"apart {part}")
    for _ in range(300):
        names = [f"c{number}" for number in range(random.randrange(1, 8))]
        cards = [CardSpec(name, apart=tuple(tag for tag in "xyz" if random.random() < 0.3)) for name in names]
        known = [*names, "elsewhere"] if random.random() < 0.3 else names
        asked = [random.choice(known) for _ in range(random.randrange(14))]
        if random.random() < 0.5:
            asked += asked[-6:-1]
        reach = random.randrange(4)
        waiting = frozenset(random.sample(names, random.randrange(len(names))))
        found = apart_from(cards, asked, {card.id: card for card in cards}, reach, waiting)
        assert [card.id for card in found] == told_apart(cards, asked, reach, waiting), (cards, asked, reach, waiting)


def test_nothing_is_held_back_unless_it_is_said():
    """No card waits by itself."""
    cards = [CardSpec("a"), CardSpec("b")]
    assert apart_from(cards, [], {}, 1) == cards


# ---- the planner as it is asked

CARDS = [
    CardSpec("a", ("form:x", "root:c"), seconds=10.0), CardSpec("b", ("form:x", "root:d"), weight=2.0, seconds=20.0),
    CardSpec("c", ("form:y", "root:c"), stage=1), CardSpec("d", ("form:y", "root:d"), stage=1),
    CardSpec("e", ("form:x",)), CardSpec("f"),
]  # fmt: skip


def practised(seed: int = 0, count: int = 12, rules: TeachingRules | None = None) -> Planner:
    """A planner that learned from some tries, three minutes apart, over two sittings."""
    random = Random(f"tries {seed}")
    history = [
        Review(card.id, random.choice(list(Grade)), START + timedelta(minutes=3 * number, days=number // 6), 6.0,
               skills=card.skills)
        for number in range(count)
        for card in [random.choice(CARDS[:4])]
    ]  # fmt: skip
    return Planner(CARDS, seed=seed, history=history, rules=rules)


@pytest.mark.parametrize("seed", range(12))
def test_the_card_chosen_gains_most_a_second_of_those_that_are_open(seed):
    """With no weights but gain: worth over the player's own seconds, clean and not."""
    planner = practised(seed, 6 + seed, TeachingRules(in_stage_order=False))
    at = START + timedelta(days=5)
    worth, recalls = planner.worths(at)
    clean, other = planner.pace.factors()
    per_second = {
        card.id: worth[row].sum() / (card.seconds * (recalls[row] * clean + (1 - recalls[row]) * other))
        for row, card in enumerate(CARDS)
    }
    choice = planner.choice(at)
    best = max(per_second.values())
    alike = [card for card, gain in per_second.items() if gain >= best * (1 - 1e-9)]
    assert choice.card == min(alike, key=planner.rank) == planner.next(at)
    assert (choice.rule, choice.yielded) == (None, ())


@pytest.mark.parametrize("seed", [0, 1, 7])
def test_equal_gains_are_settled_by_the_order_given_or_by_the_seed(seed):
    """New cards that gain alike come as they were given; out of order, and once met, as the seed shuffles them."""
    alike = [CardSpec(f"n{number}", (f"form:{number}",)) for number in range(6)]
    assert Planner(alike, seed).next(START) == "n0"
    free = Planner(alike, seed, rules=TeachingRules(in_stage_order=False))
    assert free.next(START) == min((card.id for card in alike), key=free.rank)
    weighed = Planner(alike, seed, rules=TeachingRules(in_stage_order=False, order_weight=0.1))
    assert weighed.next(START) == "n0"
    assert sorted(free.rank(card.id) for card in alike) == list(range(6))
    assert [free.row(card.id) for card in alike] == list(range(6))


def test_the_shuffle_of_a_seed_is_the_same_on_every_machine():
    """BLAKE2b of seed and id, eight bytes (RFC 7693); the seed is 0 unless another is given."""
    for seed in (0, 5):
        planner = Planner(CARDS, seed)
        keys = sorted(CARDS, key=lambda card: hashlib.blake2b(f"{seed}/{card.id}".encode(), digest_size=8).digest())
        assert [planner.rank(card.id) for card in keys] == list(range(len(CARDS)))
    default, first = Planner(CARDS), Planner(CARDS, 0)
    assert default.seed == 0 and [default.rank(c.id) for c in CARDS] == [first.rank(c.id) for c in CARDS]


@pytest.mark.parametrize("others", range(9))
def test_a_card_looked_up_returns_after_its_own_number_of_others(others):
    """Between the fewest and the most; the number is drawn from the seed, the card and its place."""
    many = [CardSpec(f"m{number}", (f"form:{number}",), weight=0.001) for number in range(12)]
    missed = CardSpec("x", ("form:x",), weight=1000.0)
    for fewest, most in ((3, 7), (3, 3), (4, 5)):
        rules = TeachingRules(return_after=(fewest, most), return_weight=1000.0)
        planner = Planner([missed, *many], rules=rules)
        planner.begin("s", START)
        for number, card in enumerate([missed, *many[:others]]):
            planner.record(Review(card.id, Grade.LOOKED if card is missed else Grade.CLEAN,
                                  START + timedelta(minutes=number), 5.0, skills=card.skills, session="s"))  # fmt: skip
        asked = others + 1
        lot = int.from_bytes(hashlib.blake2b(f"0/x/{asked - others}".encode(), digest_size=4).digest(), "big")
        wanted = fewest + lot % (most - fewest + 1)
        came = planner.next(START + timedelta(minutes=others + 1)) == "x"
        assert came == (others >= wanted), (fewest, most, wanted)


def test_what_a_planner_says_of_its_deck():
    """Cards, skills with a card's own last, users, what is new and since when."""
    planner = Planner(CARDS)
    assert planner.has("a") and not planner.has("z")
    assert planner.skills_of("a") == ("form:x", "root:c", "card:a") and planner.skills_of("f") == ("card:f",)
    assert [planner.users_of(skill) for skill in ("form:x", "form:y", "root:d", "form:z", "card:a", "card:z")] == [
        3, 2, 2, 0, 1, 0,
    ]  # fmt: skip
    assert planner.unmet("a") and planner.first_met("a") is None and planner.new_skills("a") == ("form:x", "root:c")
    planner.record(Review("a", Grade.CLEAN, START, 5.0, skills=CARDS[0].skills))
    assert not planner.unmet("a") and planner.unmet("b") and planner.first_met("b") is None
    assert abs(planner.first_met("a") - START) < timedelta(milliseconds=1)
    assert planner.new_skills("b") == ("root:d",) and planner.met_skills == {"form:x", "root:c", "card:a"}
    with pytest.raises(CardError, match="card 'z': expected an id of this deck, got another"):
        planner.card("z")
    with pytest.raises(CardError, match="expected every card id once, got 'a' twice"):
        Planner([*CARDS, CARDS[0]])
    assert planner.session is None
    planner.begin("s", START)
    assert planner.session == "s"
    planner.end()
    assert planner.session is None


@pytest.mark.parametrize("minutes", [30.0, 90.0])
def test_a_pause_longer_than_the_gap_begins_a_new_session(minutes):
    """In minutes, where no session is named."""
    planner = Planner(CARDS, rules=TeachingRules(session_gap_minutes=minutes))
    planner.record(Review("a", Grade.CLEAN, START, 5.0, skills=CARDS[0].skills))
    for over, played in ((-0.5, 1), (0.5, 0)):
        assert len(planner.session_so_far(START + timedelta(minutes=minutes + over)).played) == played


def test_rules_that_would_have_taught_something_else_are_refused():
    """Blame and the hour of the day; any others may change."""
    planner = Planner(CARDS)
    planner.set_rules(TeachingRules(order_weight=2.0))
    assert planner.rules.order_weight == 2.0
    for other in (TeachingRules(blame={"shape": "form"}), TeachingRules(day_starts_at_hour=0.0)):
        with pytest.raises(RulesError, match=r"as the planner was made with, got .*; make a new planner"):
            planner.set_rules(other)
    assert planner.rules.order_weight == 2.0


@pytest.mark.parametrize("seed", range(24))
def test_a_rule_that_weighed_in_is_named_and_so_is_one_that_gave_way(seed):
    """The rule that moved the choice most against the best gain; rules whose full factor another card has gave way."""
    rules = TeachingRules(in_stage_order=False, order_weight=1.5, again_weight=3.0, apart_weight=1.0)
    planner, at = practised(seed, 8 + seed, rules), START + timedelta(days=4, minutes=seed)
    new_of = {card.id: new for card in CARDS if (new := planner.new_skills(card.id))}
    days = at.timestamp() / 86400.0
    now = Asking(days, 0.0, SessionSoFar(), planner.memory, planner.learner.missed_on, new_of, np.zeros(len(CARDS)), [])
    factors = weigh(DeckIndex(planner.cards), np.arange(len(CARDS)), rules, now)
    worth, recalls = planner.worths(at)
    clean, other = planner.pace.factors()
    gains = [
        worth[row].sum() / (card.seconds * (recalls[row] * clean + (1 - recalls[row]) * other))
        for row, card in enumerate(CARDS)
    ]
    weighed = [gain * math.prod(factor[row] for factor in factors.values()) for row, gain in enumerate(gains)]
    chosen, most = weighed.index(max(weighed)), gains.index(max(gains))
    choice = planner.choice(at)
    assert choice.card == CARDS[chosen].id
    moved = {name: factor[chosen] / factor[most] for name, factor in factors.items()}
    assert choice.rule == (max(moved, key=moved.get) if chosen != most else None)
    assert choice.yielded == tuple(name for name, factor in factors.items() if factor[chosen] < max(factor))
    assert choice.kept == tuple(name for name in factors if name not in choice.yielded)
    left = planner.choice(at, [choice.card])
    assert left.card != choice.card and planner.choice(at, [card.id for card in CARDS]) is None
    assert planner.next(at, [card.id for card in CARDS]) is None


def test_placement_without_minutes_is_placement_of_three():
    """The default of placement."""
    planner, at = practised(2), START + timedelta(days=40)
    assert planner.placement(at) == planner.placement(at, 3.0)
