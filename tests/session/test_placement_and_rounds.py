"""Placement (drills/RULES.md, A2, WP1) and rounds (B4, check G30); roots and frets are computed facts."""

from __future__ import annotations

import random

import pytest
from sittings import gathered
from statsmodels.stats.proportion import proportion_confint

from drills.errors import DeckError
from drills.session.choosing import in_order
from drills.session.plain import spoken
from drills.session.rounds import round_cards
from scheduler.planning.rules import TeachingRules


def answers(card) -> str:
    """A player who knows everything on 6-5-4 and 5-4-3, and nothing on 4-3-2."""
    return "l" if str(card.strings) == "4-3-2" else "t"


def test_placement_takes_three_minutes_and_teaches_nothing(sitting):
    """Sampled cards, no lessons, no repeats, no 144 first meetings; it says how sure it is."""
    one = sitting(kind="placement", minutes=3)
    one.start()
    asked = []
    while not one.state.over:
        assert one.state.phase.value == "prompt"
        card = one.state.card
        asked.append(card)
        one.press("enter", seconds=4)
        one.press(answers(card), seconds=6)
    assert 10 <= len(asked) <= 19
    assert len({card.id for card in asked}) == len(asked)
    assert {review.attempt for review in one.log.reviews()} == {"first"}
    one.clock.tick(1)
    words = " ".join(spoken(one.drill))
    clean = sum(answers(card) == "t" for card in asked)
    assert f"{len(asked)} cards asked, {clean} clean (self-reported)." in words
    assert "Of all 144 cards" in words
    assert "19 times in 20" in words


def wilson(clean, tries):
    """The interval of a share, 95 in 100, by statsmodels."""
    return proportion_confint(clean, tries, alpha=0.05, method="wilson")


@pytest.mark.parametrize(
    "knows",
    [
        lambda card, _: str(card.strings) == "6-5-4",
        lambda card, _: card.quality in ("maj7", "m7"),
        lambda card, _: card.chord.root.name in ("C", "F", "Bb", "G", "Eb"),
        lambda _, chance: chance.random() < 0.5,
    ],
    ids=["one set", "two qualities", "five roots", "half by chance"],
)
def test_the_range_that_placement_names_holds(sitting, knows):
    """Cards are chosen, not drawn: Wilson's interval on them holds the true share of the deck all the same."""
    one, chance = sitting(kind="placement", minutes=3), random.Random(20)
    truth = {card.id: knows(card, chance) for card in one.material.cards.values()}
    one.start()
    while not one.state.over:
        known = truth[one.state.card.id]
        one.press("enter", seconds=3)
        one.press("t" if known else "l", seconds=5 if known else 9)
    low, high = wilson(sum(given.grade.clean for given in one.state.given), len(one.state.given))
    assert low <= sum(truth.values()) / len(truth) <= high
    said = " ".join(spoken(one.drill))
    assert f"between {round(low * 144)} and {round(high * 144)}, 19 times in 20." in said


def test_placement_ends_when_a_tenth_either_way_is_sure(sitting):
    """With twenty minutes to go: after so many clean answers as statsmodels' interval needs, and never on a few."""
    one = sitting(kind="placement", minutes=20)
    one.start()
    while not one.state.over:
        found = one.drill.planner.placement(one.clock())
        tries = len(one.state.given)
        low, high = wilson(tries, tries) if tries else (0, 1)
        assert found.margin == pytest.approx((high - low) / 2)
        assert not found.enough
        one.press("enter", seconds=3)
        one.press("t", seconds=5)
    assert len(one.state.given) == next(n for n in range(1, 144) if wilson(n, n)[0] > 0.8) == 16
    assert one.drill.planner.placement(one.clock()).enough


def test_placement_settles_what_is_known(sitting):
    """The next day no form that was clean is taught, and roots are no longer brought in four at a time."""
    one = sitting(kind="placement", minutes=3, strings="654")
    one.start()
    while not one.state.over:
        one.press("enter", seconds=4)
        one.press("t", seconds=6)
    played = {skill for review in one.log.reviews() for skill in review.skills}
    one.clock.tick(86_400)
    two = sitting(clock=one.clock, strings="654")
    assert two.drill.planner.rules.new_per_session == {"form": 2}
    two.start()
    while two.play() is not None:
        if two.state.phase.value == "lesson":
            assert not set(two.state.card.skills[:1]) <= played
    assert two.state.given


