"""A drawing has the strings of the neck its shape was found on, wherever that neck came from."""

from __future__ import annotations

import json
import re
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader

from drills.neck.strings import core_sets
from drills.neck.tuning import read_tunings

TUNINGS = read_tunings()


@pytest.mark.parametrize("how", ["option", "setup"])
@pytest.mark.parametrize("name", TUNINGS)
def test_a_drawing_has_the_strings_of_its_own_neck(neckwork, tmp_path, name, how):
    """On screen as neck and box, in SVG, MusicXML and PDF, by `--tuning` and by `setup`: as many strings as the tuning
    has."""
    tuning = TUNINGS[name].tuning
    strings = next(iter(core_sets(tuning)))
    told = ("--tuning", name) if how == "option" else ()
    if how == "setup":
        assert neckwork("setup", "--tuning", name).code == 0
    asked = ("shape", "Am7", "--strings", strings.id, *told)
    screen = neckwork(*asked)
    if screen.code:  # nothing of it fits this instrument; another chord would not tell more
        pytest.skip(screen.err)
    rows = [line for line in screen.out.splitlines() if re.match(r"^ ?\d+ [│║|]", line)]
    assert len(rows) == tuning.strings
    box = neckwork(*asked, "--box", "--ascii").out
    numbers = next(line for line in box.splitlines() if re.fullmatch(r"[\d ]+", line.strip()) and len(line.split()) > 2)
    assert len(numbers.split()) == tuning.strings
    svg, xml, pdf = tmp_path / "shape.svg", tmp_path / "shape.musicxml", tmp_path / "shape.pdf"
    assert neckwork(*asked, "--svg", str(svg), "--musicxml", str(xml), "--pdf", str(pdf)).code == 0
    lines = [node for node in ElementTree.parse(svg).iter() if node.tag.endswith("line")]
    flat = {node.get("y1") for node in lines if node.get("y1") == node.get("y2")}
    assert len(flat) == tuning.strings
    (staff,) = {node.text for node in ElementTree.parse(xml).iter() if node.tag == "staff-lines"}
    assert int(staff) == tuning.strings
    assert str(tuning.strings) in PdfReader(pdf).pages[0].extract_text()
    page = tmp_path / "page.svg"
    assert neckwork("handout", "neck", "Am7", "-o", str(page), *told).code == 0
    drawing = next(node for node in ElementTree.parse(page).iter() if node.get("role") == "group")
    lines = [node for node in drawing.iter() if node.tag.endswith("line")]
    assert len({node.get("y1") for node in lines if node.get("y1") == node.get("y2")}) == tuning.strings


@pytest.mark.parametrize("name", ["bass", "ukulele-low-g"])
def test_a_phone_page_has_the_strings_of_the_players_neck(neckwork, tmp_path, name):
    """Each drawing in the page of a player of four strings has four lines along the neck."""
    assert neckwork("setup", "--tuning", name).code == 0
    page = tmp_path / "phone.html"
    assert neckwork("phone", "first", "--sessions", "1", "-o", str(page)).code == 0
    data = json.loads(re.search(r'id="data">(.*?)</script>', page.read_text("utf-8"), re.DOTALL)[1])
    parts, drawings = data["parts"], data["drawings"]
    assert drawings
    for _, _, _, numbers in drawings:
        lines = [parts[number] for number in numbers if parts[number][0] == "l"]
        assert len({part[2] for part in lines if part[2] == part[4]}) == TUNINGS[name].tuning.strings
