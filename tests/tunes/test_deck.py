"""A tune as a deck: stops, joints, weights and cards.

The twelve-bar blues in F from string 5 is drills/RULES.md, G19; how often each stop and joint comes
was counted by hand from that line.
"""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.cards.focus import parse_focus
from drills.cards.material import gather
from drills.changes.changes_reading import parse_changes
from drills.errors import DrillsError, PathError
from drills.harmony.transpose import transposed
from drills.neck.neck import Neck
from drills.neck.tuning import read_tunings
from drills.theory.quality import shipped_qualities
from drills.tunes.tune_deck import stops_and_joints, tune_deck, tune_reader
from scheduler.planning.planner import Planner
from tests.strategies import progressions

TABLE = shipped_qualities()
BLUES = "F7 Bb7 F7 F7 Bb7 Bdim7 F7 D7 Gm7 C7 F7 C7"


def cards_of(changes, starts=(), neck=Neck(), transpose="", **focus):
    deck = tune_deck(changes, transpose=transpose, starts=starts)
    return gather(deck, neck, focus=parse_focus(TABLE, **focus), tune_reader=tune_reader())


def test_the_blues_counted_by_hand():
    """G19's path, F(5/8) Bb(4/8) F F Bb B(4/9) F D(6/10) G(5/10) C(4/10) F(5/8) C(6/8), then back to F(5/8):
    the two F7 of bars 3 and 4 are one stop, so that a chorus has 11 stops and 11 joints."""
    found = cards_of(BLUES, starts=(5,))
    weights = {card.prompt: card.weight for card in found.cards.values()}
    assert weights == {
        "F7, strings 5-4-3": 4, "Bb7, strings 4-3-2": 2, "Bdim7, strings 4-3-2": 1, "D7, strings 6-5-4": 1,
        "Gm7, strings 5-4-3": 1, "C7, strings 4-3-2": 1, "C7, strings 6-5-4": 1,
        "F7 to Bb7, no gap: 5-4-3, then 4-3-2": 2, "Bb7 to F7, no gap: 4-3-2, then 5-4-3": 1,
        "Bb7 to Bdim7, no gap: both on 4-3-2": 1, "Bdim7 to F7, no gap: 4-3-2, then 5-4-3": 1,
        "F7 to D7, no gap: 5-4-3, then 6-5-4": 1, "D7 to Gm7, no gap: 6-5-4, then 5-4-3": 1,
        "Gm7 to C7, no gap: 5-4-3, then 4-3-2": 1, "C7 to F7, no gap: 4-3-2, then 5-4-3": 1,
        "F7 to C7, no gap: 5-4-3, then 6-5-4": 1, "C7 to F7, no gap: 6-5-4, then 5-4-3": 1,
    }  # fmt: skip
    joints = Counter(card.skills[-1] for card in found.cards.values() if card.to)
    assert joints["joint:7-7:1,0"] == 2, "F7 to Bb7 in bars 1 and 4, and the way back to the top, are one joint"
    assert found.left_out == ()
    where = {card.prompt: card.context for card in found.cards.values()}
    assert where["F7, strings 5-4-3"] == "bars 1, 3, 7, 11" and where["Bdim7, strings 4-3-2"] == "bar 6"
    assert where["C7 to F7, no gap: 6-5-4, then 5-4-3"] == "bars 12 to 1"


def test_an_ordinary_stop_is_the_ordinary_card():
    """The card of C7 on 6-5-4 has the id and the skills it has in the first deck."""
    from drills.cards.deck import find_deck, read_deck

    first = gather(read_deck(find_deck("first", None)), Neck()).cards
    stops = {card.id: card for card in cards_of(BLUES).cards.values() if card.to is None}
    shared = stops.keys() & first.keys()
    assert len(shared) == len([card for card in stops.values() if card.chord.quality.name != "dim7"])
    assert all(stops[card].skills == first[card].skills for card in shared)


def test_three_passes_weigh_a_chorus_once():
    """ii-V-I from strings 6, 5 and 4 (G18): three stops and, with the way back, three joints a chorus."""
    found = stops_and_joints(parse_changes("Cm7 F7 Bbmaj7"), Neck())
    assert sum(stop.weight for stop in found.stops) == pytest.approx(3)
    assert sum(joint.weight for joint in found.joints) == pytest.approx(3)
    assert {stop.strings.id for stop in found.stops} == {"654", "543", "432"}
    alone = stops_and_joints(parse_changes("Cm7 F7 Bbmaj7"), Neck(), (6,))
    assert [stop.strings.id for stop in alone.stops] == ["654", "543", "432"]
    assert [(stop.stage, joint.stage) for stop, joint in zip(alone.stops, alone.joints, strict=True)] == [(0, 2)] * 3


