"""Decks crossed with a neck: counts, what is left out, skills, order of introduction.

Counts and left-out lists are drills/RULES.md, G1 and G10, computed there from the open strings.
"""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest

from drills.cards.deck import find_deck, list_decks, read_deck
from drills.cards.focus import parse_focus
from drills.cards.material import gather
from drills.errors import DeckError
from drills.neck.neck import Neck
from drills.neck.tuning import read_tunings
from drills.theory.key import parse_key
from drills.theory.quality import shipped_qualities

TABLE = shipped_qualities()
FIRST = read_deck(find_deck("first", None))


def material(deck=FIRST, neck=Neck(), **focus):
    return gather(deck, neck, focus=parse_focus(TABLE, **focus))


@pytest.mark.parametrize(
    ("focus", "count"),
    [
        ({}, 144),
        ({"strings": "543"}, 48),
        ({"quality": "m7"}, 36),
        ({"strings": "543", "quality": "m7"}, 12),
        ({"quality": "+dim7"}, 180),
        ({"quality": "maj7,m7,7,m7b5,dim7"}, 180),
        ({"key": "Eb", "strings": "654"}, 7),
        ({"key": "Gb", "strings": "432"}, 7),
        ({"root": "Bb"}, 12),
        ({"root": "A#"}, 12),
        ({"strings": "321"}, 48),
    ],
)
def test_a_focus_leaves_exactly_the_cards_asked_for(focus, count):
    """The counts of rule G1 come out, and nothing is left out at the default top fret."""
    found = material(**focus)
    assert len(found.cards) == count
    assert found.left_out == ()


@pytest.mark.parametrize(
    ("top_fret", "counts"), [(12, (112, 118, 128)), (13, (124, 130, 140)), (14, (136, 142, 144)), (15, (144, 144, 144))]
)
def test_the_top_fret_decides_how_many_cards_fit(top_fret, counts):
    """Rule 0.5: usual layouts, open-string roots too, alternate layouts too."""
    necks = (
        Neck(top_fret=top_fret),
        Neck(top_fret=top_fret, open_roots=True),
        Neck(top_fret=top_fret, open_roots=True, alternates=True),
    )
    found = [material(neck=neck) for neck in necks]
    assert tuple(len(each.cards) for each in found) == counts
    assert all(len(each.cards) + len(each.left_out) == 144 for each in found)


def test_what_does_not_fit_is_named_with_its_reason():
    """Rule G10: at top fret 14 exactly eight are missing, and each says why."""
    left = material(neck=Neck(top_fret=14)).left_out
    assert {entry.prompt for entry in left} == {
        "Em7, strings 6-5-4", "Em7b5, strings 6-5-4", "Am7, strings 5-4-3", "Am7b5, strings 5-4-3",
        "Dmaj7, strings 4-3-2", "D7, strings 4-3-2", "Dm7, strings 4-3-2", "Dm7b5, strings 4-3-2",
    }  # fmt: skip
    assert all(entry.reason.endswith("needs fret 15; the top fret is 14") for entry in left)
    at_twelve = {entry.prompt: entry.reason for entry in material(neck=Neck(top_fret=12)).left_out}
    assert len(at_twelve) == 32
    assert at_twelve["Emaj7, strings 6-5-4"] == "Emaj7 on 6-5-4 needs fret 14; the top fret is 12"
    with_open = material(neck=Neck(top_fret=14, open_roots=True)).left_out
    assert {entry.prompt for entry in with_open} == {"Dmaj7, strings 4-3-2", "D7, strings 4-3-2"}


def test_the_first_deck_is_made_of_few_skills():
    """Rule 0.3: 144 cards are 8 shapes, 36 root locations and 48 spellings."""
    skills = {skill for card in material().cards.values() for skill in card.skills}
    kinds = [skill.partition(":")[0] for skill in skills]
    assert {kind: kinds.count(kind) for kind in set(kinds)} == {"form": 8, "root": 36, "spell": 48}


def test_the_same_shape_is_one_skill_on_strings_tuned_alike():
    """6-5-4 and 5-4-3 share a form, 4-3-2 does not; in all fourths every set does (rule C7)."""

    def forms(neck, *sets):
        return [
            {card.skills[0] for card in material(neck=neck, strings=name, quality="m7").cards.values()} for name in sets
        ]

    low, middle, high = forms(Neck(), "654", "543", "432")
    assert low == middle != high
    fourths = Neck(tuning=read_tunings()["fourths"].tuning)
    assert len({frozenset(each) for each in forms(fourths, "654", "543", "432", "321")}) == 1


