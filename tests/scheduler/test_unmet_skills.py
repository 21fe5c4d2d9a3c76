"""What is new about each card, kept in step, against looking it up for every card."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from random import Random

import pytest

from scheduler import CardSpec, Grade, Planner, Review
from scheduler.planning.preferences import DeckIndex
from scheduler.planning.unmet_skills import UnmetSkills

CARDS = [
    CardSpec(f"{form}/{root}", (f"form:{form}", f"root:{root}", f"spell:{form}-{root}"))
    for form in ("a", "b", "c")
    for root in ("r", "s", "t")
]
DECK = DeckIndex(CARDS)
START = datetime(2026, 1, 5, 18, 0, tzinfo=UTC)


def looked_up(memory):
    new = {card.id: tuple(skill for skill in card.skills if skill not in memory.skills) for card in CARDS}
    return {card_id: skills for card_id, skills in new.items() if skills}


@pytest.mark.parametrize("seed", range(5))
def test_what_is_new_stays_in_step_with_reviews_and_with_taking_them_back(seed):
    """A review meets several skills at once, and several cards lose what was new; an undo brings it back."""
    random, planner = Random(seed), Planner(CARDS)
    unmet, taken = UnmetSkills(DECK, planner.memory), []
    assert unmet.of_card == looked_up(planner.memory)
    for number in range(40):
        if taken and random.random() < 0.4:
            changed = planner.learner.undo(taken.pop(random.randrange(len(taken))))
        else:
            card = random.choice(CARDS)
            at = START + timedelta(hours=number)
            changed = planner.learner.record(
                Review(card.id, random.choice(list(Grade)), at, 5.0, skills=card.skills, id=f"{number}")
            )
            taken.append(f"{number}")
        if planner.memory is not unmet.memory:
            unmet = UnmetSkills(DECK, planner.memory)
        for skill in changed:
            unmet.touch(skill)
        assert unmet.of_card == looked_up(planner.memory)
        assert unmet.kinds_of == {
            card_id: tuple(skill.partition(":")[0] for skill in skills) for card_id, skills in unmet.of_card.items()
        }
