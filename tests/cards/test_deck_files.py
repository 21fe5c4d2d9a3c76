"""Deck files: what they may hold, and how a wrong one is answered."""

from __future__ import annotations

from datetime import date

import pytest

from drills.cards.deck import find_deck, list_decks, read_deck
from drills.cards.material import gather
from drills.errors import DeckError
from drills.neck.neck import Neck


def write(tmp_path, text, name="mine"):
    path = tmp_path / f"{name}.toml"
    path.write_text(text, encoding="utf-8")
    return path


GOOD = '[[material]]\nqualities = ["m7"]\nstring_sets = ["432"]\n'


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('titel = "x"\n' + GOOD, "line 1: titel: expected a key of title"),
        ("title = 3\n" + GOOD, "line 1: title: expected text, got 3"),
        ('[[material]]\nqualities = ["m8"]\nstring_sets = ["432"]\n', "line 2: material 1, qualities: expected one of"),
        (
            '[[material]]\nqualities = ["m7"]\nstring_sets = ["456"]\n',
            "line 3: material 1, string_sets: expected falling",
        ),
        (
            '[[material]]\nqualities = ["m7"]\nstring_sets = [432]\n',
            "line 3: material 1, string_sets: expected a list of text",
        ),
        ('[[material]]\nqualities = "m7"\nstring_sets = ["432"]\n', "line 2: material 1, qualities: expected a list"),
        ('[[material]]\nstring_sets = ["432"]\n', "qualities: expected at least one quality, or keys"),
        (
            GOOD + '[[material]]\nqualities = ["7"]\nstring_sets = ["432"]\nforms = ["arp"]\n',
            "line 7: material 2, forms",
        ),
        (GOOD + 'keys = ["H"]\n', "line 4: material 1, keys: expected such as Bb"),
        (GOOD + 'prompts = ["colour"]\n', "line 4: material 1, prompts: expected of name"),
        (GOOD + "from_week = 0\n", "line 4: material 1, from_week: expected 1 or more"),
        (GOOD + "[limits]\nnew_forms = -1\n", "line 5: limits, new_forms: expected 0 or more"),
        (GOOD + "[neck]\ntop_fret = 99\n", "line 5: neck, top_fret: expected a fret from 1 to 36"),
        (GOOD + '[fingerings]\n"m7" = "1"\n', "fingerings, m7: expected a key such as"),
        (GOOD + '[names]\nm7 = "7"\n', "names, m7: expected a symbol that means m7"),
        ('title = "none"\n', "material: expected at least one"),
        ("= nonsense", "not readable as TOML"),
        ('[material]\nqualities = ["m7"]\n', "two brackets"),
        ('include = ["nowhere"]\n', "line 1: include: expected the name or path of another deck"),
    ],
)
def test_a_wrong_deck_is_answered_with_file_line_and_key(tmp_path, text, says):
    """The message names the file and the place, what was expected and what came, in one line."""
    path = write(tmp_path, text)
    with pytest.raises(DeckError) as caught:
        read_deck(path)
    message = str(caught.value)
    assert str(path) in message
    assert says in message
    assert "\n" not in message


def test_a_loop_of_includes_is_refused(tmp_path):
    """Two decks that include one another are named."""
    write(tmp_path, 'include = ["b"]\n', "a")
    write(tmp_path, 'include = ["a"]\n', "b")
    with pytest.raises(DeckError, match="loop"):
        read_deck(tmp_path / "a.toml")


def test_a_students_deck_may_be_one_small_file(tmp_path):
    """It includes the teacher's template and narrows it; limits and neck are the student's own."""
    write(tmp_path, GOOD + '[limits]\nnew_forms = 1\n[fingerings]\n"m7b5 432" = "1 4 2 2 4"\n', "template")
    path = write(tmp_path, 'title = "Student 1"\ninclude = ["template"]\n[neck]\ntop_fret = 12\n', "student")
    deck = read_deck(path)
    assert deck.limits == {"form": 1}
    assert deck.neck == {"top_fret": 12}
    assert ("arpeggio", "m7b5", "432") in deck.fingerings


def test_material_is_released_week_by_week(tmp_path):
    """A block with from_week = 3 is met from the third week after the start."""
    text = "starts = 2026-09-07\n" + GOOD + '[[material]]\nqualities = ["7"]\nstring_sets = ["432"]\nfrom_week = 3\n'
    deck = read_deck(write(tmp_path, text))
    assert len(gather(deck, Neck(), today=date(2026, 9, 20)).cards) == 12
    assert len(gather(deck, Neck(), today=date(2026, 9, 21)).cards) == 24
    assert len(gather(deck, Neck()).cards) == 24


def test_a_teachers_fingering_holds_wherever_the_form_appears(tmp_path):
    """A locked fingering replaces the search on every root; the player's own lock wins over it."""
    deck = read_deck(write(tmp_path, GOOD.replace("m7", "m7b5") + '[fingerings]\n"m7b5 432" = "1 4 2 2 4"\n'))
    found = gather(deck, Neck())
    assert {found.answer(card).fingers for card in found.cards.values()} == {(1, 4, 2, 2, 4)}
    signature = found.answer(next(iter(found.cards.values()))).signature
    own = gather(deck, Neck(), locks={signature: (1, 4, 2, 3, 4)})
    assert {own.answer(card).fingers for card in own.cards.values()} == {(1, 4, 2, 3, 4)}


