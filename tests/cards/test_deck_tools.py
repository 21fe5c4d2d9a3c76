"""Writing, checking, showing and moving deck files, as functions and as typed."""

from __future__ import annotations

import json
import re
import shlex
import tomllib
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.cards import deck as deck_module
from drills.cards.deck import find_deck, list_decks, read_deck
from drills.cards.deck_tools import (
    FLATS,
    SHARPS,
    NewDeck,
    deck_json,
    deck_lines,
    moved,
    new_deck,
    spread,
    spread_remarks,
)
from drills.cards.material import gather
from drills.cli import main
from drills.errors import DeckError
from drills.neck.neck import Neck
from drills.safe_text import drawn
from drills.theory.key import parse_key
from scheduler.grade import Grade
from scheduler.log.review_log import ReviewLog
from scheduler.planning.planner import Planner
from scheduler.review import Review

README = (Path(__file__).resolve().parents[2] / "decks" / "README.md").read_text(encoding="utf-8")


@pytest.fixture
def typed(tmp_path, monkeypatch, capsys):
    """Runs ``neckwork decks ARGS``: exit code, output, errors."""
    monkeypatch.setenv("NECKWORK_HOME", str(tmp_path / "home"))

    def run(*args):
        capsys.readouterr()
        code = main(["decks", *args])
        out, err = capsys.readouterr()
        return code, out, err

    return run


names = st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "S", "Zs")), min_size=1, max_size=12)


@settings(max_examples=40)
@given(
    st.builds(
        NewDeck,
        title=names,
        teacher=names,
        strings=st.lists(st.sampled_from(["654", "543", "432", "core"]), min_size=1, max_size=3, unique=True).map(
            tuple
        ),
        qualities=st.lists(st.sampled_from(["m7", "7", "m7b5", "dim7"]), min_size=1, max_size=3, unique=True).map(
            tuple
        ),
        roots=st.sampled_from([(), FLATS, ("C", "G")]),
        top_fret=st.none() | st.integers(5, 22),
        new_forms=st.none() | st.integers(0, 5),
        later=st.just(()) | st.integers(2, 9).map(lambda week: ((week, ("maj7",)),)),
        starts=st.dates(date(2020, 1, 1), date(2040, 1, 1)),
    )
)
def test_what_is_written_is_what_was_asked(tmp_path_factory, wanted):
    """Any new deck reads back with its title, teacher, blocks, limits and weeks, whatever signs its texts hold.

    Any kind of space is read as a space.
    """
    path = tmp_path_factory.mktemp("decks") / "one.toml"
    path.write_text(new_deck(wanted), encoding="utf-8")
    deck = read_deck(path)
    assert (deck.title, deck.teacher, deck.starts) == (drawn(wanted.title), drawn(wanted.teacher), wanted.starts)
    first, *later = deck.blocks
    assert first.qualities == wanted.qualities
    assert first.core == ("core" in wanted.strings)
    assert tuple(one.id for one in first.string_sets) == tuple(one for one in wanted.strings if one != "core")
    assert tuple(note.name for note in first.roots) == wanted.roots
    assert [(block.from_week, block.qualities) for block in later] == list(wanted.later)
    assert deck.neck == ({} if wanted.top_fret is None else {"top_fret": wanted.top_fret})
    assert deck.limits == ({} if wanted.new_forms is None else {"form": wanted.new_forms})


def test_flats_and_sharps_are_keys_by_signature():
    """``flats`` are the major keys of one to six flats in order, ``sharps`` those of one to six sharps."""
    for names, sign, letters in ((FLATS, -1, "BEADGCF"), (SHARPS, 1, "FCGDAEB")):
        for number, name in enumerate(names, 1):
            altered = {note.name[0] for chord in parse_key(name).chords() for note in chord.notes if note.alter == sign}
            assert altered == set(letters[:number])
    assert spread(("flats", "C", "F")) == (*FLATS, "C")


def test_flats_as_keys_and_as_roots_are_told_apart():
    """Keys bring their seven chords, roots the chords on them; each says what the other would ask."""
    (keys,) = spread_remarks(("Flats",), ())
    (roots,) = spread_remarks((), ("sharps", "C"))
    assert keys.startswith("--key flats: the seven chords") and "--root flats asks" in keys
    assert roots.startswith("--root sharps: chords on the roots G D A E B F#") and "--key sharps asks" in roots
    assert spread_remarks(("C",), ("Eb",)) == []


