"""A small window pages and shortens; what a player needs is never cut."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sittings import Listener

from drills.configuration.diagram_style import DiagramStyle
from drills.diagrams.answer import heading
from drills.session import screens
from drills.session.key_bindings import HELP
from drills.session.lessons import root_words
from drills.session.screen_lines import KEEP, ScreenLine, wrapped
from drills.session.screens import pages, screen

NARROW = {"strings": "654,543", "quality": "maj7,m7b5"}
SMALLEST = 38, 14
"""Columns and rows that a terminal of 40 by 15 leaves for text."""


def shown(one, width, height):
    return [line.text for line in screen(one.drill, DiagramStyle(), width, height)]


def turn(one, key, width, height):
    """Presses a key as the terminal does, which knows how many pages there are."""
    one.clock.tick(1)
    one.drill.press(key, pages=pages(one.drill, DiagramStyle(), width, height))


@pytest.mark.parametrize(("width", "height", "most"), [(*SMALLEST, 6), (78, 23, 1), (130, 42, 1)])
def test_the_list_of_keys_is_whole(sitting, width, height, most):
    """Every key and every meaning is read on some page, each page fits, and the last goes back."""
    one = sitting(listener=Listener(), **NARROW)
    one.press("h")
    read, count = "", 0
    while one.state.help:
        page = shown(one, width, height)
        assert len(page) <= height
        read += " ".join(page) + " "
        count += 1
        turn(one, "x", width, height)
    assert count <= most
    assert all(f"{keys}: {meaning}" in " ".join(read.split()) for keys, meaning in map(squeezed, HELP))
    assert one.state.phase.value == "start"


def squeezed(row):
    return tuple(" ".join(part.split()) for part in row)


def test_grip_and_mode_have_a_page_each_where_both_have_no_room(sitting):
    """At 40x15 g shows the grip, then the mode, then the answer again; at 80x24 both at once."""
    one = sitting(**NARROW)
    one.start()
    answer = shown(one, *SMALLEST)
    for shape in one.drill.same_place():
        turn(one, "g", *SMALLEST)
        page = shown(one, *SMALLEST)
        assert heading(shape) in " ".join(page)
        assert sum(row[:2].strip() in tuple("123456") and row[2:].strip() != "" for row in page) == 6
        assert any(row.startswith("finger") for row in page)
    turn(one, "g", *SMALLEST)
    assert shown(one, *SMALLEST) == answer
    turn(one, "g", 78, 23)
    both = " ".join(shown(one, 78, 23))
    assert all(heading(shape) in both for shape in one.drill.same_place())
    turn(one, "g", 78, 23)
    assert one.state.extra == 0


@pytest.mark.parametrize("deck", ["fourteen", "keys", "triads", "scales", "transitions", "away"])
def test_the_words_on_a_card_are_explained_where_they_stand(sitting, deck):
    """w says what chord, degree, strings and position mean; a prompt's words give no answer away; it fits 40x15."""
    one = sitting(deck=deck)
    one.start()
    for _ in range(30):
        phase = one.state.phase.value
        if phase not in ("lesson", "prompt", "answer") or (phase == "prompt" and one.state.typing):
            one.press("enter", seconds=5)
            continue
        one.press("w")
        page, card = " ".join(shown(one, *SMALLEST)), one.state.card
        assert "Any key goes back." in page
        if card.strings is not None:
            assert f"tring{'s' * (len(card.strings.numbers) > 1)} {card.strings}:" in page
        if one.state.phase.value == "prompt":
            assert "Position" not in page
            assert "Degrees" not in page
            assert card.key is None or card.chord.name not in page
        elif card.chord is not None:
            assert all(note.name in page for note in card.chord.notes)
            assert not card.chord.quality.tier or card.chord.quality.met in page
        one.press("x")
        assert not one.state.words
        one.press("c" if one.state.phase.value == "answer" else "enter", seconds=5)
    assert len(one.firsts()) > 2


def test_nothing_that_must_stay_is_cut_at_40_by_15(sitting, monkeypatch):
    """Through a session with a caution, lessons, misses, slips and news: only what can be spared goes."""
    asked = []

    def watched(lines, height):
        asked.append(lines)
        return fitted(lines, height)

    fitted = screens.fitted
    monkeypatch.setattr(screens, "fitted", watched)
    one = sitting(caution=True, **NARROW)
    keys = iter("lfct" * 20)
    phases = set()
    while not one.state.over:
        page = shown(one, *SMALLEST)
        phases.add(one.state.phase.value)
        must = [line.text for line in asked[-1] if line.weight >= KEEP]
        assert [text for text in page if text in must] == must, page
        assert all(len(text) <= SMALLEST[0] for text in page)
        one.press(next(keys) if one.state.phase.value == "answer" else "enter", seconds=9)
    shown(one, *SMALLEST)
    assert phases == {"start", "warm-up", "lesson", "prompt", "answer", "repeat", "music"}


def test_no_part_of_a_text_stays_without_the_rest():
    """A text of several lines that can be spared goes whole: the name of a mode alone would say nothing."""
    spared = wrapped("Ionian  Bb(6/6) C(6/8) D(5/5) Eb(5/6)", 30, weight=2)
    assert len(spared) == 2
    kept = [ScreenLine("above"), *spared, ScreenLine("below")]
    assert screens.fitted(kept, 4) == kept
    assert [line.text for line in screens.fitted(kept, 3)] == ["above", "below"]


@pytest.mark.parametrize("height", range(15, 24))
def test_the_mode_is_named_with_its_notes_or_not_at_all(sitting, height):
    """In windows of sixty columns, whatever their height, an answer never names the mode alone."""
    one = sitting()
    one.start()
    one.through_lessons()
    one.press("enter", seconds=5)
    page = shown(one, 58, height)
    named = [number for number, line in enumerate(page) if line == "Ionian"]
    assert all("(6/" in page[number + 1] for number in named)


def test_where_the_root_lies_is_never_dropped_for_a_notice(sitting):
    """At 40x15, with a long notice under it, a lesson or a prompt still says string and fret of a root that is new."""
    one = sitting(**NARROW)
    one.start()
    seen = 0
    for _ in range(12):
        if "root" in one.state.new or (one.state.phase.value == "prompt" and one.drill.shows_root):
            one.drill.state = replace(one.state, note="A notice of many words that take several rows. " * 3)
            page = " ".join(" ".join(shown(one, *SMALLEST)).split())
            assert root_words(one.drill) in page
            seen += 1
        one.press("c" if one.state.phase.value == "answer" else "enter", seconds=9)
    assert seen >= 2


def test_a_key_and_its_meaning_stay_on_one_line():
    """Lists of keys are broken between the keys only; what is wider than a line by itself is broken inside."""
    keys = "Only: v reviews  1 6-5-4  2 5-4-3  3 4-3-2"
    assert [line.text for line in wrapped(keys, 38)] == ["Only: v reviews  1 6-5-4  2 5-4-3", "3 4-3-2"]
    assert [line.text for line in wrapped("a word or two  and more", 10)] == ["a word or", "two", "and more"]