def test_a_fingering_no_hand_plays_is_refused(tmp_path):
    """A slip of the pen in a deck is named, with fingers that would do."""
    deck = read_deck(write(tmp_path, GOOD.replace("432", "654") + '[fingerings]\n"m7 654" = "4 1 1 4 1"\n'))
    with pytest.raises(DeckError, match="no hand plays 4 1 1 4 1 there; 1 4 3 1 3 would do"):
        gather(deck, Neck())


def test_a_deck_not_yet_released_says_when(tmp_path):
    """Before the first release the date is named, not a focus nobody gave."""
    deck = read_deck(write(tmp_path, "starts = 2030-01-07\n" + GOOD + "from_week = 2\n"))
    with pytest.raises(DeckError, match="nothing is released before 2030-01-14"):
        gather(deck, Neck(), today=date(2026, 1, 1))


def test_a_teachers_names_are_the_ones_shown(tmp_path):
    """The symbol changes on the prompt, never in the id or the skills."""
    deck = read_deck(write(tmp_path, GOOD + '[names]\nm7 = "-7"\n'))
    card = next(iter(gather(deck, Neck()).cards.values()))
    assert card.prompt == "C-7, strings 4-3-2"
    assert card.id.endswith("/C/m7/432/name")
    assert "spell:Cm7" in card.skills


def test_every_shipped_deck_reads():
    """The shipped decks are there, titled, and say what they are for."""
    decks = [read_deck(path) for path in list_decks(None)]
    assert {"first", "minor", "fourteen", "triads", "everything", "keys", "scales", "two-octaves"} <= {
        d.name for d in decks
    }
    assert all(deck.title and deck.about for deck in decks)


WANTED = {
    "first": "maj7, m7, 7, m7b5 on three sets", "set-654": "each set alone", "set-543": "", "set-432": "",
    "set-321": "", "minor": "minor family", "fourteen": "all fourteen qualities", "grips-drop2": "each grip family",
    "grips-drop3": "", "shells": "", "grips-triads": "", "scales": "scales and modes", "pentatonics": "five positions",
    "scales-three-per-string": "", "two-octaves": "", "triads": "", "everything": "", "keys": "one key at a time",
    "roots": "roots only",
}  # fmt: skip


def test_the_shipped_decks_are_those_of_the_tiers():
    """Every tier and grip family of the rules (B1, B3, B3b) has its deck; each fits a guitar nearly whole."""
    decks = {path.stem: read_deck(path) for path in list_decks(None)}
    assert set(WANTED) <= set(decks)
    for name, deck in decks.items():
        found = gather(deck, Neck())
        assert len(found.cards) >= 5 * len(found.left_out), name


def test_pentatonics_come_in_five_positions_on_all_roots():
    """Twelve roots, two scales, five positions each; the five forms of a scale are five skills."""
    found = gather(read_deck(find_deck("pentatonics", None)), Neck())
    assert len(found.cards) == 12 * 2 * 5 and found.left_out == ()
    assert len({card.skills[0] for card in found.cards.values()}) == 10
    prompts = [card.prompt for card in found.cards.values() if card.chord.root.name == "A"]
    assert prompts[0] == "A minor pentatonic, position 1 of 5, strings 6-5-4-3-2-1"


def test_scales_of_three_notes_a_string_say_what_does_not_fit(tmp_path):
    """The usual mode of each quality from its root; what is left out is named as the scale it is."""
    found = gather(read_deck(find_deck("scales-three-per-string", None)), Neck())
    assert len(found.cards) == 40
    assert "Eb Ionian on 6-5-4-3-2-1 needs fret 16; the top fret is 15" in {left.reason for left in found.left_out}
    card = next(iter(found.cards.values()))
    assert card.prompt == "C Ionian, three notes a string, strings 6-5-4-3-2-1"
    assert card.id == "E2A2D3G3B3E4/scale-ionian-three-per-string/C/maj7/654321/name"


def test_roots_only_asks_each_note_on_each_root_string():
    """Twelve notes on strings 6, 5 and 4 are the 36 root places of the rules (section 0), and nothing else."""
    found = gather(read_deck(find_deck("roots", None)), Neck())
    assert len(found.cards) == 36
    assert {card.kind for card in found.cards.values()} == {"note"}
    assert {skill for card in found.cards.values() for skill in card.skills} == {
        skill
        for card in gather(read_deck(find_deck("first", None)), Neck()).cards.values()
        for skill in card.skills
        if skill.startswith("root:")
    }


def test_decks_are_listed_as_a_teacher_brings_them_in(tmp_path):
    """Rule B1 and B3b: the first tier, its keys and changes, tier 2, all, then other starts; own decks last."""
    (tmp_path / "aaa.toml").write_text('title = "Mine"\ninclude = ["first"]\n', encoding="utf-8")
    (tmp_path / "minor.toml").write_text('title = "My minor"\ninclude = ["first"]\n', encoding="utf-8")
    paths = list_decks(tmp_path)
    names = [path.stem for path in paths]
    taught = ["first", "set-654", "set-543", "set-432", "keys", "minor", "fourteen", "two-octaves"]
    assert [name for name in names if name in taught] == taught
    assert names.index("keys") < names.index("transitions") < names.index("minor")
    assert names.index("fourteen") < names.index("other-starts") <= names.index("two-octaves")
    assert names[-1] == "aaa" and paths[names.index("minor")].parent == tmp_path
    assert names[-2] == "ear", "a shipped deck has no place in the order"
