"""A bar means the same on its page, in an excerpt, in every key, repeated or written out, with a pickup or without."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.changes.changes import Changes
from drills.changes.changes_reading import parse_changes, read_changes
from drills.changes.playing_order import excerpt
from drills.configuration.shipped import decks_folder
from drills.harmony.harmony import analyse
from drills.harmony.home_key import home
from drills.harmony.page_text import cut_cadences
from drills.harmony.transpose import transposed
from drills.theory.interval import Interval
from tests.strategies import USUAL_ROOTS, pages_of_changes, progressions

SHIPPED = sorted(decks_folder().glob("*.changes"))
UP = ("P1", "m2", "A1", "M2", "m3", "M3", "P4", "A4", "d5", "P5", "m6", "A5", "M6", "m7", "M7")
"""Fifteen ways to move a page, as many as there are signatures of major keys."""


def heard(changes: Changes, up: int = 0) -> list[tuple[object, ...] | None]:
    """What every chord is, with its tonic so many semitones lower, whatever the spelling."""
    return [
        None
        if one is None
        else ((one.key.tonic.pitch_class - up) % 12, one.kind, one.numeral, one.mode and one.mode.name)
        for one in analyse(changes)
    ]


def short_pages() -> st.SearchStrategy[str]:
    """Bars of one or two chords with the qualities of every family, and stays of up to four bars."""
    symbol = st.builds(
        "{}{}".format,
        st.sampled_from(USUAL_ROOTS),
        st.sampled_from(("maj7", "m7", "7", "m7b5", "dim7", "m6", "7sus4", "6", "")),
    )
    bar = st.one_of(symbol, st.builds("{} {}".format, symbol, symbol), symbol.map("{0} | % | % | %".format))
    return st.lists(bar, min_size=1, max_size=10).map(lambda bars: f"| {' | '.join(bars)} |")


@settings(max_examples=150)
@given(short_pages(), st.sampled_from(UP))
def test_moving_a_page_moves_its_reading(text: str, up: str) -> None:
    """Transposing and reading commute: key, numeral and mode of every chord, and the home of the page."""
    page, interval = parse_changes(text), Interval.parse(up)
    moved = transposed(page, interval)
    assert heard(moved, interval.semitones) == heard(page)
    assert (home(moved).key.tonic.pitch_class - interval.semitones) % 12 == home(page).key.tonic.pitch_class


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_a_shipped_page_reads_alike_in_fifteen_keys(path) -> None:
    """The same for every page that ships, with the keys it states."""
    page = read_changes(path)
    for up in UP:
        interval = Interval.parse(up)
        assert heard(transposed(page, interval), interval.semitones) == heard(page), up


@settings(max_examples=60)
@given(pages_of_changes(), st.data())
def test_an_excerpt_means_what_it_means_on_the_page(page: Changes, data) -> None:
    """Any bars of any page: the same reading, and the same again after moving; a cut cadence is said."""
    count = len(page.bars)
    first = data.draw(st.integers(1, count))
    last = data.draw(st.integers(first, min(count, first + 12)))
    part = excerpt(page, first, last)
    before = sum(len(bar.chords) for bar in page.bars[: first - 1])
    assert heard(part) == heard(page)[before : before + len(part.slots)]
    assert len(cut_cadences(part)) <= (first > 1) + (last < count)


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_every_four_bars_of_a_shipped_page_mean_what_they_mean_on_it(path) -> None:
    """Every excerpt of four bars of every page that ships, and an excerpt of an excerpt."""
    page = read_changes(path)
    whole = heard(page)
    for first in range(1, len(page.bars) - 2):
        part = excerpt(page, first, first + 3)
        before = sum(len(bar.chords) for bar in page.bars[: first - 1])
        in_part = heard(part)
        assert in_part == whole[before : before + len(part.slots)]
        inner = excerpt(part, 2, 3)
        skipped = len(part.bars[0].chords)
        assert heard(inner) == in_part[skipped : skipped + len(inner.slots)]


@settings(max_examples=100)
@given(short_pages())
def test_repeats_and_written_out_are_one_page(bars: str) -> None:
    """A repeat is heard as the same bars written twice."""
    inner = bars.strip("| ")
    assert heard(parse_changes(f"|: {inner} :|")) == heard(parse_changes(f"| {inner} | {inner} |"))


@settings(max_examples=200)
@given(st.lists(st.tuples(st.sampled_from(USUAL_ROOTS), st.sampled_from(("maj7", "m7", "7", "m7b5"))), min_size=9,
                max_size=9, unique=True), progressions(4), progressions(4))  # fmt: skip
def test_a_passage_that_comes_again_is_heard_once(passage, between: str, after: str) -> None:
    """A chord with the same four chords on either side is heard alike both times."""
    text = " ".join(root + quality for root, quality in passage)
    page = heard(parse_changes(f"{text} {between} {text} {after}"))
    again = len(f"{text} {between}".split())
    assert page[4] == page[again + 4]


@settings(max_examples=100)
@given(short_pages())
def test_a_silent_pickup_changes_nothing(bars: str) -> None:
    """A pickup before the first chord leaves every bar as it was."""
    with_pickup = parse_changes(f"metre: 1/4\n| N.C. |\nmetre: 4/4\n{bars}")
    assert heard(with_pickup)[1:] == heard(parse_changes(bars))


@pytest.mark.parametrize("pickup", ["G7", "Ab7", "Bdim7", "Dm7"])
@pytest.mark.parametrize("bars", ["| Cmaj7 | Am7 | Dm7 | G7 |", "| Cmaj7 C7 | Fmaj7 Fm6 | Dm7 G7 | C6 |"])
def test_a_sounding_pickup_leaves_the_bars_as_they_were(pickup: str, bars: str) -> None:
    """A chord that leads into the first bar belongs to it, and the page begins with the first whole bar."""
    assert heard(parse_changes(f"metre: 1/4\n| {pickup} |\nmetre: 4/4\n{bars}"))[1:] == heard(parse_changes(bars))


def test_a_cut_cadence_is_said() -> None:
    """Bar 2 goes on to bar 3, which the excerpt leaves out."""
    page = parse_changes("| Dm7 | G7 | Cmaj7 | Am7 |")
    assert cut_cadences(excerpt(page, 1, 2)) == [
        "Bar 2 is heard with the bar after it on the page: a cadence is cut there."
    ]
    assert cut_cadences(excerpt(page, 3, 4)) == [
        "Bar 1 is heard with the bar before it on the page: a cadence is cut there."
    ]
    assert cut_cadences(page) == []


@pytest.mark.parametrize(
    ("text", "name", "travels"),
    [
        ("Dm7 G7 Cmaj7 A7", "C", ()),
        ("| Cmaj7 | Am7 | Dm7 | G7 | Em7 | A7 | Dm7 | G7 | C6 | % | Fm7 | Bb7 | Ebmaj7 | % |", "C", ("Eb",)),
        ("| Dm7 | % | % | % | Ebm7 | % | % | % | Dm7 | % | % | % |", "D Dorian", ("Eb Dorian",)),
        ("F7 Bb7 F7 F7 Bb7 Bdim7 F7 D7 Gm7 C7 F7 C7", "F", ()),
    ],
)
def test_the_head_says_where_a_page_is_at_home_and_where_it_travels(text: str, name: str, travels) -> None:
    """Home is where the page begins, ends and stays most, and not merely its last key (common practice)."""
    found = home(parse_changes(text))
    assert found.name == name
    assert tuple(key for key, _ in found.travels) == travels
