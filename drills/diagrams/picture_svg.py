"""Pictures written as SVG (W3C SVG 1.1 with WAI-ARIA text alternatives), black on white."""

from __future__ import annotations

from xml.etree.ElementTree import Element, SubElement, tostring

from drills.diagrams.embedded import FAMILY, MUSIC_FAMILY, font_faces
from drills.diagrams.picture import Group, Mark, MusicSign, Part, Patch, Picture, Rect, Ring, Stroke, Words

__all__ = ["svg_text"]

_FONTS = "'DejaVu Sans', Verdana, Arial, sans-serif"


def svg_text(picture: Picture, *, fonts: bool = False) -> str:
    """The picture as a standalone SVG document, measured in points; ends with a line break.

    fonts: whether its signs are carried inside it, for a file that is sent and printed; else they are those of the
    machine that shows it.
    Every note stands in a group that carries its string and fret (``data-string``,
    ``data-fret``) and its label as text.
    """
    size = {"width": f"{_n(picture.wide)}pt", "height": f"{_n(picture.high)}pt"}
    box = f"0 0 {_n(picture.wide)} {_n(picture.high)}"
    head = {"xmlns": "http://www.w3.org/2000/svg", "version": "1.1", "viewBox": box, "role": "img"}
    root = Element("svg", head | size)
    root.set("font-family", f"'{FAMILY}', {_FONTS}" if fonts else _FONTS)
    _alternative(root, picture.title, picture.about)
    if fonts:
        SubElement(root, "style").text = font_faces(picture.parts)
    SubElement(root, "rect", width="100%", height="100%", fill="#ffffff")
    _write(root, picture.parts)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + tostring(root, encoding="unicode") + "\n"


def _alternative(element: Element, title: str, about: str) -> None:
    if title:
        SubElement(element, "title").text = title
    if about:
        SubElement(element, "desc").text = about


def _write(above: Element, parts: tuple[Part, ...]) -> None:
    for part in parts:
        match part:
            case Stroke():
                SubElement(
                    above,
                    "line",
                    x1=_n(part.x1),
                    y1=_n(part.y1),
                    x2=_n(part.x2),
                    y2=_n(part.y2),
                    stroke=_colour(part.grey),
                ).set("stroke-width", _n(part.width))
            case Rect():
                SubElement(
                    above, "rect", x=_n(part.x), y=_n(part.y), width=_n(part.wide), height=_n(part.high),
                    fill="#000000" if part.filled else "#ffffff", stroke="#000000",
                ).set("stroke-width", _n(part.width))  # fmt: skip
            case Ring():
                SubElement(
                    above, "circle", cx=_n(part.x), cy=_n(part.y), r=_n(part.radius),
                    fill=_colour(part.grey) if part.filled else "#ffffff", stroke=_colour(part.grey),
                ).set("stroke-width", _n(part.width))  # fmt: skip
            case Words():
                text = SubElement(above, "text", x=_n(part.x), y=_n(part.y))
                text.set("font-size", _n(part.size))
                if part.anchor != "start":
                    text.set("text-anchor", part.anchor)
                if part.bold:
                    text.set("font-weight", "bold")
                if part.white:
                    text.set("fill", "#ffffff")
                text.text = part.text
            case Patch():
                corners = " ".join(f"{_n(x)},{_n(y)}" for x, y in part.corners)
                SubElement(above, "polygon", points=corners, fill="#000000")
            case MusicSign():
                sign = SubElement(above, "text", x=_n(part.x), y=_n(part.y))
                sign.set("font-family", f"'{MUSIC_FAMILY}'")
                sign.set("font-size", _n(part.size))
                sign.text = part.text
            case Mark():
                group = SubElement(above, "g", {"class": "root" if part.is_root else "note"})
                group.set("data-string", str(part.string))
                group.set("data-fret", str(part.fret))
                _write(group, part.parts)
            case Group():
                group = SubElement(above, "g", role="group")
                _alternative(group, part.title, part.about)
                _write(group, part.parts)


def _colour(grey: float) -> str:
    return "#" + f"{round(255 * grey):02x}" * 3


def _n(number: float) -> str:
    """A length with at most two decimals, a hundredth of a point being invisible."""
    return f"{number:.2f}".rstrip("0").rstrip(".")
