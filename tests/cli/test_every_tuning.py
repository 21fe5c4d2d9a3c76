"""A drawing has the strings of the neck its shape was found on, wherever that neck came from."""

from __future__ import annotations

import json
import re
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader

from drills.neck.strings import core_sets
from drills.neck.tuning import read_tunings
from drills.theory.note import Note

TUNINGS = read_tunings()


CHORDS = ("Am7", "G7", "Cmaj7", "Dm7b5")
"""One of these fits on every shipped tuning."""


def across(drawing):
    """At how many heights an SVG drawing has a line along the neck."""
    lines = [node for node in drawing.iter() if node.tag.endswith("line")]
    return len({node.get("y1") for node in lines if node.get("y1") == node.get("y2")})


def pdf_across(path):
    """At how many heights a PDF's first page has a line along the neck, and its words."""
    page = PdfReader(path).pages[0]
    drawn = page.get_contents().get_data().decode("latin-1")
    lines = re.findall(r"^([\d.]+) ([\d.]+) m ([\d.]+) ([\d.]+) l S$", drawn, re.MULTILINE)
    return len({y for _, y, _, to in lines if y == to}), page.extract_text()


def phone_across(text):
    """At how many heights each drawing of a phone page has a line along the neck."""
    data = json.loads(re.search(r'id="data">(.*?)</script>', text, re.DOTALL)[1])
    drawings = [[data["parts"][number] for number in numbers] for _, _, _, numbers in data["drawings"]]
    return [len({p[2] for p in parts if p[0] == "l" and p[2] == p[4]}) for parts in drawings]


@pytest.mark.parametrize("how", ["option", "setup"])
@pytest.mark.parametrize("name", TUNINGS)
def test_a_drawing_has_the_strings_of_its_own_neck(neckwork, tmp_path, name, how):
    """On screen as neck and box, said, in SVG, PDF and MusicXML, on a handout drawn, printed and said, and on a phone
    page, by `--tuning` and by `setup`: as many strings as the tuning has."""
    tuning = TUNINGS[name].tuning
    strings = next(iter(core_sets(tuning)))
    told = ("--tuning", name) if how == "option" else ()
    if how == "setup":
        assert neckwork("setup", "--tuning", name).code == 0
    for chord in CHORDS:
        asked = ("shape", chord, "--strings", strings.id, *told)
        screen = neckwork(*asked)
        if screen.code == 0:
            break
    assert screen.code == 0, screen.err
    rows = [line for line in screen.out.splitlines() if re.match(r"^ ?\d+ [│║|]", line)]
    assert len(rows) == tuning.strings
    box = neckwork(*asked, "--box", "--ascii").out
    numbers = next(line for line in box.splitlines() if re.fullmatch(r"[\d ]+", line.strip()) and len(line.split()) > 2)
    assert len(numbers.split()) == tuning.strings
    # A voice names the strings that are played, and each note as this neck has it there.
    said = re.findall(r"string (\d+) fret (\d+) ([A-G][b#]?)\b", neckwork(*asked, "--plain").out)
    assert {int(string) for string, _, _ in said} == set(strings.numbers)
    for string, fret, note in said:
        sounds = tuning.open_pitch(int(string)).midi + int(fret)
        assert sounds % 12 == Note.parse(note).pitch_class
    svg, xml, pdf = tmp_path / "shape.svg", tmp_path / "shape.musicxml", tmp_path / "shape.pdf"
    assert neckwork(*asked, "--svg", str(svg), "--musicxml", str(xml), "--pdf", str(pdf)).code == 0
    assert across(ElementTree.parse(svg)) == tuning.strings
    (staff,) = {node.text for node in ElementTree.parse(xml).iter() if node.tag == "staff-lines"}
    assert int(staff) == tuning.strings
    drawn, words = pdf_across(pdf)
    assert drawn == tuning.strings and str(tuning.strings) in words
    page = tmp_path / "page.svg"
    assert neckwork("handout", "neck", chord, "-o", str(page), *told).code == 0
    assert across(next(n for n in ElementTree.parse(page).iter() if n.get("role") == "group")) == tuning.strings
    spoken = neckwork("handout", "neck", chord, *told).out
    assert {int(string) for string in re.findall(r"string (\d+): fret", spoken)} == set(range(1, tuning.strings + 1))
    phone = tmp_path / "phone.html"
    kept = ("--strings", strings.id, "--root", chord[0], "--quality", chord[1:], "--sessions", "1", "--quiet")
    assert neckwork("phone", "first", *kept, *told, "-o", str(phone)).code == 0
    drawings = phone_across(phone.read_text("utf-8"))
    assert drawings and set(drawings) == {tuning.strings}


@pytest.mark.parametrize("name", ["bass", "ukulele-low-g"])
def test_a_phone_page_has_the_strings_of_the_players_neck(neckwork, tmp_path, name):
    """A whole deck's: each drawing in the page of a player of four strings has four lines along the neck."""
    assert neckwork("setup", "--tuning", name).code == 0
    page = tmp_path / "phone.html"
    assert neckwork("phone", "first", "--sessions", "1", "-o", str(page)).code == 0
    drawings = phone_across(page.read_text("utf-8"))
    assert len(drawings) > 1 and set(drawings) == {TUNINGS[name].tuning.strings}
