"""A teacher's tools for deck files: they write one from a few words, move a student on, and show what is in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from drills.cards.group_decks import deck_of_student, week_of
from drills.cards.kinds import kind_of
from drills.cards.material import Material
from drills.errors import DeckError, shown
from drills.safe_text import drawn

__all__ = ["FLATS", "SHARPS", "NewDeck", "deck_json", "deck_lines", "moved", "new_deck", "spread", "spread_remarks"]

FLATS = ("F", "Bb", "Eb", "Ab", "Db", "Gb")
SHARPS = ("G", "D", "A", "E", "B", "F#")
"""What ``flats`` and ``sharps`` mean for keys and roots: one to six accidentals in the signature of a major key."""


@dataclass(frozen=True, slots=True)
class NewDeck:
    """What a new deck is to hold; empty fields are left out of the file.

    later: qualities released from a week on, by week. starts: the day week 1 begins. students: of a group, by the
    names of their files. weeks: decks whose material begins in a week, by week.
    """

    title: str = ""
    teacher: str = ""
    include: tuple[str, ...] = ()
    strings: tuple[str, ...] = ("core",)
    qualities: tuple[str, ...] = ()
    roots: tuple[str, ...] = ()
    keys: tuple[str, ...] = ()
    forms: tuple[str, ...] = ()
    prompts: tuple[str, ...] = ()
    top_fret: int | None = None
    new_forms: int | None = None
    later: tuple[tuple[int, tuple[str, ...]], ...] = ()
    starts: date | None = None
    students: tuple[str, ...] = ()
    weeks: tuple[tuple[int, str], ...] = ()


def spread(names: Sequence[str]) -> tuple[str, ...]:
    """Keys or roots with ``flats`` and ``sharps`` written out."""
    found: list[str] = []
    for name in names:
        found += {"flats": FLATS, "sharps": SHARPS}.get(name.lower(), (name,))
    return tuple(dict.fromkeys(found))


def spread_remarks(keys: Sequence[str], roots: Sequence[str]) -> list[str]:
    """What ``flats`` and ``sharps`` were taken to mean, as keys and as roots: the two ask for other chords."""
    said = []
    for word, names in (("flats", FLATS), ("sharps", SHARPS)):
        listed = " ".join(names)
        if word in map(str.lower, keys):
            said.append(
                f"--key {word}: the seven chords of each of the keys {listed}; --root {word} asks chords on those roots"
            )
        if word in map(str.lower, roots):
            said.append(
                f"--root {word}: chords on the roots {listed}; --key {word} asks the seven chords of those keys"
            )
    return said


def new_deck(wanted: NewDeck) -> str:
    """The deck file, a dozen lines of TOML. Whether it makes sense is for `drills.cards.deck.read_deck` to say."""
    import tomlkit

    document = tomlkit.document()
    for key in ("title", "teacher"):
        if value := getattr(wanted, key):
            document.add(key, value)
    if wanted.include:
        document.add("include", list(wanted.include))
    if wanted.starts:
        document.add("starts", wanted.starts)
    if wanted.students:
        document.add("students", list(wanted.students))
    blocks = tomlkit.aot()
    for week, deck in wanted.weeks:
        block = tomlkit.table()
        block.add("deck", deck)
        if week > 1:
            block.add("from_week", week)
        blocks.append(block)
    weeks = [(1, wanted.qualities)] if wanted.qualities or wanted.keys else []
    for week, qualities in (*weeks, *wanted.later):
        block = tomlkit.table()
        for key, values in (
            ("qualities", qualities), ("string_sets", wanted.strings), ("roots", wanted.roots), ("keys", wanted.keys),
            ("forms", wanted.forms), ("prompts", wanted.prompts),
        ):  # fmt: skip
            if values:
                block.add(key, list(values))
        if week > 1:
            block.add("from_week", week)
        blocks.append(block)
    if len(blocks):
        document.add("material", blocks)
    for table, key, value in (
        ("neck", "top_fret", wanted.top_fret),
        ("limits", "new_forms", wanted.new_forms),
    ):
        if value is not None:
            section = tomlkit.table()
            section.add(key, value)
            document.add(table, section)
    return tomlkit.dumps(document)


def moved(text: str, weeks: int, where: str, student: str = "") -> str:
    """A deck file with its student moved on by so many weeks, or back; everything else stays as written.

    A group moves as a whole, those with a day of their own too. student: one of the group who moves alone, by the name
    as the file writes it. Raises DeckError when the file has no `starts` to move, or moving leaves the calendar.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        document = tomlkit.parse(text)
        starts = document.get("starts")
    except TOMLKitError as error:
        raise DeckError(f"deck {where}: not readable as TOML ({error}); mend that line") from error
    if not isinstance(starts, date):
        raise DeckError(f"deck {where}, starts: expected a date to move, got {shown(starts)}; add starts = 2026-09-07")
    own: Any = document.get("own_starts")
    if student:
        if own is None:
            own = document["own_starts"] = tomlkit.table()
        name = next((key for key in own if drawn(key).strip().casefold() == student.casefold()), student)
        own[name] = _week_before(own.get(name, starts), weeks, where)
        return tomlkit.dumps(document)
    document["starts"] = _week_before(starts, weeks, where)
    for name, day in (own or {}).items():
        own[name] = _week_before(day, weeks, where)
    return tomlkit.dumps(document)


