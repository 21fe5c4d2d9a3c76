"""Other instruments: what the ears reach; a bass is heard by deeper combs, a guitar as before."""

from __future__ import annotations

import json

import pytest

from drills.listening.comb import DEEPEST_MIDI, HIGHEST_MIDI, LOWEST_MIDI, Comb, comb_reaching, in_reach
from drills.listening.ears import hear
from drills.listening.heard import Frame, Target
from drills.listening.proposal import propose
from drills.listening.verdict import judge
from tests.listening.plucked import RATE, save, take

INSTRUMENTS = {"bass": 28, "seven strings": 35, "guitar": 40, "ukulele": 60, "mandolin": 55}
"""MIDI numbers of the lowest open strings: E1, B1, E2, C4 and G3 in the usual tunings."""


def _verdict(pitches, asked, lowest):
    sound = take([(0.6 + 0.6 * number, midi) for number, midi in enumerate(pitches)])
    return judge(hear([Frame(0.0, sound)], RATE, comb_reaching(lowest)), Target(tuple(asked)))


@pytest.mark.parametrize("lowest", INSTRUMENTS.values(), ids=INSTRUMENTS)
def test_every_instrument_is_heard_from_its_lowest_string_up(lowest):
    """A minor seventh from the lowest string and from an octave up: right is clean, a semitone off is found."""
    for root in (lowest, lowest + 12):
        asked = [root + step for step in (0, 3, 7, 10, 12)]
        assert propose(_verdict(asked, asked, lowest)).grade == "clean"
        wrong = [*asked[:2], asked[2] + 1, *asked[3:]]
        found = _verdict(wrong, asked, lowest)
        assert found.notes[2].heard == wrong[2] and propose(found).grade == "looked"


def test_deeper_combs_are_used_only_where_they_are_needed():
    """Whatever has no string below A1 is heard by the very comb that was measured on guitars."""
    assert [comb_reaching(lowest) == Comb() for lowest in INSTRUMENTS.values()] == [False, True, True, True, True]
    assert comb_reaching(28).lowest == DEEPEST_MIDI and comb_reaching(12).lowest == DEEPEST_MIDI
    assert (LOWEST_MIDI, DEEPEST_MIDI, HIGHEST_MIDI) == (33, 26, 90)


def test_what_lies_out_of_reach_is_not_judged():
    """D1 to F#6, both with them."""
    assert in_reach((26, 90)) and not in_reach((25, 40)) and not in_reach((60, 91))


def test_the_command_hears_a_bass(tmp_path, neckwork):
    """With the tuning of a bass; an instrument of contrabasses is refused with the notes that can be heard."""
    arguments = ("Cm7", "--tuning", "E1A1D2G2", "--json")
    shown = json.loads(neckwork("shape", *arguments).out)
    asked = [note["midi"] for note in shown[0]["notes"]]
    assert min(asked) < LOWEST_MIDI + 6
    sound = take([(0.6 + 0.6 * number, midi) for number, midi in enumerate(asked)])
    path = str(save(tmp_path / "bass.wav", sound))
    found = json.loads(neckwork("listen", *arguments, "--wav", path).out)
    assert found["proposal"]["grade"] == "clean"
    low = neckwork("listen", "Cm7", "--tuning", "E0A0D1G1", "--wav", path)
    assert low.code == 1 and "only notes from D1 to F#6 can be heard" in low.err
