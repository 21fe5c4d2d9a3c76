"""`neckwork decks new`, `check`, `show` and `move`: a teacher's work on deck files."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from drills.cli.files import OUT_FILE
from drills.cli.output import echo, echo_json
from drills.cli.player_files import PlayerFiles, day_given, minor_remarks, player_of
from drills.configuration.home import expanded
from drills.errors import DeckError, DrillsError

if TYPE_CHECKING:
    from datetime import date

    from drills.cards.deck_tools import NewDeck
    from drills.cards.material import Material

__all__ = ["check", "move", "new", "show"]


def _parts(text: str | None) -> tuple[str, ...]:
    return tuple(part.strip() for part in (text or "").split(",") if part.strip())


def _later(given: tuple[str, ...]) -> tuple[tuple[int, tuple[str, ...]], ...]:
    found = []
    for text in given:
        week, _, qualities = text.partition(":")
        if not (week.isascii() and week.isdecimal() and 2 <= int(week) <= 999 and _parts(qualities)):
            raise click.UsageError(f"--later {text[:40]!r}: expected a week and qualities such as 3:7 or 4:dim7,m6")
        found.append((int(week), _parts(qualities)))
    return tuple(sorted(found))


def _weeks(given: tuple[str, ...]) -> tuple[tuple[int, str], ...]:
    found = []
    for text in given:
        week, _, name = text.partition(":")
        if not (week.isascii() and week.isdecimal() and 1 <= int(week) <= 999 and name.strip()):
            raise click.UsageError(f"--week {text[:40]!r}: expected a week and a deck such as 3:minor")
        found.append((int(week), name.strip()))
    return tuple(sorted(found, key=lambda one: one[0]))


def _gathered(player: PlayerFiles, path: Path, today: date | None = None) -> Material:
    from drills.cards.deck import read_deck
    from drills.cards.material import gather

    material = gather(
        read_deck(path, player.table, player.home.decks), player.neck(), table=player.table, today=today,
        tune_reader=player.tune_reader,
    )  # fmt: skip
    if not material.cards:
        first = f": {material.left_out[0].reason}" if material.left_out else ""
        raise DeckError(f"deck {path}: no card fits this neck{first}")
    return material


def _counts(material: Material) -> str:
    count, missing = len(material.cards), len(material.left_out)
    return f"{count} card{'s' * (count != 1)}" + (f", {missing} left out" if missing else "")


@click.command("new", short_help="Write a deck file from a few words.")
@click.argument("name")
@click.option("--title", help="For people; the name when left out.")
@click.option("--strings", metavar="SETS", default="core", help="String sets, e.g. 432 or 654,543.")
@click.option("--quality", metavar="LIST", help="Qualities, e.g. m7,m7b5.")
@click.option("--key", metavar="LIST", help="Keys, e.g. Eb,Ab, or flats, sharps, all: the keys' own chords.")
@click.option("--root", metavar="LIST", help="Roots, e.g. F,Bb, or flats, sharps.")
@click.option("--form", metavar="LIST", help="Forms, e.g. arpeggio,scale.")
@click.option("--prompts", "--prompt", "prompt", metavar="LIST", help="Kinds of prompt, e.g. name,degree.")
@click.option("--later", metavar="WEEK:LIST", multiple=True, help="Released from a week on, e.g. 3:7.")
@click.option("--starts", metavar="DATE", help="The day week 1 begins; today where something comes later.")
@click.option("--top-fret", type=click.IntRange(1, 36), help="Highest fret asked.")
@click.option("--new-forms", type=click.IntRange(0, 20), help="Most new shapes in a session.")
@click.option("--include", metavar="LIST", help="Decks whose material comes first.")
@click.option("--students", metavar="LIST", help="A group's, by the names of the files they send.")
@click.option("--week", "weeks", metavar="WEEK:DECK", multiple=True, help="A deck that begins in a week, e.g. 3:minor.")
@click.option("--teacher", help="Whose fingerings and order these are.")
@click.option("--output", "-o", type=OUT_FILE, help="Where to write; your decks folder when left out.")
@click.option("--force", is_flag=True, help="Write over a file that is there.")
def new(name: str, output: str | None, force: bool, **given: Any) -> None:
    """Write a deck file from a few words, check it and say how many cards it makes.

    With --students it is a group's: one file, whose dates `decks move` moves for all of them.

    \b
    Examples:
      neckwork decks new monday --students "Student 1,Student 2" --week 1:set-654 --week 3:set-543
      neckwork decks new student-1 --strings 432 --quality m7,m7b5 --key flats --top-fret 12 --later 3:7
    """
    from drills.cards.deck_tools import new_deck, spread_remarks
    from scheduler.atomic_write import write_whole

    player = player_of()
    path = expanded(output) if output else player.home.decks / f"{name}.toml"
    if output is None and (Path(name).name != name or not name.strip() or name.startswith(".")):
        raise click.UsageError(f"NAME {name[:40]!r}: expected a plain file name such as student-1, or -o FILE")
    if not any(given[key] for key in ("quality", "key", "later", "include", "weeks")):
        raise click.UsageError(
            "NAME alone holds no card: add chords by --quality, --key or --include, e.g. --quality m7,m7b5"
        )
    if path.exists() and not force:
        raise DeckError(f"deck {path}: is there already; --force writes over it")
    if output is None:
        player.home.make()
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    # Read beside the file it is to become, where the decks it includes are looked for.
    draft = path.with_name(f".{path.name}.new.toml")
    try:
        text = new_deck(_wanted(name, given))
        write_whole(draft, text, private=not output)
        material = _gathered(player, draft)
        write_whole(path, text, private=not output)
    except DrillsError as error:
        raise DeckError(str(error).replace(str(draft), name)) from error
    finally:
        draft.unlink(missing_ok=True)
    echo(f"{path}: {_counts(material)}")
    for remark in (
        *spread_remarks(_parts(given["key"]), _parts(given["root"])),
        *minor_remarks(key for block in material.deck.blocks for key in block.keys),
    ):
        echo(remark, err=True)


def _wanted(name: str, given: dict[str, Any]) -> NewDeck:
    from datetime import date

    from drills.cards.deck_tools import NewDeck, spread

    later, weeks, students = _later(given["later"]), _weeks(given["weeks"]), _parts(given["students"])
    starts = day_given("--starts", given["starts"]) or (date.today() if later or weeks or students else None)
    return NewDeck(
        given["title"] or name, given["teacher"] or "", _parts(given["include"]), _parts(given["strings"]),
        _parts(given["quality"]), spread(_parts(given["root"])), spread(_parts(given["key"])), _parts(given["form"]),
        _parts(given["prompt"]), given["top_fret"], given["new_forms"], later, starts, students, weeks,
    )  # fmt: skip


@click.command("check", short_help="Say what is wrong with deck files.")
@click.argument("files", nargs=-1, required=True, metavar="FILE...")
def check(files: tuple[str, ...]) -> int:
    """Say of each deck file all that is wrong, with file, line and key, or how many cards it makes.

    \b
    Examples:
      neckwork decks check first student-1
    """
    from drills.cards.deck import deck_faults, find_deck

    player = player_of()
    wrong = 0
    for name in files:
        faults: list[DrillsError] = []
        try:
            path = find_deck(name, player.home.decks)
            faults += deck_faults(path, player.table, player.home.decks)
            if not faults:
                material = _gathered(player, path)
                echo(f"{name}: {_counts(material)}")
                for remark in minor_remarks(key for block in material.deck.blocks for key in block.keys):
                    echo(remark, err=True)
        except DrillsError as error:
            faults.append(error)
        for fault in faults:
            echo(f"neckwork: {fault}", err=True)
        wrong += bool(faults)
    return 1 if wrong else 0


@click.command("show", short_help="Show what a deck holds.")
@click.argument("name")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
@click.option("--on", "day", metavar="DATE", help="What is released by a day; everything when left out.")
def show(name: str, as_json: bool, day: str | None) -> None:
    """Show what a deck holds: cards by set and quality, skills, weeks, fingerings, what is left out and why.

    \b
    Examples:
      neckwork decks show student-1
      neckwork decks show first --json
    """
    from drills.cards.deck import find_deck
    from drills.cards.deck_tools import deck_json, deck_lines

    player = player_of()
    path, on = find_deck(name, player.home.decks), day_given("--on", day)
    answer = deck_json(_gathered(player, path, on), path, on)
    if as_json:
        echo_json(answer)
        return
    echo("\n".join(deck_lines(answer)))


@click.command(
    "move", short_help="Move a student on or back by weeks.", context_settings={"ignore_unknown_options": True}
)
@click.argument("name")
@click.argument("weeks", type=click.IntRange(-520, 520))
@click.option("--student", metavar="NAME", help="One of a group, who moves alone.")
def move(name: str, weeks: int, student: str | None) -> None:
    """Move a student's deck on by WEEKS, or back by a number below nothing. No review is lost either way.

    A group's deck moves all its students, those with a day of their own too.

    \b
    Examples:
      neckwork decks move student-1 1
    """
    from drills.cards.deck import find_deck, read_deck
    from drills.cards.deck_tools import moved
    from drills.cards.group_decks import deck_of_student, in_group
    from drills.configuration.shipped import decks_folder
    from scheduler.atomic_write import atomic_write

    player = player_of()
    path = find_deck(name, player.home.decks)
    if path.resolve().parent == decks_folder().resolve():
        raise DeckError(f"deck {name[:60]!r}: is a shipped deck; copy it into {player.home.decks} to change it")
    alone = ""
    if student is not None:
        group = read_deck(path, player.table, player.home.decks)
        deck_of_student(group, student)  # refuses whoever is not of the group
        alone = in_group(group, student) or ""
        if not alone:
            raise DeckError(f"deck {name[:60]!r}: is no group's; leave --student out, or add students = [...] to it")
    changed = moved(path.read_text(encoding="utf-8"), weeks, str(path), alone)
    with atomic_write(path) as out:
        out.write(changed)
    deck = read_deck(path, player.table, player.home.decks)
    echo(f"{path}: week 1 begins {deck.own_starts[alone] if alone else deck.starts}" + (f" for {alone}" * bool(alone)))
    for one, day in deck.own_starts.items() if not alone else ():
        echo(f"  for {one} it begins {day}")