def test_a_teacher_sets_a_deck_in_one_line(typed, tmp_path):
    """4-3-2 only, m7 and m7b5, flat keys, top fret 12, from week 3 on also 7: one command, checked and counted."""
    words = "new student-1 --strings 432 --quality m7,m7b5 --key flats --top-fret 12 --later 3:7 --starts 2026-09-07"
    code, out, _ = typed(*words.split(), "--teacher", "B. Teacher")
    assert code == 0
    path = tmp_path / "home" / "decks" / "student-1.toml"
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 20
    deck = read_deck(path)
    early = gather(deck, Neck(), today=date(2026, 9, 20))
    late = gather(deck, Neck(), today=date(2026, 9, 21))
    assert {card.chord.quality.name for card in early.cards.values()} == {"m7", "m7b5"}
    assert {card.chord.quality.name for card in late.cards.values()} == {"m7", "m7b5", "7"}
    everything = gather(deck, Neck())
    assert out.endswith(f"{len(everything.cards)} cards, {len(everything.left_out)} left out\n")
    assert all(
        shape.notes and max(n.fret for n in shape.notes) <= 12
        for shape in map(everything.answer, everything.cards.values())
    )
    assert typed("new", "student-1", "--quality", "m7")[0] == 1
    assert typed("new", "student-1", "--quality", "m7", "--force")[0] == 0


@pytest.mark.parametrize(
    ("args", "code", "says"),
    [
        (("new", "x", "--quality", "junk"), 1, "qualities: expected one of"),
        (("new", "x", "--quality", "m7", "--strings", "999"), 1, "string_sets"),
        (("new", "../x", "--quality", "m7"), 2, "plain file name"),
        (("new", "x", "--quality", "m7", "--later", "soon"), 2, "--later"),
        (("new", "x", "--quality", "m7", "--later", "3:7", "--starts", "soon"), 2, "--starts"),
        (("new", "x", "--quality", "m7", "--top-fret", "1"), 1, "no card fits"),
        (("check", "nosuch"), 1, "no such deck"),
        (("show", "nosuch"), 1, "no such deck"),
        (("move", "first", "1"), 1, "is a shipped deck"),
    ],
)
def test_what_cannot_be_is_refused_and_leaves_nothing(typed, tmp_path, args, code, says):
    """One clear line, the right exit code, and no file left behind."""
    got, _, err = typed(*args)
    assert (got, says in err, "Traceback" in err) == (code, True, False), err
    folder = tmp_path / "home" / "decks"
    assert not folder.is_dir() or list(folder.iterdir()) == []


def test_check_answers_with_file_line_and_key(typed, tmp_path):
    """A wrong value, a loop, a missing file and a good deck, each answered; one bad file makes the exit code 1."""
    folder = tmp_path / "home" / "decks"
    folder.mkdir(parents=True)
    (folder / "wrong.toml").write_text('title = "x"\n\n[[material]]\nqualities = ["m7"]\nstring_sets = [432]\n')
    (folder / "loop.toml").write_text('include = ["pool"]\n')
    (folder / "pool.toml").write_text('include = ["loop"]\n')
    (folder / "gone.toml").write_text('include = ["nowhere"]\n')
    code, out, err = typed("check", "first", "wrong", "loop", "gone")
    assert code == 1
    assert out == "first: 144 cards\n"
    wrong, loop, gone = err.splitlines()
    assert "wrong.toml, line 5: material 1, string_sets: expected" in wrong
    assert "in a loop (loop.toml -> pool.toml -> loop.toml)" in loop
    assert "gone.toml, line 1" in gone and "include" in gone


def test_a_deck_that_cannot_be_read_hides_no_other(tmp_path, monkeypatch, capsys):
    """`neckwork decks` names the bad file with its line and lists all the rest with their counts."""
    from drills.cli import main

    folder = tmp_path / "home" / "decks"
    folder.mkdir(parents=True)
    (folder / "bad.toml").write_text("title = 3\n", encoding="utf-8")
    (folder / "mine.toml").write_text('title = "Mine"\ninclude = ["first"]\n', encoding="utf-8")
    monkeypatch.setenv("NECKWORK_HOME", str(tmp_path / "home"))
    assert main(["decks", "--json"]) == 0
    said = capsys.readouterr()
    rows = {row["name"]: row["cards"] for row in json.loads(said.out)}
    assert rows["mine"] == rows["first"] == 144 and "bad" not in rows
    assert "bad.toml, line 1: title: expected text" in said.err


