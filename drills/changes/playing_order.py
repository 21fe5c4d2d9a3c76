"""Puts bars in the order they are played: it writes out repeats and endings, and can take some bars alone."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby

from drills.changes.changes import Bar, Changes, Metre, Section, WrittenBar
from drills.errors import ChangesError

__all__ = ["MOST_BARS", "excerpt", "is_pickup", "played_bars"]

MOST_BARS = 2_000
"""More played bars than any tune has: some sixty choruses of 32. It bounds what repeats can do to a small file."""


def _fault(bar: WrittenBar, message: str) -> ChangesError:
    where = f"line {bar.line}, column 1: " if bar.line else ""
    return ChangesError(f"{where}{message}", bar.line, 1 if bar.line else 0)


def _order(bars: tuple[WrittenBar, ...]) -> Iterator[int]:
    """Indices of a section's bars as played."""
    index = 0
    while True:
        first = _end_of_repeat(bars, index)
        if first is None:
            yield from _plain(bars, index, len(bars))
            return
        start, end, endings = first
        yield from _plain(bars, index, start)
        if not endings:
            for _ in range(bars[end - 1].closes):
                yield from range(start, end)
        else:
            common = range(start, endings[0][1])
            last = max(2, *(number for numbers, _, _ in endings for number in numbers))
            for number in range(1, last + 1):
                yield from common
                ending = next((e for e in endings if number in e[0]), None)
                if ending is None:
                    raise _fault(bars[endings[0][1]], f"there is no ending {number}; write |{number}. before its bars")
                yield from range(ending[1], ending[2])
        index = end


def _plain(bars: tuple[WrittenBar, ...], start: int, end: int) -> Iterator[int]:
    for index in range(start, end):
        bar = bars[index]
        if bar.endings:
            raise _fault(bar, f"an ending {bar.endings[0]}. without a repeat; close the first ending with :|")
        if bar.opens:
            raise _fault(bar, "the repeat that begins here is not closed; write :| at its end")
        yield index


def _end_of_repeat(
    bars: tuple[WrittenBar, ...], index: int
) -> tuple[int, int, list[tuple[tuple[int, ...], int, int]]] | None:
    """The next repeat from `index`: its start, its end, and its endings as (passes, start, end).

    The last ending may stay open: then it holds its first bar only, and what follows is
    played after it in any case, so where the bracket ends makes no difference.
    """
    start, opened = index, False
    endings: list[tuple[tuple[int, ...], int, int]] = []
    opening: int | None = None
    for place in range(index, len(bars)):
        bar = bars[place]
        if bar.opens:
            if opened or opening is not None:
                raise _fault(bar, "a repeat begins inside another; close the first with :|")
            start, opened = place, True
        if bar.endings:
            if opening is not None:
                raise _fault(bar, f"ending {bar.endings[0]}. begins before the ending before it is closed with :|")
            opening = place
            _check_new(bar, endings)
        if not bar.closes:
            continue
        if opening is None:
            return start, place + 1, []
        endings.append((bars[opening].endings, opening, place + 1))
        after = bars[place + 1] if place + 1 < len(bars) else None
        if after is None or not after.endings:
            return start, place + 1, endings
        if _closes_before_next(bars, place + 1):
            opening = None
            continue
        _check_new(after, endings)
        endings.append((after.endings, place + 1, place + 2))
        return start, place + 2, endings
    return None


def _check_new(bar: WrittenBar, endings: list[tuple[tuple[int, ...], int, int]]) -> None:
    seen = {number for numbers, _, _ in endings for number in numbers}
    if seen & set(bar.endings):
        raise _fault(bar, f"ending {min(seen & set(bar.endings))}. is written twice")


def _closes_before_next(bars: tuple[WrittenBar, ...], index: int) -> bool:
    """Whether the ending that begins at `index` is closed by a :| of its own."""
    for place in range(index, len(bars)):
        if place > index and (bars[place].opens or bars[place].endings):
            return False
        if bars[place].closes:
            return True
    return False


