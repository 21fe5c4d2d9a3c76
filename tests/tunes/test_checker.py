"""The line checker: the rules' own lines pass, and every hard rule of D4 has a line that breaks it."""

from __future__ import annotations

import ast
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from drills.lines import checker, checker_hand
from drills.lines.checker import RULES, check_line
from drills.neck.tuning import STANDARD
from drills.theory.note import Note, pitch_of
from tests.tunes.rule_lines import LINES, written


def rules(line, **options) -> set[str]:
    """The numbers of the rules a line breaks."""
    return {fault.rule for fault in check_line(line, **options)}


def changed(letter: str, old: str, new: str, bar: int, **fingers):
    """A line of the rules with one place written otherwise in one bar."""
    changes, places, held = LINES[letter]
    bars = places.split("|")
    assert old in bars[bar - 1]
    bars[bar - 1] = bars[bar - 1].replace(old, new, 1)
    return written(changes, "|".join(bars), fingers.get("held", held))


@pytest.mark.parametrize("letter", LINES)
def test_the_rules_lines_pass(letter):
    """Lines A, B and C of drills/RULES.md, D3, break no hard rule within the frets they use."""
    line = written(*LINES[letter])
    frets = [note.fret for note in line.notes]
    assert check_line(line, frets=(min(frets), max(frets)), most_frets=15) == ()


def test_the_rules_mutation_is_refused():
    """With E natural for the F on beat 3 of bar 2 of line A, the checker objects (rule G22)."""
    faults = check_line(changed("A", "F(3/10)", "E(3/9)", 2))
    assert "1" in {fault.rule for fault in faults}
    first = next(fault for fault in faults if fault.rule == "1")
    assert (first.bar, first.beat) == (2, 3)
    assert "E(3/9) on beat 3 is no note of F7" in str(first)


def test_rule_1_a_note_outside_the_chord_on_beat_one():
    """D natural does not stand on beat 1 of Cm7."""
    assert "1" in rules(changed("A", "C(6/8) D(6/10)", "D(6/10) C(6/8)", 1))


def test_rule_2_the_fourth_on_a_beat():
    """The fourth of F7 on beat 2 is refused; between beats it stands."""
    assert "2" in rules(changed("A", "Eb(3/8) G(2/8)", "Bb(3/3) G(2/8)", 2))
    assert "2" not in rules(changed("A", "Eb(3/8) G(2/8)", "Eb(3/8) Bb(2/11)", 2))


def test_rule_2_the_root_held_over_a_major_seventh():
    """Ending on the root of Bbmaj7, held for two beats, is refused."""
    assert "2" in rules(changed("A", "G(2/8) F(3/10)", "G(2/8) Bb(3/15)", 3))


def test_rule_2_the_flat_second_on_iii():
    """F held over Em7 as iii of C is refused; over Em7 as ii of D it is another scale's note, not this rule's."""
    places, fingers = "E(5/7) G(5/10) F(5/8) G(5/10) B(4/9)", "1 4 2 4 3"
    home = "key: C\n| Em7 | Am7 | Dm7 | G7 | Cmaj7 |"
    assert "2" in rules(written(home, places + " | " * 4, fingers + " | " * 4))


def test_rule_3_a_wide_join():
    """A bar line crossed by a fifth is refused."""
    assert "3" in rules(changed("A", "D(3/7) F(3/10)", "F(3/10) D(3/7)", 3))


def test_rule_3_a_chord_that_is_not_told():
    """Root and fifth alone in the first two beats do not tell F7."""
    line = changed("A", "A(4/7) C(4/10) Eb(3/8) G(2/8)", "F(5/8) C(4/10) F(3/10) C(4/10)", 2)
    assert any("neither 3rd nor 7th of F7" in fault.message for fault in check_line(line))


def test_rule_4_a_seventh_left_hanging():
    """The 7th of C7 must fall when Fmaj7 comes; rising to C it hangs."""
    line = changed("C", "A(3/2) C(3/5)", "C(3/5) A(3/2)", 3)
    assert "4" in rules(line)


def test_rule_5_a_leap_that_does_not_step_back():
    """A leap of a tenth upward that goes on upward is refused."""
    line = changed("B", "D(5/5) F(5/8) Ab(4/6) C(3/5)", "D(5/5) F(2/6) Ab(1/4) C(3/5)", 1)
    assert "5" in rules(line)


