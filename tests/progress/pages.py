"""What a page of ours must hold, read by an HTML parser that is not a browser."""

from __future__ import annotations

import re

from lxml import html

__all__ = ["check_page"]

VOID = {"meta", "link", "br", "img", "hr"}


def _luminance(color: str) -> float:
    """Relative luminance of ``#rgb`` or ``#rrggbb`` (WCAG 2.2)."""
    digits = color.lstrip("#")
    digits = "".join(2 * digit for digit in digits) if len(digits) == 3 else digits
    parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str = "#ffffff") -> float:
    """Contrast ratio, 1 to 21."""
    high, low = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def check_page(text: str):
    """Asserts that a page stands alone and says in words what it draws; answers its root element."""
    assert text.startswith("<!DOCTYPE html>")
    root = html.document_fromstring(text)
    assert root.get("lang") and root.findtext(".//title")
    assert len(root.findall(".//h1")) == 1 and len(root.findall(".//main")) == 1
    # Every element that was opened is closed: counted in the text, since a parser mends in silence.
    for name in {element.tag for element in root.iter() if isinstance(element.tag, str)} - VOID:
        opened, closed = len(re.findall(rf"<{name}[\s>]", text)), text.count(f"</{name}>")
        single = len(re.findall(rf"<{name}\s[^>]*/>", text))
        assert opened - single == closed, name
    # Nothing is fetched and nothing is run.
    for element in root.iter():
        assert element.tag not in ("script", "iframe", "object", "embed", "img", "base", "form")
        for name, value in element.attrib.items():
            assert not name.lower().startswith("on"), name
            if name in ("src", "href", "action", "data", "xlink:href"):
                assert value.startswith(("data:", "#")), value
    assert "url(" not in text and "@import" not in text and "http-equiv" not in text
    assert not re.findall(r"https?://(?!www\.w3\.org/2000/svg)", text)
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert len(ids) == len(set(ids))
    levels = [int(element.tag[1]) for element in root.iter("h1", "h2", "h3", "h4")]
    assert all(b - a <= 1 for a, b in zip(levels, levels[1:], strict=False))
    for picture in root.iter("svg"):
        named = picture.get("aria-labelledby").split()
        assert picture.get("role") == "img" and len(named) == 2
        words = [element.text_content().strip() for element in picture if element.tag in ("title", "desc")]
        assert len(words) == 2 and all(words)
    for table in root.iter("table"):
        assert table.find("caption") is not None
        assert all(cell.get("scope") in ("col", "row") for cell in table.iter("th"))
        widths = {len(row) for row in table.iter("tr")}
        assert len(widths) == 1
    for color in set(re.findall(r"#[0-9a-f]{3,6}\b", text)) - {"#ffffff", "#fff"}:
        assert contrast(color) >= 4.5, color
        digits = color[1:] if len(color) == 7 else "".join(2 * digit for digit in color[1:])
        assert len({digits[i : i + 2] for i in (0, 2, 4)}) == 1, f"{color} is a colour, and nothing is told by colour"
    return root
