"""Groups with a cause in common, the handout for one student's gap, and the term in plain language."""

from __future__ import annotations

from datetime import timedelta

import pytest

from drills.errors import NotPlayableError
from drills.neck.neck import Neck
from drills.roster.folder import read_folder
from drills.roster.gap import gap_sheet
from drills.roster.groups import cause_in_common
from drills.roster.roster_sheet import make_sheet
from drills.roster.term import term_sections
from drills.shapes.finder import ShapeFinder
from drills.theory.quality import shipped_qualities
from scheduler.statistics.counts import Count


def finder_of(tuning):
    """Shapes in a card's own tuning."""
    return ShapeFinder(Neck(tuning=tuning))


def gap(folder, today, name="a"):
    """The handout for a student's gap."""
    read = read_folder(folder)
    one = next(one for one in make_sheet(read, today).students if one.name == name)
    return gap_sheet(one, read.logs[name], today, finder_of, shipped_qualities())


WELL, MOSTLY_MISSED = "c" * 60, "lllfc" * 12
"""Sixty first tries: all clean; twelve of sixty, which surely is under three of four."""


def test_the_most_common_cause_makes_the_first_group(send, played, today):
    """Each student stands in one group at most, the largest group first; a cause of one alone makes none."""
    for number in range(5):
        folder = send(f"Student {number}.json", played("m7b5", "432", MOSTLY_MISSED, 1), played("7", "654", WELL, 1))
    for number in (5, 6):
        send(f"Student {number}.json", played("maj7", "654", MOSTLY_MISSED, 1), played("7", "654", WELL, 1))
    send("Student 7.json", played("dim7", "543", MOSTLY_MISSED, 1), played("7", "654", WELL, 1))
    send("Student 8.json", played("m7", "543", WELL, 1))
    send("Student 9.json", played("m7b5", "432", "lllfc", 1))  # too few tries to say
    groups = cause_in_common(make_sheet(read_folder(folder), today).students)
    assert [(group.group, group.names) for group in groups] == [
        (("form", "form:arpeggio/m7b5"), tuple(f"Student {number}" for number in range(5))),
        (("form", "form:arpeggio/maj7"), ("Student 5", "Student 6")),
    ]
    assert groups[0].count == Count(60, 300)
    assert groups[0].words.startswith(
        "the m7b5 shape on 4-3-2, 60 of 300 clean, the class at everything 637 of 1025: Student 0, "
    )
    for number in range(10, 13):
        send(f"Student {number}.json", played("m7b5", "432", "cccl" * 2, 1), played("7", "654", WELL, 1))
    again = cause_in_common(make_sheet(read_folder(folder), today).students)[0]
    assert "60 of 300 clean, the rest of the class 19 of 29: " in again.words


def test_nobody_is_grouped_by_what_all_find_hard(send, played, today):
    """Where the rest of the class plays it no better, a cause that two share is the usual and makes no group."""
    for number in range(2):
        folder = send(f"{number}.json", played("m7b5", "432", MOSTLY_MISSED, 1), played("7", "654", WELL, 1))
    assert len(cause_in_common(make_sheet(read_folder(folder), today).students)) == 1
    for number in range(2, 6):
        send(f"{number}.json", played("m7b5", "432", "lllfc" * 12, 1))
    assert cause_in_common(make_sheet(read_folder(folder), today).students) == []


def on_root(events, root):
    """The same events on another root."""
    from dataclasses import replace

    return [replace(e, body=replace(e.body, card=e.body.card.replace("/C/", f"/{root}/"))) for e in events]


