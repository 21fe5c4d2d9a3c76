"""Pages of HTML that stand alone: no script, nothing fetched, readable without colour, on a phone and on paper."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from html import escape

from drills.safe_text import drawn

__all__ = ["figure", "folded", "inline", "page", "section", "side_by_side", "table"]

_STYLE = """
:root{color-scheme:light}
body{font:16px/1.5 system-ui,sans-serif;color:#1a1a1a;background:#fff;max-width:56rem;margin:0 auto;padding:1rem}
h1{font-size:1.5rem}h2{font-size:1.2rem;margin:2rem 0 .5rem}h3{font-size:1rem;margin:1rem 0 .25rem}
table{border-collapse:collapse;font-variant-numeric:tabular-nums}caption{text-align:left;padding:.3rem 0}
th,td{border:1px solid #5c5c5c;padding:.2rem .6rem;text-align:left;vertical-align:top}
thead th{border-bottom:2px solid #1a1a1a}td,tbody th,.whole{white-space:nowrap}
code{font-size:.95em;overflow-wrap:anywhere}
.wide{overflow-x:auto;margin:.5rem 0}svg{display:block;width:100%;height:auto}
summary{font-size:1.2rem;font-weight:bold;margin:2rem 0 .5rem;cursor:pointer}.said{font-size:1.15rem}
.side{display:grid;grid-template-columns:repeat(auto-fill,minmax(min(100%,20rem),1fr));gap:0 2rem}
figure{margin:.75rem 0;break-inside:avoid}figcaption{font-size:.95rem}
tr,.side>*{break-inside:avoid}h2,h3,h2+p,caption{break-after:avoid}
@media(max-width:40rem){table{font-size:.9rem}th,td{padding:.15rem .3rem}
tbody th{white-space:normal;min-width:5.5rem}}
@page{margin:14mm}@media print{body{font-size:11pt;padding:0;max-width:none}.wide{overflow:visible}
h2{margin-top:1rem}table{font-size:9pt}th,td{padding:.1rem .35rem}svg{max-width:17cm}
details svg{max-width:10.5cm}.side svg{max-width:8cm}
details::details-content{content-visibility:visible}
.side{grid-template-columns:1fr 1fr}}
"""


_SET = re.compile(r"\d+(?:-\d+)+")


def inline(text: str) -> str:
    """Text as HTML; a string set or a date is never torn apart at a hyphen (a page has the style for it)."""
    return _SET.sub(r'<span class="whole">\g<0></span>', escape(drawn(text)))


def page(title: str, body: Iterable[str]) -> str:
    """A whole page around `body`, which is HTML already; `title` is text."""
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        # Without an icon of its own a browser would ask a server for one.
        f'<link rel="icon" href="data:,"><title>{escape(drawn(title))}</title><style>{_STYLE}</style></head>\n'
        f"<body><main><h1>{escape(drawn(title))}</h1>\n" + "\n".join(body) + "\n</main></body></html>\n"
    )


def section(heading: str, *body: str) -> str:
    """A part of a page under a heading, which is text; `body` is HTML."""
    return f"<section><h2>{escape(drawn(heading))}</h2>\n" + "\n".join(part for part in body if part) + "</section>"


def folded(heading: str, body: Iterable[str]) -> str:
    """Parts behind a heading that opens them; `body` is HTML."""
    return f"<details><summary>{escape(drawn(heading))}</summary>\n" + "\n".join(body) + "</details>"


def figure(svg: str, caption: str = "") -> str:
    """A picture, and words under it."""
    return f"<figure>{svg}{f'<figcaption>{escape(drawn(caption))}</figcaption>' if caption else ''}</figure>"


def side_by_side(parts: Iterable[str]) -> str:
    """Parts next to one another where there is room; each is HTML and is not torn apart on paper."""
    return '<div class="side">' + "\n".join(f"<div>{part}</div>" for part in parts) + "</div>"


def table(caption: str, header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table; all cells are text, the first of each row its heading."""
    head = "".join(f'<th scope="col">{escape(drawn(cell))}</th>' for cell in header)
    lines = "\n".join(
        f'<tr><th scope="row">{inline(row[0])}</th>' + "".join(f"<td>{inline(cell)}</td>" for cell in row[1:]) + "</tr>"
        for row in rows
    )
    # What may scroll sideways must be reachable by keyboard, and then needs a name.
    return (
        f'<div class="wide" role="region" tabindex="0" aria-label="{escape(drawn(caption))}"><table>'
        f"<caption>{escape(drawn(caption))}</caption>\n<thead><tr>{head}</tr></thead>\n<tbody>{lines}</tbody></table></div>"
    )