def test_a_shape_is_met_at_its_highest_place_first():
    """A blues in Bb from string 6, its path read off rule D1 by hand. The low places wait: a reach
    is wider there ("start new stretches at fret 7 or above", rule E), and Bb(5/1) would be met with an open D."""
    blues = "| Bb7 | Eb7 | Bb7 | Fm7 Bb7 | Eb7 | Edim7 | Bb7 | Dm7b5 G7alt | Cm7 | F7 | Bb7 G7 | Cm7 F7 |"
    found = stops_and_joints(parse_changes(blues), Neck(), (6,))
    order = {0: set(), 1: set()}
    for stop in found.stops:
        order[stop.stage].add(f"{stop.chord.name} {stop.strings.id}")
    # 7: Bb(6/6) over G(6/3); Eb(5/6) over Bb(5/1); Bb(4/8) over G(4/5), F(4/3). m7: F(5/8) over C(5/3).
    assert order[0] == {"Bb7 654", "Eb7 543", "Bb7 432", "Fm7 543", "Edim7 543", "Dm7b5 543"}
    assert order[1] == {"G7 654", "Bb7 543", "G7 432", "F7 432", "Cm7 543"}


def _comings(text):
    """Stops of one chorus counted from the text alone: a chord, and each one that differs from the one before."""
    chords = [slot.chord for bar in parse_changes(text).bars for slot in bar.chords if slot.chord]
    return [b for a, b in zip([None, *chords], chords, strict=False) if a is None or not a.same_sound(b)]


@given(progressions(10))
def test_weights_sum_to_a_chorus(text):
    """Stops to the chords come to, joints to the same less none, or one where the first chord is held over the top."""
    found = stops_and_joints(parse_changes(text), Neck())
    chords = _comings(text)
    held = chords[0].same_sound(chords[-1])
    assert sum(stop.weight for stop in found.stops) == pytest.approx(len(chords))
    assert sum(joint.weight for joint in found.joints) == pytest.approx(len(chords) - held)
    begun = {(stop.chord, stop.strings) for stop in found.stops}
    assert all((joint.before.chord, joint.before.strings) in begun for joint in found.joints)


@given(progressions(10), st.sampled_from([(), (6,), (5,), (4,)]))
def test_every_chord_of_the_tune_has_a_card(text, starts):
    """On the usual neck nothing is missing, and nothing is asked that the tune does not hold."""
    found = cards_of(text, starts)
    wanted = {(chord.root.pitch_class, chord.quality.name) for chord in _comings(text)}
    asked = {(c.chord.root.pitch_class, c.chord.quality.name) for c in found.cards.values() if c.to is None}
    assert asked == wanted


@given(progressions(8), st.integers(12, 15))
def test_a_chord_that_fits_nowhere_on_its_path_is_asked_where_it_fits(text, top_fret):
    """Also on a short neck every chord has a card, and what is left out says why."""
    neck = Neck(top_fret=top_fret)
    found = cards_of(text, (6,), neck)
    asked = {(c.chord.root.pitch_class, c.chord.quality.name) for c in found.cards.values() if c.to is None}
    assert asked == {(chord.root.pitch_class, chord.quality.name) for chord in _comings(text)}
    assert all("fret" in left.reason or "mm" in left.reason for left in found.left_out)


@given(progressions(8), st.sampled_from(["m2", "M2", "m3", "M3", "P4", "P5", "m6", "m7"]))
def test_transposing_the_tune_transposes_the_cards(text, interval):
    """The same chords a step higher, as often as before; along the same strings the same joints."""
    page = parse_changes(text)
    here, there = stops_and_joints(page, Neck(), (6,)), stops_and_joints(transposed(page, interval), Neck(), (6,))
    up = {"m2": 1, "M2": 2, "m3": 3, "M3": 4, "P4": 5, "P5": 7, "m6": 8, "m7": 10}[interval]

    def chords(found, by):
        total = Counter()
        for stop in found.stops:
            total[(stop.chord.root.pitch_class + by) % 12, stop.chord.quality.name] += stop.weight
        return total

    assert chords(here, up) == chords(there, 0)


def test_a_tune_in_another_key():
    """The blues asked for in Bb has Bb7 where F7 was, and joints it shares with F."""
    here, there = cards_of("blues-in-f", (6,)), cards_of("blues-in-f", (6,), transpose="Bb")
    assert {c.chord.name for c in there.cards.values()} == {"Bb7", "Eb7", "Edim7", "G7", "Cm7", "F7"}
    assert {c.skills[-1] for c in here.cards.values() if c.to} & {c.skills[-1] for c in there.cards.values() if c.to}


def test_sections_are_named_beside_the_bars():
    """The player reads where in the form a card comes."""
    page = "form: A B A\n[A]\n| Cm7 | F7 |\n[B]\n| Bbmaj7 | F7 |"
    where = {card.prompt: card.context for card in cards_of(page, (6,)).cards.values()}
    assert where["Cm7, strings 6-5-4"] == "bars 1 (A), 5 (A)"
    assert where["Bbmaj7, strings 4-3-2"] == "bar 3 (B)"
    assert where["F7, strings 5-4-3"] == "bars 2 (A), 4 (B), 6 (A)"


