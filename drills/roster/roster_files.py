"""The sheet and a student's page as plain text, Markdown and HTML."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Mapping, Sequence
from datetime import date
from html import escape
from urllib.parse import quote

from drills.progress.html import inline
from drills.progress.progress_sentences import FIRST_TRY_WORDS
from drills.roster.needs import ORDER_WORDS, one_thing
from drills.roster.page_of_one import Section
from drills.roster.roster_sheet import RosterSheet
from drills.roster.student import JUDGED_DAYS, Student
from drills.safe_text import one_line

__all__ = ["HEADER", "SELF_REPORTED", "cells", "headed", "page_text", "sheet_text"]

HEADER = ("student", "to fix", "questions", "days of 7", "clean this week", "clean in 28 days", "new shapes", "grades",
           "slips", "not played")  # fmt: skip
"""What to do stands first, so that a phone shows it without scrolling sideways."""

SELF_REPORTED = f"All counts are of self-reported {FIRST_TRY_WORDS}. {ORDER_WORDS}"
_GRADES = ("Looked", "Found it", "Clean", "In time")
_LEAST_WIDTH = 72
_NAME_WIDTH = 20
_PLACES, _QUESTIONS = 3, 2
"""How many of each a row names; the student's page names more."""

# No script and nothing fetched; an icon of its own keeps a browser from asking a server for one.
_PAGE = """<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<link rel="icon" href="data:,"><title>{title}</title><style>
:root{{color-scheme:light}}
body{{font:16px/1.45 system-ui,sans-serif;color:#1a1a1a;background:#fff;margin:0 auto;padding:1rem;max-width:80rem}}
h1{{font-size:1.5rem}}h2{{font-size:1.15rem}}.wide{{overflow-x:auto}}
table{{border-collapse:collapse;font-size:.9rem}}caption{{text-align:left}}
th,td{{border:1px solid #5c5c5c;padding:.2rem .5rem;text-align:left;vertical-align:top}}tr{{break-inside:avoid}}
th[scope=row],.whole{{white-space:nowrap}}
a{{color:#003f8a}}.one{{margin-top:2.5rem;border-top:2px solid #1a1a1a}}h3{{font-size:1rem}}
@page{{margin:10mm;size:{turn}}}
@media print{{body{{font-size:{print_size};line-height:1.25;padding:0;max-width:none}}
.one{{display:none}}h1,p{{margin:0 0 .5em}}.wide{{overflow:visible}}table{{font-size:7.5pt}}th,td{{padding:1pt 3pt}}}}
</style></head>
<body><main><h1>{title}</h1>
{body}
</main></body></html>
"""


def sheet_text(
    sheet: RosterSheet,
    kind: str = "text",
    width: int = 100,
    links: Mapping[str, str] | None = None,
    pages: Mapping[str, Sequence[Section]] | None = None,
) -> str:
    """The sheet as ``text``, ``md`` or ``html``; width: of a line of plain text, in columns, at least 72.

    In HTML a student's name leads to their page: to where `links` says, or below in the same file, where `pages` has
    what stands there. On paper the sheet stands alone.
    """
    title = f"Roster on {sheet.today.isoformat()}"
    notes = [SELF_REPORTED] + ([sheet.shared.words] if sheet.shared else [])
    if kind == "html":
        rows = [cells(one) for one in sheet.students]
        places = {name: f"#student-{number}" for number, name in enumerate(pages or {}, 1)}
        to = {**places, **{name: quote(where) for name, where in (links or {}).items()}}
        body = [*(f"<p>{inline(note)}</p>" for note in notes), _html_table("Students", HEADER, rows, to)]
        for heading, lines in headed(sheet):
            body += _html_list(heading, lines)
        for number, (name, sections) in enumerate((pages or {}).items(), 1):
            body.append(f'<section class="one" id="student-{number}"><h2>{escape(name)}</h2>')
            for heading, lines in sections:
                body += [part.replace("<h2>", "<h3>").replace("</h2>", "</h3>") for part in _html_list(heading, lines)]
            body.append("</section>")
        # Twenty students are to fit on one sheet of paper, hence on its side and small.
        return _PAGE.format(title=escape(title), turn="landscape", print_size="8pt", body="\n".join(body))
    if kind == "md":
        lines = [f"# {title}", "", *_md_lines(notes)]
        lines += [_md_row(HEADER), "|" + " --- |" * len(HEADER)]
        lines += [_md_row(cells(one)) for one in sheet.students]
        for heading, under in headed(sheet):
            lines += _md_list(heading, under)
        return "\n".join(lines) + "\n"
    return "\n".join(_plain_sheet(sheet, title, notes, max(width, _LEAST_WIDTH))) + "\n"


def headed(sheet: RosterSheet) -> list[Section]:
    """What stands under the table: who shares a cause, where that was asked for, who of a group sent nothing, and the
    files passed over."""
    groups = [group.words for group in sheet.groups]
    silent = [", ".join(sheet.silent)] if sheet.silent else []
    elsewhere = [f"{sheet.elsewhere} more in the folder"] if sheet.elsewhere else []
    passed = [f"{one.file}: {one.reason}" for one in sheet.passed]
    found = [
        ("Groups with a cause in common", groups),
        ("In the class, without a readable file", silent),
        ("Not in the class", elsewhere),
        (f"Files passed over, {len(passed)}", passed),
    ]
    return [(heading, lines) for heading, lines in found if lines]