def test_a_beginner_s_placement_opens_no_doors(sitting):
    """Misses in a placement leave the limits on new roots as they were."""
    one = sitting(kind="placement", minutes=3, strings="654")
    one.start()
    while not one.state.over:
        one.press("enter", seconds=4)
        one.press("l", seconds=6)
    one.clock.tick(86_400)
    assert sitting(clock=one.clock, strings="654").drill.planner.rules.new_per_session["root"] == 4


def places(cards, material):
    return [(str(c.chord.root), material.answer(c).root.string, material.answer(c).root.fret) for c in cards]


def test_fourths_round_the_sets():
    """maj7 from C(6/8) by the nearest-root rule: check G30."""
    material = gathered(quality="maj7", prompt="name")
    found = places(round_cards(material, "fourths"), material)
    assert len(found) == 12
    assert found[:7] == [
        ("C", 6, 8), ("F", 5, 8), ("Bb", 4, 8), ("Eb", 5, 6), ("Ab", 4, 6), ("Db", 5, 4), ("Gb", 4, 4),
    ]  # fmt: skip


def test_a_round_that_stays_keeps_to_one_set():
    """Every root once, on the set of the first."""
    material = gathered(quality="m7", prompt="name")
    cards = round_cards(material, "chromatic", hop=False)
    assert {str(card.strings) for card in cards} == {"6-5-4"}
    classes = [card.chord.root.pitch_class for card in cards]
    assert classes == list(range(12))


def test_a_random_round_has_every_root_once_and_repeats_from_its_seed():
    """The same seed gives the same round, another one another."""
    material = gathered(quality="7", prompt="name")
    one, again, other = (round_cards(material, "random", seed=seed) for seed in (1, 1, 2))
    assert one == again
    assert one != other
    assert sorted(card.chord.root.pitch_class for card in one) == list(range(12))


def test_a_round_passes_over_what_rests():
    """A root whose card rests on one set is taken on another; one that rests everywhere is left out."""
    material = gathered(quality="maj7", prompt="name")
    before = places(round_cards(material, "fourths"), material)
    on = {(card.chord.root.name, card.strings.numbers[0]): card.id for card in material.cards.values()}
    rested = {on["F", 5], *(on["Bb", string] for string in (6, 5, 4))}
    after = places(round_cards(material, "fourths", allowed=TeachingRules(rested=frozenset(rested)).allows), material)
    assert before[:3] == [("C", 6, 8), ("F", 5, 8), ("Bb", 4, 8)]
    assert after[:2] == [("C", 6, 8), ("F", 4, 3)]
    assert {name for name, _, _ in before} - {name for name, _, _ in after} == {"Bb"}
    with pytest.raises(DeckError, match="neckwork wake"):
        round_cards(material, allowed=TeachingRules(rested=frozenset(material.cards)).allows)


def test_a_key_s_seven_chords_go_round_from_its_first():
    """By fourths the key of Bb goes I IV vii iii vi ii V."""
    material = gathered(key="Bb", prompt="degree", strings="654,543")
    cards = round_cards(material, "fourths")
    assert [card.chord.name for card in cards] == ["Bbmaj7", "Ebmaj7", "Am7b5", "Dm7", "Gm7", "Cm7", "F7"]


@pytest.mark.parametrize(
    ("focus", "order", "words"),
    [
        ({}, "fourths", "one quality"),
        ({"quality": "m7"}, "up", "order"),
        ({"quality": "m7", "prompt": "spell"}, "fourths", "one shape on the guitar, such as name, got spell"),
    ],
)
def test_what_is_no_round_is_refused(focus, order, words):
    """Several qualities without a key, an order nobody knows, prompts that ask for no shape: one line that says what
    was expected."""
    with pytest.raises(DeckError, match=words):
        round_cards(gathered(**focus), order)


def test_a_round_is_graded_once_per_card_and_ends_with_the_last(sitting):
    """Logged as practice of its skills like any session; a missed card is played right, not asked again."""

    def by_fourths(material, planner):
        return in_order([card.id for card in round_cards(material)], planner)

    one = sitting(kind="round", quality="maj7", prompt="name", chooser=by_fourths)
    one.start()
    keys = iter("cclctcfcctcc")
    while not one.state.over:
        if one.play(next(keys)) is None:
            break
    assert [review.grade.value for review in one.firsts()].count(1) == 1
    assert len(one.firsts()) == 12
    assert one.state.phase.value == "end"
    assert one.state.met("form") == 2  # the layout of 6-5-4 and 5-4-3, and that of 4-3-2
    assert one.state.met("root") == 0  # a root's place is said with its prompt instead
    assert all(review.skills for review in one.firsts())
