"""Shapes the diagram tests draw: the whole default deck, and every quality in every form."""

from functools import cache

from drills.cards.deck import find_deck, read_deck
from drills.cards.material import gather
from drills.errors import DrillsError
from drills.neck.neck import Neck
from drills.shapes.answers import shapes_named
from drills.shapes.finder import ShapeFinder
from drills.theory.quality import shipped_qualities

FINDER = ShapeFinder(Neck())
ARPEGGIOS = ("arpeggio", "arpeggio-from3-down", "arpeggio-two-octaves")


def shape_named(name, strings, form="arpeggio", finder=FINDER):
    """The first shape of a name on a set of strings."""
    return shapes_named(finder, name, form, strings, shipped_qualities())[0][0]


@cache
def default_deck():
    """The 144 shapes of the default deck."""
    material = gather(read_deck(find_deck("first", None)), Neck())
    return tuple(material.answer(card) for card in material.cards.values())


@cache
def every_kind():
    """Every quality on E flat, as arpeggio, two octaves, scale and grip, wherever one fits."""
    found = []
    for quality in shipped_qualities():
        for form in (*ARPEGGIOS, "scale", "scale-three-per-string", "grip"):
            try:
                found += shapes_named(FINDER, f"Eb{quality.symbol}", form, None, shipped_qualities())[0]
            except DrillsError:  # a triad has no 7th, a quality no usual scale
                continue
    return tuple(found)