def _week_before(day: date, weeks: int, where: str) -> date:
    try:
        return date(day.year, day.month, day.day) - timedelta(weeks=weeks)
    except OverflowError:
        raise DeckError(f"deck {where}, starts: {weeks} weeks from {day} leave the calendar") from None


def deck_json(material: Material, path: Path, day: date | None = None) -> dict[str, Any]:
    """What a deck holds on a neck, for programs. day: for which the week of each student of a group is told."""
    deck = material.deck
    cards = list(material.cards.values())
    counts: dict[tuple[str, str], int] = {}
    for card in (card for card in cards if card.to is None):
        place = card.set_name, card.quality
        counts[place] = counts.get(place, 0) + 1
    skills = {skill for card in cards for skill in card.skills}
    return {
        "name": deck.name,
        "title": deck.title,
        "about": deck.about,
        "teacher": deck.teacher,
        "file": str(path),
        "starts": deck.starts.isoformat() if deck.starts else None,
        "students": [
            {"name": name, "starts": own.starts.isoformat(), "week": week_of(own, day) if day else None}
            for name in deck.students
            if (own := deck_of_student(deck, name)).starts
        ],
        "cards": len(cards),
        "transitions": sum(card.to is not None for card in cards),
        "by_strings_and_quality": [
            {"strings": strings, "quality": quality, "cards": count} for (strings, quality), count in counts.items()
        ],
        "skills": {
            kind: sum(skill.startswith(f"{kind}:") for skill in skills)
            for kind in dict.fromkeys(skill.partition(":")[0] for skill in sorted(skills))
        },
        "prompts": sorted({kind_of(card.kind).name for card in cards}),
        "weeks": sorted({block.from_week for block in deck.blocks}),
        "limits": dict(deck.limits),
        "neck": dict(deck.neck),
        "names": dict(deck.names),
        "fingerings": [
            {"form": form, "quality": quality, "strings": strings, "fingers": list(fingers)}
            for (form, quality, strings), fingers in deck.fingerings.items()
        ],
        "left_out": [{"prompt": left.prompt, "reason": left.reason} for left in material.left_out],
    }


def deck_lines(answer: dict[str, Any]) -> list[str]:
    """What `deck_json` says, for people."""
    lines = [f"{answer['name']}: {answer['title']}"]
    if answer["about"]:
        lines.append(answer["about"])
    if answer["teacher"]:
        lines.append(f"Fingerings: {answer['teacher']}")
    counts = {(row["strings"], row["quality"]): row["cards"] for row in answer["by_strings_and_quality"]}
    sets = list(dict.fromkeys(strings for strings, _ in counts))
    qualities = list(dict.fromkeys(quality for _, quality in counts))
    skills = ", ".join(f"{count} {kind} skill{'s' * (count != 1)}" for kind, count in answer["skills"].items())
    lines.append(f"{answer['cards']} cards made of {skills}." if skills else "No cards.")
    if answer["prompts"] and answer["prompts"] != ["name"]:
        lines.append(f"Asked as: {', '.join(answer['prompts'])} (decks/README.md says what each asks).")
    if answer["transitions"]:
        lines.append(f"{answer['transitions']} of them are transitions from chord to chord.")
    if sets:
        width = max(len(quality) for quality in qualities)
        lines += ["", " " * width + "".join(f"{strings:>10}" for strings in sets)]
        for quality in qualities:
            cells = (counts.get((strings, quality), "") for strings in sets)
            lines.append(f"{quality:{width}}" + "".join(f"{cell:>10}" for cell in cells))
    if answer["starts"]:
        weeks = ", ".join(map(str, answer["weeks"]))
        lines += ["", f"Week 1 begins {answer['starts']}; material is released in week {weeks}."]
    for row in answer["students"]:
        where = "" if row["week"] is None else f", in week {row['week']}" if row["week"] > 0 else ", not begun"
        lines.append(f"{row['name']}: from {row['starts']}{where}.")
    for row in answer["fingerings"]:
        fingers = " ".join(map(str, row["fingers"]))
        lines.append(f"Fingers {fingers} for {row['quality']}, {row['form']}, strings {row['strings']}.")
    for quality, symbol in answer["names"].items():
        lines.append(f"{quality} is written {symbol}.")
    for key, value in (*answer["neck"].items(), *((f"new {k}s a session", v) for k, v in answer["limits"].items())):
        lines.append(f"{key.replace('_', ' ')}: {str(value).lower()}")
    if answer["left_out"]:
        lines += ["", f"{len(answer['left_out'])} left out:", *(f"  {one['reason']}" for one in answer["left_out"])]
    return lines