def test_where_the_root_is_the_trouble_its_places_are_the_handout(send, played, today):
    """By the student's own word it is the root each time, though the misses stand at one quality: no arpeggio helps."""
    folder = send(
        "a.json", *(played("m7b5", "432", "l", days, slip="root") for days in range(1, 15)),
        *(on_root(played("m7b5", "432", "l", days, slip="root"), "F") for days in range(1, 25)),
        *(on_root(played("m7b5", "432", "c", days), "G") for days in range(1, 4)),
        played("m7", "654", "l" + WELL, 1),
    )  # fmt: skip
    sheet = gap(folder, today)
    assert sheet.title == "a: finding the root"
    assert sheet.idea == "Say the note, play it, say its fret; a new order every day."
    # C on string 4 (open D) lies at fret 10; the cards of these tests name its root alone.
    assert [panel.name for panel in sheet.drawn] == ["C on string 4", "C on string 4"]
    assert [(n.string, n.fret) for n in sheet.drawn[0].notes] == [(4, 10)]


def test_without_a_word_for_it_the_shapes_missed_are_the_handout(send, played, today):
    """Only cards that need what is missing, the most missed first, titled with the student and the cause."""
    folder = send(
        "a.json", *(played("m7b5", "432", "l", days) for days in range(1, 15)),
        *(on_root(played("m7b5", "432", "l", days), "F") for days in range(1, 25)),
        *(on_root(played("m7b5", "432", "c", days), "G") for days in range(1, 4)),
        played("m7", "654", "l" + WELL, 1),
    )  # fmt: skip
    sheet = gap(folder, today)
    assert sheet.title == "a: the m7b5 shape on 4-3-2"
    assert sheet.idea == "The shape: fill in the blank from memory, then play it slowly."
    assert [panel.name for panel in sheet.drawn] == ["Fm7b5", "Cm7b5"]
    # C and F on string 4 and their m7b5: drills/RULES.md, C1, 1(0) b3(+3) | b5(+1) | b7(+1) 8(+3).
    assert [(n.string, n.fret) for n in sheet.drawn[0].notes] == [(4, 3), (4, 6), (3, 4), (2, 4), (2, 6)]


def test_a_degree_is_printed_in_the_spelling_of_its_key(send, played, today):
    """A card asked as the third degree of E is printed as G#m7, never as Abm7 (rule 0.6)."""
    from dataclasses import replace

    events = [
        replace(e, body=replace(e.body, card="E2A2D3G3B3E4/arpeggio/G#/m7/654/degree-E-iii"))
        for e in played("m7", "654", "lllll", 1)
    ]
    folder = send("a.json", events)
    assert [panel.name for panel in gap(folder, today).drawn] == ["G#m7"]


def test_without_a_place_to_work_on_what_was_missed_is_printed(send, played, today):
    """Three tries make no rate, but what they missed can be handed out; with nothing missed there is no page."""
    folder = send("a.json", played("7", "543", "lcc", 1))
    assert gap(folder, today).title == "a: what was missed"
    send("b.json", played("7", "543", "cct", 1), played("m7", "654", "lll", 40))
    with pytest.raises(NotPlayableError, match="no shape was missed in 28 days"):
        gap(folder, today, "b")


def test_another_instrument_is_printed_with_its_own_strings(send, played, today):
    """Cards of a bass give a bass's page; cards that ask for no shape are passed over."""
    from dataclasses import replace

    def bass(events):
        return [replace(e, body=replace(e.body, card=e.body.card.replace("E2A2D3G3B3E4", "E1A1D2G2"))) for e in events]

    note = [replace(e, body=replace(e.body, card="E2A2D3G3B3E4/-/C/-/4/note")) for e in played("m7", "432", "llll", 1)]
    folder = send("a.json", *(bass(played("m7", "432", "l", days)) for days in (1, 2, 3, 4, 5)), note)
    (panel,) = gap(folder, today).drawn
    assert panel.strings == 4 and [n.fret for n in panel.notes][:2] == [8, 11]


def term(folder, today, weeks=12):
    """The sections of a term, as a dict."""
    state = read_folder(folder).logs["a"]
    return dict(term_sections(state, today - timedelta(weeks=weeks) + timedelta(days=1), today))


