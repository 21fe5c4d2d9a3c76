"""A stage over its track: each bar right, wrong, missing or not sure, in its place or not, and a ticket proposed."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.listening.bars import Due, judge_line, propose_ticket
from drills.listening.ears import Ears
from drills.listening.heard import Heard, Judged, NoteVerdict, Verdict
from drills.listening.level import Level
from tests.listening.plucked import RATE, save, take

ASKED = ((53, 57, 60, 63), (58, 62, 65, 68), (53, 57, 60, 63))
"""F7, Bb7, F7, spelled up, a note a beat."""

BEAT_S, FIRST_S = 0.75, 3.0
DUE = tuple(
    Due(place // 4 + 1, (midi,), FIRST_S + place * BEAT_S, FIRST_S + place * BEAT_S)
    for place, midi in enumerate(midi for asked in ASKED for midi in asked)
)


def _events(change=lambda place, event: [event]):
    """Every note as it is due, each as `change` makes it: a list of (seconds, MIDI number, how sure)."""
    return [event for place, due in enumerate(DUE) for event in change(place, (due.from_s, due.pitches[0], 0.9))]


def _verdict(events, track=()):
    heard = tuple(Heard(at, midi, 0.0, sure) for at, midi, sure in sorted(events, key=lambda event: event[0]))
    return judge_line(replace(Ears.start(RATE), heard=heard, level=Level(peak=0.5, taken=RATE)), DUE, track)


def _at(place, *instead):
    """The events with others in one place, given as (seconds later, MIDI number, how sure)."""
    return _events(lambda n, event: [event] if n != place else [(event[0] + at, *rest) for at, *rest in instead])


def _judged(verdict):
    return [[note.judged.value for note in bar.notes] for bar in verdict.bars]


def test_every_note_in_its_place_is_in_time():
    """Three bars right; 50 ms late is still in its place, 70 is not."""
    assert propose_ticket(_verdict(_events())) == (True, "In time, I think.")
    late = _verdict(_events(lambda place, event: [(event[0] + 0.05, *event[1:])]))
    assert propose_ticket(late)[0] is True and set(late.bars[0].off_ms) == {50.0}
    later = _verdict(_at(6, (0.07, 65, 0.9)))
    assert propose_ticket(later) == (False, "The notes were right, and bar 2 not in time.")
    assert [bar.on_time for bar in later.bars] == [True, False, True]


@pytest.mark.parametrize(
    ("events", "second", "in_time", "said"),
    [
        (_at(6, (0, 66, 0.9)), "wrong", False, "bar 2 had another note"),
        (_at(6, (0, 66, 0.3)), "not sure", None, "bar 2 well"),
        (_at(6, (0, 77, 0.9)), "not sure", None, "bar 2 well"),
        (_at(6, (0, None, 0.0)), "not sure", None, "bar 2 well"),
        (_at(6, (-0.3, 66, 0.9), (0, None, 0.0)), "not sure", None, "bar 2 well"),
        (_at(6), "not sure", None, "bar 2 well"),
        (_at(6, (-0.3, 64, 0.9), (0, 65, 0.9)), "right", False, "bar 2 had another note"),
        (_at(6, (-0.3, 64, 0.05), (0, 65, 0.9)), "right", None, "bar 2 well"),
        (_at(6, (-0.3, 62, 0.9), (0, 65, 0.9)), "right", True, "In time"),
    ],
    ids=["another", "weakly", "octave", "unpitched", "early and unpitched", "soft", "extra", "faint", "rings on"],
)
def test_a_note_is_held_against_the_player_only_where_it_was_surely_another(events, second, in_time, said):
    """The third note of the second bar as one thing or another; the other bars stay as they were."""
    verdict = _verdict(events)
    proposed, why = propose_ticket(verdict)
    assert _judged(verdict) == [["right"] * 4, ["right", "right", second, "right"], ["right"] * 4]
    assert proposed is in_time and said in why


def test_a_bar_that_was_left_out_is_missing_and_the_next_keeps_its_own_notes():
    """The root of the third bar is that of the first: what is due when keeps them apart."""
    verdict = _verdict(_events(lambda place, event: [] if 4 <= place < 8 else [event]))
    assert _judged(verdict) == [["right"] * 4, ["missing"] * 4, ["right"] * 4]
    assert propose_ticket(verdict) == (False, "Not through, I think: bar 2 had another note or none.")
    first = _verdict(_events(lambda place, event: [] if place < 4 else [event]))
    assert _judged(first) == [["missing"] * 4, ["right"] * 4, ["right"] * 4]


def test_what_the_track_sounds_is_not_the_players_and_much_of_it_is_said():
    """Two tones of the bass heard are let go; a bass on every beat means that the track is in the sound."""
    bass = [(due.from_s + 0.375, 41) for due in DUE]
    heard = [(at + 0.05, midi, 0.9) for at, midi in bass]
    assert propose_ticket(_verdict([*_events(), *heard[:2]], bass))[0] is True
    assert propose_ticket(_verdict([*_events(), *heard[:2]]))[0] is False
    assert propose_ticket(_verdict([*_events(), *heard], bass)) == (
        None, "The track was heard along with the guitar: play over headphones. Your word?",
    )  # fmt: skip


def test_nothing_is_held_against_who_plays_with_the_track_in_the_sound():
    """A bar left out and another note are not sure where the track is heard along, and told where it is not."""
    bass = [(due.from_s + 0.375, 41) for due in DUE]
    heard = [(at + 0.05, midi, 0.9) for at, midi in bass]
    played = _events(lambda place, event: [] if 4 <= place < 8 else [event])
    assert _judged(_verdict(played, bass))[1] == ["missing"] * 4
    through = _judged(_verdict([*played, *heard], bass))
    assert through[1] == ["not sure"] * 4
    assert through[0] == ["right"] * 4


def test_a_track_that_began_at_another_time_is_said():
    """All of it 0.4 s late, every note right: where the track began was not told, and nothing is claimed."""
    proposed, why = propose_ticket(_verdict(_events(lambda place, event: [(event[0] + 0.4, *event[1:])])))
    assert proposed is None and "0.4 s late" in why and "--track-from" in why
    early = propose_ticket(_verdict(_events(lambda place, event: [(event[0] - 0.3, *event[1:])])))[1]
    assert "0.3 s early" in early
    assert propose_ticket(_verdict(_events(lambda place, event: [(event[0] + 0.1, *event[1:])])))[0] is False


def test_a_swung_note_has_room_and_other_playing_brings_no_ticket():
    """Between even and two to one a note is in its place; another tune is none of it; the count-in is free."""
    due = Due(1, (60,), 1.0, 1.125)
    assert due.off_s(1.06) == 0.0 and due.off_s(0.9) == pytest.approx(-0.1) and due.off_s(1.2) == pytest.approx(0.075)
    other = _verdict(_events(lambda place, event: [(event[0], 46 + place % 2, 0.9)]))
    assert propose_ticket(other)[0] is None
    assert propose_ticket(_verdict([(0.5, 71, 0.9), *_events()]))[0] is True
    assert "no notes" in propose_ticket(_verdict([]))[1]


@given(st.floats(-0.055, 0.055), st.integers(-5, 12))
def test_late_by_little_and_transposed_together_it_stays_in_time(late, step):
    """Audio and target transposed together change nothing, nor does a small shift of all."""
    events = [(at + late, midi + step, sure) for at, midi, sure in _events()]
    heard = tuple(Heard(at, midi, 0.0, sure) for at, midi, sure in events)
    due = [replace(one, pitches=(one.pitches[0] + step,)) for one in DUE]
    verdict = judge_line(replace(Ears.start(RATE), heard=heard, level=Level(peak=0.5, taken=RATE)), due)
    assert propose_ticket(verdict)[0] is True


def _played(notes, wrong=None, from_s=0.0):
    """Samples of notes given as (quarters, MIDI number) at 80 a minute after a bar of count-in; one may be another."""
    first_s = from_s + 4 * BEAT_S
    return take([(first_s + at * BEAT_S, midi + (place == wrong)) for place, (at, midi) in enumerate(notes)])


def test_the_command_tells_each_bar_and_proposes_and_takes_no_ticket(tmp_path, neckwork):
    """Spelled up over two bars, right, wrong in the second, and as grips; the ticket stays where it was."""
    page = ("stages", "| F7 | Bb7 |", "--tempo", "80")
    stages = json.loads(neckwork(*page, "--json").out)["stages"]
    notes = {each["stage"]: each["lines"][0]["notes"] for each in stages[:3]}
    plan = {number: [(note["start"], note["midi"]) for note in found] for number, found in notes.items()}
    good = save(tmp_path / "good.wav", _played(plan[3]))
    bad = save(tmp_path / "bad.wav", _played(plan[3], wrong=5, from_s=1.0))
    grips = save(tmp_path / "grips.wav", _played(plan[2]))
    heard = neckwork(*page, "--stage", "3", "--listen", str(good))
    assert heard.code == 0 and heard.out.splitlines() == ["Spell up", "In time, I think."]
    wrong = neckwork(*page, "--stage", "3", "--listen", str(bad), "--track-from", "1")
    assert wrong.out.splitlines()[1].startswith("Bar 2. Note 2: ") and "Not through" in wrong.out
    document = json.loads(neckwork(*page, "--stage", "2", "--listen", str(grips), "--json").out)
    judged = [note["judged"] for bar in document["bars"] for note in bar["notes"]]
    assert judged.count("right") >= 6 and not {"wrong", "missing"} & set(judged)
    assert document["proposal"]["in_time"] in (True, None)
    assert json.loads(neckwork(*page, "--json").out)["ticket"] == {"stage": 1, "passes": 0}
    nothing = neckwork(*page, "--stage", "10", "--listen", str(good))
    assert nothing.code == 1 and "nothing is written" in nothing.err
    gone = neckwork(*page, "--stage", "3", "--listen", str(tmp_path / "gone.wav"))
    assert gone.code == 1 and "gone.wav" in gone.err


def test_over_grips_the_track_is_heard_where_no_grip_is_due():
    """A tone of its bass between the strums, and nothing is claimed; what sounds with a strum may be its strings."""
    due = tuple(Due(bar, (53, 60, 63, 69), FIRST_S + 4 * bar, FIRST_S + 4 * bar) for bar in range(1, 5))
    right = {
        place: Verdict(tuple(NoteVerdict(midi, Judged.RIGHT, at_s=one.from_s) for midi in one.pitches))
        for place, one in enumerate(due)
    }

    def heard(*events):
        notes = tuple(Heard(at, midi, 0.0, sure) for at, midi, sure in events)
        ears = replace(Ears.start(RATE), heard=notes, level=Level(peak=0.5, taken=RATE))
        track = [(one.from_s, 41) for one in due] + [(due[1].from_s + 1.0, 45), (due[2].from_s + 2.0, 48)]
        return propose_ticket(judge_line(ears, due, track, right))

    strums = [(one.from_s + 0.01, 53, 0.9) for one in due]
    assert heard(*strums)[0] is True
    through = heard(*strums[:2], (due[1].from_s + 1.0, 45, 0.9), strums[2])
    assert through[0] is None and "play over headphones" in through[1]
    assert heard(*strums, (due[1].from_s + 1.3, 45, 0.9))[0] is True  # not when the track has it