def test_a_focus_narrows_a_tune():
    """By set, quality, root, key and kind of prompt; a joint stays when both its ends do."""
    assert {c.strings.id for c in cards_of(BLUES, strings="543").cards.values()} == {"543"}
    assert {c.chord.quality.name for c in cards_of(BLUES, quality="m7,dim7").cards.values()} == {"m7", "dim7"}
    assert {c.chord.name for c in cards_of(BLUES, root="A#,F").cards.values()} == {"F7", "Bb7"}
    assert {c.chord.name for c in cards_of(BLUES, key="F").cards.values()} == {"Gm7", "C7"}
    assert all(c.to for c in cards_of(BLUES, prompt="transition").cards.values())
    assert not any(c.to for c in cards_of(BLUES, prompt="name").cards.values())
    with pytest.raises(DrillsError, match="focus leaves nothing"):
        cards_of(BLUES, form="grip")


def test_a_tune_asked_away_from_the_guitar():
    """Its roots to find and its chords to spell, each once, weighed by how often the chord comes in a chorus."""
    found = {card.prompt: card for card in cards_of(BLUES, prompt="spell,note").cards.values()}
    spelled = {card.chord.name: card.weight for card in found.values() if card.kind == "spell"}
    assert spelled == pytest.approx({"F7": 4, "Bb7": 2, "Bdim7": 1, "D7": 1, "Gm7": 1, "C7": 2})
    roots = [card for card in found.values() if card.kind == "note"]
    assert sum(card.weight for card in roots) == pytest.approx(11)
    skills = {skill for card in cards_of(BLUES).cards.values() for skill in card.skills}
    assert all(skill in skills for card in roots for skill in card.skills if skill.startswith("root:"))
    away = cards_of(BLUES, away=True).cards.values()
    assert {card.kind for card in away} >= {"spell", "note", "diagram"}
    assert not any(card.context for card in away), "the bars would tell which chord a diagram shows"


def test_extended_and_slash_chords_are_asked_as_their_seventh_chord():
    """Rule D1: C13 is C7, and a slash chord goes by its root."""
    found = cards_of("| C13 | F7/A |", (6,))
    assert {card.call for card in found.cards.values()} == {"C7", "F7", "C7 to F7", "F7 to C7"}


def test_tunes_of_nothing_much():
    """One chord has no joints; twenty bars without a chord are refused in words; N.C. between chords is passed over."""
    one = cards_of("| C7 | % | C7 |", (6,))
    assert [card.call for card in one.cards.values()] == ["C7"]
    with pytest.raises(PathError, match="no chord"):
        cards_of("|" + " N.C. |" * 20)
    assert {card.call for card in cards_of("| C7 | N.C. | F7 |", (6,)).cards.values()} >= {"C7 to F7"}


def test_a_string_without_roots_is_refused_and_named():
    """Starting from string 2 is not offered."""
    with pytest.raises(PathError, match="string 2 is not among the root strings 6, 5, 4"):
        cards_of(BLUES, (2,))


def test_a_tune_of_which_nothing_fits_is_all_left_out_with_reasons():
    """Rule G10: Emaj7 at fret 12 needs fret 14. No card, and the reason stands beside the prompt."""
    found = cards_of("| Emaj7 | % |", (), Neck(top_fret=12, root_frets=(12, 12)))
    assert not found.cards
    assert found.left_out[0].prompt == "Emaj7, strings 6-5-4"
    assert "needs fret 14" in found.left_out[0].reason


def test_other_instruments():
    """A bass and a seven-string walk their own root strings; open roots stay with the frets that cards use."""
    tunings = read_tunings()
    for name in ("bass", "seven-low-b", "drop-d"):
        found = cards_of(BLUES, (), Neck(tuning=tunings[name].tuning))
        assert {c.chord.name for c in found.cards.values()} == {"F7", "Bb7", "Bdim7", "D7", "Gm7", "C7"}
    opened = cards_of("| E7 | A7 |", (6,), Neck(open_roots=True)).cards
    closed = cards_of("| E7 | A7 |", (6,)).cards
    assert opened.keys() == closed.keys()


PIECES = st.sampled_from(
    ["C7", "F7/A", "Bbmaj7", "Dm7b5", "G7alt", "Cb", "E#m7", "B#7", "F##m7", "Gsus4", "Eaug", "C13#11", "C5", "H7",
     "N.C.", "%", "|", "|:", ":|", "|1.", "|2.", "[A]", "[B] key: Bb", ";", "metre: 3/4;", "*2", ".", "{Dorian}",
     "form: A A;", ""]
)  # fmt: skip


@settings(max_examples=400)
@given(st.lists(PIECES, max_size=14), st.sampled_from([(), (6,), (4,), (2,)]), st.integers(2, 15))
def test_any_text_makes_a_deck_or_a_line(pieces, starts, top_fret):
    """Whatever is written: cards a planner takes (weights above 0, ids once), or one line that says why not."""
    try:
        found = cards_of(" ".join(pieces), starts, Neck(top_fret=top_fret))
    except DrillsError as error:
        assert str(error) and "\n" not in str(error)
        return
    assert len(Planner(found.specs()).cards) == len(found.cards)
    assert found.cards or found.left_out