def test_a_form_takes_as_long_as_it_has_notes():
    """Rule B6: R 3 5 7 8 7 5 3 R is nine notes in 15 to 20 seconds, a second a note at quarter = 60.

    Up and down, two octaves are 17 notes, a scale of seven 15, three notes on each of six strings 35, a triad 7;
    a grip is one stroke (common practice). What needs no playing keeps its kind's estimate.
    """

    def seconds(name, **focus):
        deck = read_deck(find_deck(name, None))
        return {card.seconds for card in material(deck, **focus).cards.values()}

    first = seconds("first")
    assert len(first) == 1 and 15.0 <= min(first) <= 20.0
    usual = min(first)
    for name, notes in (
        ("keys", 9), ("two-octaves", 17), ("scales", 15), ("scales-three-per-string", 35), ("pentatonics", 23),
        ("grips-drop2", 1), ("shells", 1),
    ):  # fmt: skip
        assert seconds(name) == {usual + notes - 9}, name
    assert seconds("triads", quality="maj,m,dim,aug") == {usual - 2}
    assert seconds("roots") == {4.0}  # P4: 3 to 5 seconds


def test_four_forms_make_a_key():
    """Rule G27: a major key on one set is maj7 twice, m7 three times, 7 and m7b5 once; three sets are 8 layouts."""
    one = material(key="Bb", strings="654")
    names = [card.chord.quality.name for card in one.cards.values()]
    assert sorted(names) == sorted(["maj7", "maj7", "m7", "m7", "m7", "7", "m7b5"])
    assert len({card.skills[0] for card in material(key="Bb").cards.values()}) == 8


def test_a_key_lies_the_same_way_one_set_up():
    """Rule G26: G major on 6-5-4, C on 5-4-3 and F on 4-3-2 have their roots at frets 3 5 7 8 10 12 and 2."""
    for key, strings in (("G", "654"), ("C", "543"), ("F", "432")):
        found = material(key=key, strings=strings)
        assert [found.answer(card).root.fret for card in found.cards.values()] == [3, 5, 7, 8, 10, 12, 2]


def test_a_focused_key_spells_its_chords():
    """In Gb the IV is Cbmaj7, with a word that it sounds as B; its card is the same as Bmaj7's."""
    found = material(key="Gb", strings="543")
    card = next(card for card in found.cards.values() if card.chord.root.name == "Cb")
    assert card.prompt == "Cbmaj7, strings 5-4-3"
    assert card.note == "Cb sounds as B"
    assert card.id == "E2A2D3G3B3E4/arpeggio/B/maj7/543/name"


def test_degree_prompts_are_called_by_degree():
    """The keys deck asks degrees, and each card says which in its id."""
    deck = read_deck(find_deck("keys", None))
    found = gather(deck, Neck(), focus=parse_focus(TABLE, key="Bb", strings="654"))
    assert [card.call for card in found.cards.values()] == [
        "I of Bb", "ii of Bb", "iii of Bb", "IV of Bb", "V of Bb", "vi of Bb", "vii of Bb",
    ]  # fmt: skip
    card = list(found.cards.values())[1]
    assert card.id == "E2A2D3G3B3E4/arpeggio/C/m7/654/degree-Bb-ii"
    assert "degree:Bb-ii" in card.skills


def test_new_material_comes_in_a_teachers_order():
    """maj7 and m7 on 6-5-4 in friendly keys first, then 7 and m7b5, then the other roots; 4-3-2 last (rule B3b)."""
    cards = list(material().cards.values())
    calls = [(card.chord.name, card.strings.id) for card in cards]
    assert set(calls[:8]) == {(root + quality, "654") for quality in ("maj7", "m7") for root in ("C", "F", "Bb", "G")}
    assert {card.chord.quality.name for card in cards[8:16]} == {"7", "m7b5"}
    assert len({card.stage for card in cards[:8]}) == 1
    assert cards[8].stage > cards[7].stage
    sets = [strings for _, strings in calls]
    assert sets == sorted(sets, reverse=True)