def is_pickup(metres: Sequence[Metre]) -> bool:
    """Whether the first of some bars is a pickup: shorter than the second, and of a metre no other bar has."""
    return len(metres) > 1 and metres[0].quarters < metres[1].quarters and metres[0] not in metres[1:]


def played_bars(sections: tuple[Section, ...], form: tuple[str, ...], *, whole: bool = True) -> tuple[Bar, ...]:
    """Every bar in playing order, numbered as printed: from 1, or from 0 where the first is a pickup.

    whole: whether the page begins here; of a part of one no bar is a pickup.
    Raises ChangesError when there is no bar, a label of the form is unknown, repeats
    or endings do not pair, or more than 2,000 bars come out.
    """
    if not any(section.bars for section in sections):
        raise ChangesError("no bar found; write chords, such as | Cm7 | F7 | Bbmaj7 |", 1, 1)
    orders = [list(_order(section.bars)) for section in sections]
    places = list(range(len(sections)))
    if form:
        labels = [section.label for section in sections]
        twice = next((label for label in form if labels.count(label) > 1), None)
        if twice is not None:
            raise ChangesError(f"form: two sections are labelled {twice!r}; give each its own label")
        by_label = {section.label: place for place, section in enumerate(sections)}
        for label in form:
            if label not in by_label:
                known = ", ".join(section.label for section in sections if section.label) or "none"
                raise ChangesError(f"form: no section is labelled {label[:40]!r}; sections: {known}")
        places = [by_label[label] for label in form]
    total = sum(len(orders[place]) for place in places)
    if total > MOST_BARS:
        raise ChangesError(f"the form and its repeats make {total:,} bars; expected at most {MOST_BARS:,}")
    played: list[Bar] = []
    for place in places:
        section = sections[place]
        for index in orders[place]:
            bar = section.bars[index]
            played.append(Bar(len(played) + 1, section.label, (place, index), bar.metre, bar.key, bar.slots))
    if whole and is_pickup([bar.metre for bar in played]):
        return tuple(replace(bar, number=bar.number - 1) for bar in played)
    return tuple(played)


def excerpt(changes: Changes, first: int, last: int) -> Changes:
    """The bars from `first` to `last` in playing order, both included, repeats written out, sections kept.

    The bar numbers of an excerpt begin anew at 1, or with the pickup at 0, so that every tool counts the bars it shows;
    the title keeps which bars of the page they are. The bars around it go with it unseen, so that each means what it
    means in the whole page.

    Raises ChangesError when the page has no such bars.
    """
    opens, closes = changes.bars[0].number, changes.bars[-1].number
    if last < first:
        raise ChangesError(f"bars {first} to {last}: expected the first bar, then the last, such as {last}-{first}")
    if not opens <= first <= last <= closes:
        raise ChangesError(f"bars {first} to {last}: expected first and last bar within {opens} to {closes}")
    start, end = first - opens, last - opens + 1
    kept = changes.bars[start:end]
    sections = []
    # A bar that begins its section begins one here too, so that the same section twice running stays two.
    turns = [sum(bar.written[1] == 0 for bar in kept[: place + 1]) for place in range(len(kept))]
    for _, group in groupby(zip(kept, turns, strict=True), key=lambda pair: (pair[0].written[0], pair[1])):
        bars = [bar for bar, _ in group]
        written = tuple(WrittenBar(bar.chords, bar.metre, bar.key) for bar in bars)
        sections.append(Section(bars[0].section, written))
    title = (
        f"{changes.title or 'Changes'}, bars {first} to {last}" if (first, last) != (opens, closes) else changes.title
    )
    return replace(
        changes, title=title, sections=tuple(sections), form=(), metre=kept[0].metre,
        before=changes.before + changes.bars[:start], after=changes.bars[end:] + changes.after,
    )  # fmt: skip