def test_rule_5_two_leaps_that_spell_nothing():
    """A tritone and a fifth upward spell no chord; two fourths spell a suspended one."""
    nothing = changed("A", "C(6/8) D(6/10) Eb(6/11) F(5/8)", "C(6/8) Gb(5/9) Db(4/11) F(5/8)", 1)
    suspended = changed("A", "C(6/8) D(6/10) Eb(6/11) F(5/8)", "C(6/8) F(5/8) Bb(4/8) F(5/8)", 1)
    assert any("spell no chord" in fault.message for fault in check_line(nothing))
    assert not any("spell no chord" in fault.message for fault in check_line(suspended))


def test_rule_6_a_note_twice_running():
    """The same note twice running is refused."""
    assert "6" in rules(changed("A", "F(3/10) G(2/8)", "G(2/8) G(2/8)", 2))


def test_rule_6_rocking():
    """Two notes may rock twice; the third time is refused."""
    twice = changed("A", "F(5/8) G(5/10) C(4/10) Bb(4/8) G(5/10)", "G(5/10) Eb(6/11) G(5/10) Bb(4/8) G(5/10)", 1)
    thrice = changed("A", "F(5/8) G(5/10) C(4/10) Bb(4/8) G(5/10)", "G(5/10) Eb(6/11) G(5/10) Eb(6/11) G(5/10)", 1)
    assert "6" not in rules(twice)
    assert "6" in rules(thrice)


def test_rule_7_a_wrong_name():
    """D# over Cm7 is refused: it is Eb."""
    faults = check_line(changed("A", "Eb(6/11)", "D#(6/11)", 1))
    assert [fault.message for fault in faults if fault.rule == "7"] == ["D# over Cm7 is spelled Eb"]


def test_rule_8_fingers():
    """A hop of one finger, a crossed hand, a stretch over six frets and a fret outside the window are refused."""
    changes, places, held = LINES["A"]
    assert "8" in rules(written(changes, places, held.replace("1 3 4 1 3 4 1 3", "1 3 4 4 3 4 1 3")))
    assert "8" in rules(written(changes, places, held.replace("1 3 4 1 3 4 1 3", "4 3 4 1 3 4 1 3")))
    wide = written("Gm7", "Bb(4/8) D(4/12) A(4/7)", "1 4 1")
    assert any("over 6 frets" in fault.message for fault in check_line(wide))
    assert any("outside frets 7 to 10" in f.message for f in check_line(written(*LINES["A"]), frets=(7, 10)))


def test_rule_8_the_hand_moves_only_between_groups():
    """A move inside a group of eighths is refused in tempo and allowed out of it; after a rest it is allowed too."""
    line = written("Cm7 F7", "C(6/8) Eb(6/11) G(4/5) Bb(4/8) | A(4/7)", "1 4 1 4 | 3")
    assert rules(line) == {"8"}
    assert rules(line, tempo=False) == set()
    notes = (replace(note, length=Fraction(1, 4)) if index == 1 else note for index, note in enumerate(line.notes))
    rested = replace(line, notes=tuple(notes))
    assert rules(rested) == set()


def test_rule_9_off_the_instrument():
    """A fret beyond the neck and a name that is not what the string sounds are refused."""
    line = written(*LINES["A"])
    assert "9" in rules(line, most_frets=10)
    note = replace(line.notes[0], pitch=pitch_of(Note.parse("C"), STANDARD.midi(6, 8) + 12))
    assert "9" in rules(replace(line, notes=(note, *line.notes[1:])))


def test_every_rule_has_a_name():
    """Faults speak of the nine hard rules and no others."""
    assert list(RULES) == list("123456789")


def test_the_checker_shares_no_code_with_the_search():
    """Neither module of the checker imports anything the search of lines is made of."""
    search = "etude etude_options etude_search etude_steps etude_why hands rhythm laying spans"
    made_of = set(search.split())
    for module in (checker, checker_hand):
        tree = ast.parse(Path(module.__file__).read_text(encoding="utf-8"))
        imported = {node.module.split(".")[-1] for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
        assert imported and not imported & made_of