def page_text(name: str, today: date, sections: Sequence[Section], kind: str = "text", width: int = 100) -> str:
    """One student's page as ``text``, ``md`` or ``html``."""
    title = f"{name}, {today.isoformat()}"
    if kind == "html":
        body = [f"<p>{escape(SELF_REPORTED.partition(' Who')[0])}</p>"]
        for heading, lines in sections:
            body += _html_list(heading, lines)
        return _PAGE.format(title=escape(title), turn="portrait", print_size="11pt", body="\n".join(body))
    if kind == "md":
        lines = [f"# {_md(title)}", "", SELF_REPORTED.partition(" Who")[0]]
        for heading, under in sections:
            lines += _md_list(heading, under)
        return "\n".join(lines) + "\n"
    lines = [title, SELF_REPORTED.partition(" Who")[0]]
    for heading, under in sections:
        lines += ["", f"{heading}:", *(row for line in under for row in _wrapped(one_line(line), width, "  "))]
    return "\n".join(lines) + "\n"


def cells(one: Student) -> list[str]:
    """A student's row under HEADER."""
    places = [f"{quality} on {strings}" for strings, quality in (*one.avoided, *one.unmet)]
    avoided = places[:_PLACES] + ([f"{len(places) - _PLACES} more"] if len(places) > _PLACES else [])
    avoided += [f"{one.rested} set aside"] if one.rested else []
    questions = [f"{asked.card}: {asked.text}" if asked.text else asked.card for asked in one.questions]
    return [
        one.name,
        one_thing(one),
        "; ".join(questions[:_QUESTIONS] + ([f"{more} more"] if (more := len(questions) - _QUESTIONS) > 0 else [])),
        str(one.days_of_7),
        str(one.week),
        str(one.month),
        str(one.new_shapes),
        ", ".join(f"{word} {one.grades[word]}" for word in _GRADES if word in one.grades),
        ", ".join(f"{slip} {times}" for slip, times in one.slip_totals.items()),
        ", ".join(avoided),
    ]


def _plain_sheet(sheet: RosterSheet, title: str, notes: list[str], width: int) -> list[str]:
    # The four grades stand as four numbers: a word for each would not fit beside the rest.
    legend = f"days: of 7; new: shapes met in 7 days; L/F/C/T: {', '.join(_GRADES)}, in {JUDGED_DAYS} days."
    lines = [title, *(row for note in [*notes, *[legend] * bool(sheet.students)] for row in _wrapped(note, width, ""))]
    lines += ["", f"{'student':{_NAME_WIDTH}} days  new  {'clean, 7 and 28 days':22}  L/F/C/T"]
    for one in sheet.students:
        grades = "/".join(str(one.grades.get(word, 0)) for word in _GRADES)
        counts = f"{one.week}, {one.month}"
        lines.append(f"{_column(one.name)} {one.days_of_7:>4} {one.new_shapes:>4}  {counts:22}  {grades}")
        row = cells(one)
        told = (("to fix", row[1]), ("asks", row[2]), ("not played", row[9]), ("slips", row[8]))
        for word, text in told:
            lines += _wrapped(one_line(f"{word}: {text}"), width, "    ") if text else []
    if not sheet.students:
        lines.append("No student's file could be read; a student makes one with neckwork export -o NAME.json")
    for heading, under in headed(sheet):
        lines += ["", f"{heading}:", *(row for text in under for row in _wrapped(one_line(text), width, "  "))]
    return lines


def _column(name: str) -> str:
    """A name in as many columns of a terminal as its place has, wide characters counted as two."""
    from rich.cells import cell_len, set_cell_size

    if cell_len(name) > _NAME_WIDTH:
        name = set_cell_size(name, _NAME_WIDTH - 3) + "..."
    return set_cell_size(name, _NAME_WIDTH)


def _wrapped(text: str, width: int, indent: str) -> list[str]:
    return textwrap.wrap(text, max(width, _LEAST_WIDTH), initial_indent=indent, subsequent_indent=indent + "  ")


def _md(text: str) -> str:
    """Text that Markdown shows as it is (CommonMark: a backslash before punctuation)."""
    return re.sub(r"([\\`*_\[\]<>|#&~])", r"\\\1", one_line(text))


def _md_row(cells: Sequence[str]) -> str:
    return "| " + " | ".join(_md(cell) for cell in cells) + " |"


def _md_lines(notes: Sequence[str]) -> list[str]:
    return [line for note in notes for line in (_md(note), "")]


def _md_list(heading: str, lines: Sequence[str]) -> list[str]:
    return ["", f"## {_md(heading)}", "", *(f"- {_md(line)}" for line in lines)] if lines else []


def _html_table(caption: str, header: Sequence[str], rows: Sequence[Sequence[str]], to: Mapping[str, str]) -> str:
    head = "".join(f'<th scope="col">{escape(cell)}</th>' for cell in header)
    lines = "\n".join(
        f'<tr><th scope="row">{_linked(row[0], to.get(row[0]))}</th>'
        + "".join(f"<td>{inline(one_line(cell))}</td>" for cell in row[1:])
        + "</tr>"
        for row in rows
    )
    # What scrolls sideways must be reachable by keyboard, and then needs a name.
    return (
        f'<div class="wide" role="region" tabindex="0" aria-label="{escape(caption)}"><table>'
        f"<caption>{escape(caption)}</caption><thead><tr>{head}</tr></thead>\n<tbody>{lines}</tbody></table></div>"
    )


def _linked(name: str, where: str | None) -> str:
    return escape(name) if where is None else f'<a href="{escape(where)}">{escape(name)}</a>'


def _html_list(heading: str, lines: Sequence[str]) -> list[str]:
    if not lines:
        return []
    return [f"<h2>{escape(heading)}</h2><ul>", *(f"<li>{inline(one_line(line))}</li>" for line in lines), "</ul>"]
