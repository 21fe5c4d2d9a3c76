"""How long a booklet of a whole deck takes to print."""

from __future__ import annotations

import time

import pytest

from drills.cards.deck import find_deck, read_deck
from drills.cards.material import gather
from drills.neck.neck import Neck
from drills.paper.handouts import handout_pdf
from drills.paper.layouts import booklet
from drills.paper.page_style import Footer, PageStyle


def _spent(deck: str) -> tuple[int, float]:
    material = gather(read_deck(find_deck(deck, None)), Neck())
    start = time.process_time()
    shapes = [material.answer(card) for card in material.cards.values()]
    handout_pdf(booklet(shapes, 6), PageStyle(), Footer())
    return len(shapes), time.process_time() - start


def test_a_booklet_takes_time_in_proportion_to_its_diagrams(capsys: pytest.CaptureFixture[str]) -> None:
    """A booklet of 504 diagrams costs no more for each than one of 144: nothing in it grows with the pages."""
    _spent("first")  # loads the libraries and fonts
    few, few_s = min((_spent("first") for _ in range(2)), key=lambda each: each[1])
    many, many_s = min((_spent("fourteen") for _ in range(2)), key=lambda each: each[1])
    with capsys.disabled():
        print(f"\nbooklet: {few} diagrams {few_s:.2f} s, {many} diagrams {many_s:.2f} s of CPU")
    assert (few, many) == (144, 504)
    assert many_s / many <= 1.5 * few_s / few
