"""The first days of a player on the first deck, as the program asks them: easy first, one set, a sure beginning."""

from __future__ import annotations

from collections import defaultdict

from drills.cards.demand import WIDEST_EARLY_MM, easiest_frets
from drills.neck.neck import Neck
from tests.session.sittings import Clock


def test_five_days_of_a_clean_player(sitting):
    """B8, 5 to 8: first three questions at frets 5 to 10, no wide stretch, one set on day one, a second in the week.

    Every session after the first begins with a card met before. All cards but every fifth come clean.
    """
    clock, asked, number = Clock(), defaultdict(list), 0
    lowest, highest = easiest_frets(Neck())
    sets = []
    for _ in range(5):
        one = sitting(clock=clock)
        one.start()
        met = {card.id for card in one.material.cards.values() if not one.drill.planner.unmet(card.id)}
        today = []
        while True:
            number += 1
            card = one.play("l" if number % 5 == 0 else "c")
            if card is None:
                break
            today.append(card)
            shape = one.material.answer(card)
            assert shape.reach_mm <= WIDEST_EARLY_MM
            asked[card.skills[0]].append(shape.root.fret)
        assert not met or today[0].id in met
        sets.append({card.set_name for card in today})
        clock.tick(86_400)
    assert all(lowest <= fret <= highest for frets in asked.values() for fret in frets[:3])
    assert len(asked) >= 3
    assert sets[0] == {"6-5-4"}
    assert len(set.union(*sets)) >= 2