def test_a_term_is_told_in_counts_and_sentences(send, played, today):
    """Days and weeks, what was new, first tries early and late, and what is next."""
    folder = send(
        "a.json",
        *(played("7", "654", "llfcc", days) for days in (80, 73)),
        *(played("7", "654", "cccct" * 2, days) for days in (20, 12, 11, 10, 1)),
        played("m7b5", "432", "lllcc" * 8, 2),
        played("m7", "543", "lllll", 200),
    )
    told = term(folder, today)
    # 100 cards of half a minute on 8 days are six minutes and a quarter.
    assert told["Practice"] == ["Practised on 8 days, in 5 of 12 weeks, about 6 minutes at a time."]
    assert told["New"] == ["2 shapes on the neck."]
    # The first practice day is 200 days ago, so the running period began 4 days ago and the one before it 32.
    # Ten tries a day of one form in a few days are forming to the memory, however clean they came.
    new = "Going well since 12 April, too new to say that it lasts"
    assert told[new] == ["7 on strings 6-5-4: 50 of 50"]
    clean = told["Played right at the first try"]
    assert clean[0] == "70 of 100 in all."
    assert clean[1] == "4 of 10 in the first four weeks, 66 of 90 in the last four."
    assert told["To work on next, since 12 April"][0] == "m7b5 on strings 4-3-2: 16 of 40"


def test_a_term_says_what_came_back_after_a_week(send, played, today):
    """A first try after seven days without the card counts, also when the card was last played before the term."""
    folder = send("a.json", *(played("7", "654", "c", days) for days in (90, 80, 70, 60, 50, 40, 39, 38)))
    assert "5 of 5 after a week or more without playing it." in term(folder, today)["Played right at the first try"]


def test_going_well_needs_enough_tries_to_say_so(send, played, today):
    """22 of 22 tries may be luck at three of four; 40 of 40 are not, and 5 of 5 say nothing either way."""
    for tries, well in ((22, False), (40, True)):
        folder = send("a.json", played("7", "654", "c" * tries, 3), played("m7", "543", "ccccc", 2))
        told = term(folder, today)
        new = "Going well since 11 May, too new to say that it lasts"
        assert (new in told) is well
        assert not any(heading.startswith("To work on next") for heading in told)
    assert told[new] == ["7 on strings 6-5-4: 40 of 40"]


def test_one_new_thing_is_told_in_the_singular(send, played, today):
    """A parent reads "1 shape", not "1 shapes"."""
    folder = send("a.json", played("7", "654", "c", 3))
    assert term(folder, today)["New"] == ["1 shape on the neck, 1 place to find a note."]


def test_of_a_student_who_was_away_the_term_says_what_had_been_learned(send, played, today):
    """Nothing practised is one plain sentence with the dates; then something true, and the teacher's own words."""
    folder = send("a.json", played("7", "654", "cl", 200))
    told = term(folder, today)
    assert told == {
        "Practice": [
            "Nothing was practised with this tool between 20 February 2031 and 14 May 2031.",
            "Last practised on 26 October 2030.",
        ],
        "Played right at a first try before": ["1 shape on the neck, 1 place to find a note."],
    }
    send("b.json")
    log = read_folder(folder).logs["b"]
    words = ["She sings in the choir now."]
    assert term_sections(log, today - timedelta(days=6), today, words) == [
        ("Practice", ["Nothing was practised with this tool between 8 May 2031 and 14 May 2031."]),
        ("From the teacher", words),
    ]


def test_the_teacher_s_words_end_a_term(send, played, today):
    """After all that is counted, as they were written."""
    folder = send("a.json", played("7", "654", "cl", 3))
    log = read_folder(folder).logs["a"]
    sections = term_sections(log, today - timedelta(days=20), today, ["Well done.", "More next year."])
    assert sections[-1] == ("From the teacher", ["Well done.", "More next year."])
    assert sections[0][0] == "Practice"