def test_what_is_met_first_lies_where_the_hand_stretches_least():
    """Rule E: new stretches up the neck first. On 6-5-4 C and Bb (roots at 8 and 6) come before G and F (3 and 1).

    The spans are those of rule C1 ( maj7 from a fret below the root to two above, m7 from the root to three above),
    the distances those of equal temperament, L (1 - 2^(-n/12)) with L = 648 mm.
    """

    def span(low, high):
        return 648 * (2 ** (-low / 12) - 2 ** (-high / 12))

    roots = {"C": 8, "Bb": 6, "G": 3, "F": 1}
    names = [card.chord.name for card in material().cards.values()][:8]
    assert names[:4] == ["Cmaj7", "Bbmaj7", "Cm7", "Bbm7"]
    reach = {f"{root}maj7": span(fret - 1, fret + 2) for root, fret in roots.items()}
    reach |= {f"{root}m7": span(fret, fret + 3) for root, fret in roots.items()}
    assert names[4:] == sorted(names[4:], key=reach.get)
    assert max(map(reach.get, names[:4])) < min(map(reach.get, names[4:]))


def test_a_deck_that_names_its_roots_keeps_their_order(tmp_path):
    """A teacher's order is not changed: neither by fourths nor for the hand's sake; the first four come first."""
    path = tmp_path / "own.toml"
    path.write_text(
        'title = "Own"\n[[material]]\nqualities = ["maj7", "7"]\nstring_sets = ["654"]\n'
        'roots = ["F", "Eb", "G", "Db", "A", "Bb"]\n',
        encoding="utf-8",
    )
    found = gather(read_deck(path), Neck())
    names = [card.chord.root.name for card in found.cards.values()]
    assert names == ["F", "Eb", "G", "Db"] * 2 + ["A", "Bb"] * 2


def test_look_alikes_differ_in_one_note_by_one_fret():
    """m7 and m7b5 are kept apart, 7 and maj7 too; maj7 and m7 are not alike (rule B6)."""
    found = material(strings="654")
    by_quality = {card.chord.quality.name: card.skills[0] for card in found.cards.values()}
    alike = found.rules().look_alikes
    assert alike[by_quality["m7"]] == {by_quality["m7b5"]}
    assert alike[by_quality["7"]] == {by_quality["maj7"]}


@pytest.mark.parametrize("path", list_decks(None), ids=lambda path: path.stem)
@pytest.mark.parametrize("tuning", ["standard", "drop-d", "seven-low-b", "bass", "ukulele"])
def test_every_shipped_deck_gives_cards_or_reasons_in_every_tuning(path, tuning):
    """Whatever does not fit an instrument is named, never silently dropped; ids are unique."""
    deck = read_deck(path)
    found = gather(deck, Neck(tuning=read_tunings()[tuning].tuning))
    assert all(entry.reason for entry in found.left_out)
    assert len(found.cards) + len(found.left_out) > 0
    for card in found.cards.values():
        assert card.id.startswith(found.finder.tuning.id + "/")
        question = found.question(card, Random(0))
        assert all(shape.notes for shape in question.shapes)
        assert question.shapes or question.said  # a note, or a spelling, is no shape


def test_an_empty_focus_is_refused():
    """A focus that leaves nothing says so, and names the option without which there would be cards."""
    deck = read_deck(find_deck("keys", None))
    for given, told in (
        ({"quality": "dim7", "key": "C"}, "--quality empties it"),
        ({"quality": "dim7"}, "--quality empties it"),
        ({"quality": "dim7", "key": "C", "root": "Db"}, "--quality, --root, --key together empty it"),
        ({"root": "Db", "key": "C"}, "--root or --key empties it"),
    ):
        with pytest.raises(DeckError, match=f"leaves nothing to ask: {told}"):
            gather(deck, Neck(), focus=parse_focus(TABLE, **given))


def test_a_deck_whose_own_lines_have_nothing_in_common_names_the_line():
    """A block of dim7 chords in a major key, which has none, names the line without which there would be cards."""
    deck = read_deck(find_deck("keys", None))
    block = replace(deck.blocks[0], qualities=("dim7",), keys=(parse_key("C"),), roots=())
    with pytest.raises(DeckError, match="makes no card: in block 1 the line qualities leaves nothing of the others"):
        gather(replace(deck, blocks=(block,)), Neck())


def test_every_card_fits_forty_columns():
    """Drawn or upright, with all that is said beside it, no answer of the largest deck is wider than 40."""
    from drills.diagrams.answer import answer_lines

    found = material(deck=read_deck(find_deck("everything", None)))
    for card in found.cards.values():
        for box in (False, True):
            lines = answer_lines(found.answer(card), 6, width=40, box=box)
            assert max(map(len, lines)) <= 40, lines
