"""Etude lines stay what they are: the same question has the same answer in every version, note for note."""

from __future__ import annotations

from dataclasses import replace

import pytest

from drills.changes.changes_reading import parse_changes
from drills.errors import EtudeError
from drills.lines.etude_line import change_note, demonstration, etude_line
from drills.lines.etude_options import EtudeOptions
from drills.neck.neck import Neck
from tests.tunes.etude_captures import CAPTURED, NAMES, captures

TURN = parse_changes("| Dm7 | G7 | Cmaj7 |")


@pytest.mark.parametrize("name", NAMES)
def test_a_line_is_found_again_as_it_was_captured(name):
    """Every note with its place, length, finger, degree and reason; written anew by tests/tunes/etude_captures.py."""
    sections = CAPTURED.read_text(encoding="utf-8").split("== ")[1:]
    wanted = [section for section in sections if section.startswith(f"{name}: ")]
    found = "\n".join(captures(name)).split("== ")[1:]
    assert wanted and [each.rstrip() for each in found] == [each.rstrip() for each in wanted]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"difficulty": 0}, "difficulty: expected 1, 2 or 3, got 0"),
        ({"difficulty": 4}, "difficulty: expected 1, 2 or 3, got 4"),
        ({"density": "halves"}, "density: expected one of quarters, eighths, triplets, space, phrases, got 'halves'"),
        ({"direction": "left"}, "direction: expected one of waves, up, down, got 'left'"),
        ({"pitches": (61, 60)}, r"range: expected lowest and highest pitch, got \(61, 60\)"),
        ({"widest_shift": -1}, "widest_shift: expected 0 to 12 frets, got -1"),
        ({"widest_shift": 13}, "widest_shift: expected 0 to 12 frets, got 13"),
    ],
)
def test_options_past_their_limits_are_refused(options, said):
    """The message names the option, what was expected and what came."""
    with pytest.raises(EtudeError, match=f"^etude line, {said}$"):
        EtudeOptions(**options)


def test_options_at_their_limits_are_taken():
    """And the defaults are those that are documented."""
    for options in (
        {"difficulty": 1},
        {"difficulty": 3},
        {"pitches": (60, 60)},
        {"widest_shift": 0},
        {"widest_shift": 12},
    ):
        assert EtudeOptions(**options)
    options = EtudeOptions()
    assert (options.difficulty, options.density, options.direction, options.seed) == (2, "eighths", "waves", 0)
    assert (options.frets, options.pitches, options.widest_shift, options.places) == (None, None, 3, None)
    assert hash(EtudeOptions(places={0: frozenset()})) == hash(EtudeOptions())


@pytest.mark.parametrize(
    ("frets", "fits"),
    [((0, 3), True), ((1, 4), True), ((0, 2), False), ((5, 7), False), ((-1, 5), False), ((12, 15), True),
     ((13, 16), False), ((15, 12), False), ((0, 15), True)],
)  # fmt: skip
def test_a_window_holds_four_frets_or_more_of_the_neck(frets, fits):
    """Within 0 and the highest fret; from fret 1 up where none is asked for."""
    neck = Neck()
    assert neck.highest == 15
    assert EtudeOptions().window(neck) == (1, 15)
    if fits:
        assert EtudeOptions(frets=frets).window(neck) == frets
        return
    said = f"frets: expected four frets or more within 0 to 15, got {frets[0]} to {frets[1]}"
    with pytest.raises(EtudeError, match=said):
        EtudeOptions(frets=frets).window(neck)


def test_a_note_is_changed_by_its_number_from_0():
    """The first and the last can be; numbers before and after are refused with the range."""
    etude = etude_line(TURN, Neck(), EtudeOptions(difficulty=2))
    last = len(etude.line.notes) - 1
    for index in (0, last):
        changed = change_note(etude, index)
        assert changed.line.notes[index].midi != etude.line.notes[index].midi
        assert changed.refused == ((index, etude.line.notes[index].midi),) and changed.fixed == ()
    for index in (-1, last + 1):
        with pytest.raises(EtudeError, match=f"etude line, note {index}: expected 0 to {last}$"):
            change_note(etude, index)


def test_what_was_asked_before_stays_asked():
    """A key wished for stays while another note changes; a new wish for a note takes back what was refused of it."""
    etude = etude_line(TURN, Neck(), EtudeOptions(difficulty=3, seed=4))
    other = change_note(etude, 6)
    third = change_note(other, 9)
    assert third.line.notes[6].midi != etude.line.notes[6].midi
    assert third.refused == tuple(sorted([(6, etude.line.notes[6].midi), (9, other.line.notes[9].midi)]))
    again = change_note(third, 6, etude.line.notes[6].midi)
    assert again.fixed == ((6, etude.line.notes[6].midi),) and again.refused == third.refused[1:]
    assert again.line.notes[6].midi == etude.line.notes[6].midi
    assert change_note(again, 6).fixed == ()


def test_a_wish_that_cannot_be_names_what_may_stand_there():
    """Bar and chord first, then the notes by their names in the chord; a key beyond the window is said the same way."""
    etude = etude_line(TURN, Neck(), EtudeOptions(difficulty=1, frets=(5, 9)))
    with pytest.raises(EtudeError) as caught:
        change_note(etude, 0, 61)
    assert str(caught.value) == (
        "etude line, bar 1, Dm7: that note breaks a hard rule there, or lies outside the frets asked for; what may "
        "stand there is D, F, A, C"
    )
    with pytest.raises(EtudeError, match="bar 1, Dm7: that note breaks a hard rule"):
        change_note(etude, 0, 110)


def test_a_line_without_a_title_and_one_with():
    """The page's title is the line's; two choruses have titles of their own, and their difficulty is set."""
    assert etude_line(TURN, Neck()).line.title == "Etude line"
    first, second = demonstration(parse_changes("title: Turn\n| Dm7 | G7 |"), Neck())
    assert (first.line.title, first.options.difficulty) == ("First chorus: chord tones only", 1)
    assert (second.line.title, second.options.difficulty) == ("Second chorus: the mode too", 2)


def test_nothing_is_drawn_twice_without_need():
    """Rests are drawn anew at most twelve times, and only where they are drawn by chance."""
    page = parse_changes("| Cmaj7 | F7 | Bbmaj7 | Ebmaj7 |")
    narrow = EtudeOptions(pitches=(60, 61))
    for density in ("eighths", "space"):
        with pytest.raises(EtudeError, match="no note on beat"):
            etude_line(page, Neck(), replace(narrow, density=density))
    draws = {etude_line(page, Neck(), EtudeOptions(density="space", seed=seed)).draw for seed in range(12)}
    assert 0 in draws and max(draws) < 12