def test_moving_keeps_every_other_word(typed, tmp_path):
    """Moving on and back restores the file byte for byte, comments included; without a start it is refused."""
    folder = tmp_path / "home" / "decks"
    folder.mkdir(parents=True)
    text = '# mine\ntitle = "x"  # a note\nstarts = 2026-09-07\n\n'
    text += '[[material]]\nqualities = ["m7"]\nstring_sets = ["432"]\n'
    (folder / "s.toml").write_text(text)
    assert typed("move", "s", "2")[1].endswith("week 1 begins 2026-08-24\n")
    assert (folder / "s.toml").read_text() == text.replace("2026-09-07", "2026-08-24")
    assert typed("move", "s", "--", "-2")[0] == 0
    assert (folder / "s.toml").read_text() == text
    with pytest.raises(DeckError, match="starts: expected a date to move"):
        moved(text.replace("starts = 2026-09-07\n", ""), 1, "s.toml")
    with pytest.raises(DeckError, match="leave the calendar"):
        moved(text, 500_000, "s.toml")


def test_show_counts_what_gather_makes(typed):
    """The default deck is 144 cards made of 8 forms, 36 roots and 48 spellings (drills/RULES.md, 0)."""
    answer = json.loads(typed("show", "first", "--json")[1])
    assert answer["cards"] == 144 == sum(row["cards"] for row in answer["by_strings_and_quality"])
    assert answer["skills"] == {"form": 8, "root": 36, "spell": 48}
    assert "144 cards made of 8 form skills, 36 root skills, 48 spell skills." in typed("show", "first")[1]
    assert "Asked as: ear, ear-play, inner" in typed("show", "ear")[1]  # the kinds that its file names


@pytest.mark.parametrize("path", list_decks(None), ids=lambda path: path.stem)
def test_every_shipped_deck_can_be_shown(path):
    """Counts add up and what is left out has a reason."""
    material = gather(read_deck(path), Neck())
    answer = deck_json(material, path)
    placed = sum(row["cards"] for row in answer["by_strings_and_quality"])
    assert placed + answer["transitions"] == answer["cards"] == len(material.cards)
    assert all(one["reason"] for one in answer["left_out"])
    text = "\n".join(deck_lines(answer))
    assert str(answer["cards"]) in text and answer["title"] in text
    assert find_deck(path.stem, None) == path


def test_the_deck_page_has_the_keys_of_the_reader_and_no_other():
    """The tables of decks/README.md name each key that the reader accepts and none besides; its example is TOML."""
    first_cells = re.findall(r"^\| (`.+?) \|", README, re.M)
    documented = set(re.findall(r"`\[*(\w+)\]*`", " ".join(first_cells)))
    assert documented == {*deck_module._TOP, *deck_module._BLOCK}
    for table, keys in (("neck", deck_module._NECK), ("limits", deck_module._LIMITS)):
        (row,) = re.findall(rf"^\| `\[{table}\]` \| (.+) \|$", README, re.M)
        assert set(re.findall(r"`(\w+)`", row)) == set(keys)
    assert tomllib.loads(re.search(r"```toml\n(.*?)```", README, re.S)[1])["material"]


def test_the_commands_of_the_deck_page_run(typed):
    """Each line of decks/README.md as a teacher would type it."""
    lines = re.findall(r"^neckwork decks (.+)$", README, re.M)
    assert len(lines) >= 4
    for line in lines:
        assert typed(*shlex.split(line))[0] == 0, line


def test_withdrawing_material_loses_no_review(tmp_path):
    """A deck that shrinks and grows again changes what is asked next; the log and what it taught stay."""
    wide, narrow = tmp_path / "wide.toml", tmp_path / "narrow.toml"
    wide.write_text(new_deck(NewDeck(qualities=("m7", "7"), strings=("432",))), encoding="utf-8")
    narrow.write_text(new_deck(NewDeck(qualities=("7",), strings=("432",))), encoding="utf-8")
    whole, part = gather(read_deck(wide), Neck()), gather(read_deck(narrow), Neck())
    at = datetime(2026, 9, 7, 18, tzinfo=UTC)
    with ReviewLog(tmp_path / "log.sqlite3") as log:
        planner = Planner(whole.specs(), rules=whole.rules())
        for number in range(8):
            now = at + timedelta(minutes=number)
            card = whole.cards[planner.next(now)]
            review = Review(card.id, Grade.CLEAN, now, 4.0, skills=card.skills)
            log.record(review)
            planner.record(review)
        kept = list(log.reviews())
        later = at + timedelta(days=1)
        fewer = Planner(part.specs(), history=kept, rules=part.rules())
        assert fewer.next(later) in part.cards
        assert any(review.card not in part.cards for review in kept)
        # What a withdrawn card taught of a shared root still counts.
        root = next(
            s for review in kept if review.card not in part.cards for s in review.skills if s.startswith("root:")
        )
        assert root in fewer.met_skills
        again = Planner(whole.specs(), history=list(log.reviews()), rules=whole.rules())
        assert list(log.reviews()) == kept
        assert again.next(later) == planner.next(later)
