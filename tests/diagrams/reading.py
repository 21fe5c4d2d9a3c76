"""Reads drawings back into places, knowing only how a neck is drawn: an independent eye for the tests."""

import re
from xml.etree import ElementTree

SVG = "{http://www.w3.org/2000/svg}"


def neck_places(lines):
    """(string, fret, label, is_root) of every mark of a sideways neck in characters."""
    found, numbers = set(), []
    for line in lines:
        if re.fullmatch(r"[\s\d]+", line) and not re.match(r"\s?\d+ [ #║│|]", line):
            numbers = [((match.start() + match.end() - 1) / 2, int(match[0])) for match in re.finditer(r"\d+", line)]
        elif match := re.match(r"\s?(\d+) ", line):
            for mark in re.finditer(r"\[?(?:[b#]*\d+|[A-G][b#]*)\]?", line[3:]):
                centre = 3 + (mark.start() + mark.end() - 1) / 2
                fret = min(numbers, key=lambda number: abs(number[0] - centre))[1]
                found.add((int(match[1]), fret, mark[0].strip("[]"), mark[0].startswith("[")))
    return found


def box_places(lines):
    """(string, fret, label, is_root) of every mark of an upright chord box in characters."""
    strings = [(match.start(), int(match[0])) for match in re.finditer(r"\d+", lines[0])]
    found = set()
    for line in lines[1:]:
        fret = int(line[:3])
        for mark in re.finditer(r"\[?(?:[b#]*\d+|[A-G][b#]*)\]?", line[4:]):
            centre = 4 + (mark.start() + mark.end() - 1) / 2
            string = min(strings, key=lambda place: abs(place[0] - centre))[1]
            found.add((string, fret, mark[0].strip("[]"), mark[0].startswith("[")))
    return found


def svg_places(text, orientation):
    """(string, fret, label, is_root) of every mark of an SVG neck or box, by where it lies on the page.

    Strings and frets are read off the nearest number, not from the attributes, which must agree.
    """
    root = ElementTree.fromstring(text)
    plain = [item for item in root.iter(f"{SVG}text") if item.get("font-weight") is None]
    across = [(float(item.get("x")), int(item.text)) for item in plain if item.get("text-anchor") == "middle"]
    down = [(float(item.get("y")), int(item.text)) for item in plain if item.get("text-anchor") == "end"]
    found = set()
    for group in root.iter(f"{SVG}g"):
        words = group.find(f"{SVG}text")
        column = min(across, key=lambda number: abs(number[0] - float(words.get("x"))))[1]
        row = min(down, key=lambda number: abs(number[0] - float(words.get("y"))))[1]
        string, fret = (column, row) if orientation == "box" else (row, column)
        if (group.get("data-string"), group.get("data-fret")) != (str(string), str(fret)):
            raise ValueError(f"drawn at string {string} fret {fret}, said {group.attrib}")
        found.add((string, fret, words.text, group.find(f"{SVG}rect") is not None))
    return found
