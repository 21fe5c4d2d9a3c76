"""The sheet and the page as text, Markdown and HTML, read back by independent readers."""

from __future__ import annotations

import re
import subprocess
from datetime import timedelta

import pytest
from click.testing import CliRunner
from lxml import html
from pypdf import PdfReader
from rich.cells import cell_len

from drills.cli.roster import command
from drills.diagrams.picture import Words
from drills.diagrams.typesetting import printed
from drills.roster.folder import StudentLog, read_folder
from drills.roster.page_of_one import student_sections
from drills.roster.roster_files import cells, one_line, page_text, sheet_text
from drills.roster.roster_pages import page_pictures, sheet_pictures
from drills.roster.roster_sheet import make_sheet
from drills.roster.term import term_sections
from scheduler.log.fold import fold
from tests.paper.pages import text_wide
from tests.progress.browser import CHROMIUM, look

FORMATS = ("text", "md", "html")

NASTY = "<script>alert(1)</script> | a\n\x1b[2J`b` *c* [d](http://example.org)"


@pytest.fixture
def sheet(send, played, said, today):
    """Three students, one of whom asks something nasty, and a file that is none."""
    send("Student 1.json", played("m7b5", "432", "lllccf", 1, slip="root"))
    send("Student 2.json", played("m7b5", "432", "lllcff", 2), played("7", "654", "cctt", 16))
    folder = send("Student 3.json", played("m7", "432", "cc", 1), said(NASTY))
    (folder / "notes.txt").write_text("buy strings", encoding="utf-8")
    return make_sheet(read_folder(folder), today)


def as_read(text: str, kind: str) -> str:
    """What a reader sees of a form: an HTML page without its tags."""
    return html.document_fromstring(text).text_content() if kind == "html" else text


def test_who_has_not_come_to_a_place_yet_avoids_nothing(send, played, today):
    """A place that was released and never met is said to be not played, and nobody to avoid it."""
    folder = send("a.json", played("m7", "432", "c", 0))
    text = sheet_text(make_sheet(read_folder(folder), today, released={"a": (("6-5-4", "7"),)}))
    assert "    not played: 7 on 6-5-4" in text.splitlines()
    assert "avoid" not in text


@pytest.mark.parametrize("width", [60, 80, 120])
def test_plain_text_keeps_to_the_width(sheet, width):
    """Every line fits, nothing in it drives a terminal, each student has what to fix, and the columns are explained."""
    lines = sheet_text(sheet, "text", width).splitlines()
    assert all(len(line) <= max(width, 72) for line in lines)
    assert all(line.isprintable() for line in lines)
    assert sum(line.startswith("    to fix: ") for line in lines) == 3
    assert "new: shapes met in 7 days; L/F/C/T: Looked, Found it, Clean, In time, in 28 days." in " ".join(
        " ".join(lines).split()
    )
    assert [line for line in lines if line.startswith("Student")] == [
        "Student 3               1    1  2 of 2, 2 of 2          0/0/2/0",
        "Student 1               1    1  2 of 6, 2 of 6          3/1/2/0",
        "Student 2               1    1  1 of 6, 5 of 10         3/2/3/2",
    ]


def test_names_of_any_width_keep_the_columns(send, played, today):
    """Long names are cut and wide characters counted as the two columns they take."""
    for name in ("Student 1", "学生の名前はとても長い名前", "A student with a name longer than the column"):
        folder = send(f"{name}.json", played("m7", "432", "lc", 1))
    lines = sheet_text(make_sheet(read_folder(folder), today)).splitlines()
    rows = [line for line in lines if line.endswith("1/0/1/0")]
    assert len(rows) == 3
    assert {cell_len(row) for row in rows} == {cell_len(rows[0])}


def test_twenty_students_fit_on_one_sheet(send, played, today):
    """Twenty students take no more lines than a page of A4 holds in ordinary print, 72."""
    for number in range(20):
        folder = send(f"Student {number + 1}.json", played("m7b5", "432", "lllccf", 1, slip="root"))
    text = sheet_text(make_sheet(read_folder(folder), today), "text", 100)
    assert len(text.splitlines()) <= 72


def test_every_form_says_self_reported_and_names_bad_files(sheet):
    """Text, Markdown and HTML carry the same caution, the order in words and the files passed over."""
    for kind in FORMATS:
        text = " ".join(as_read(sheet_text(sheet, kind), kind).split())
        assert "self-reported" in text
        assert "Who asked or did not play comes first" in text
        assert "notes.txt" in text


def test_the_markdown_table_has_one_shape(sheet):
    """Each row has the cells of the header, whatever a student wrote; nothing becomes markup."""
    rows = [line for line in sheet_text(sheet, "md").splitlines() if line.startswith("|")]
    assert len(rows) == 2 + 3
    assert {len(re.findall(r"(?<!\\)\|", row)) for row in rows} == {11}
    asked = next(row for row in rows if "Student 3" in row)
    assert r"\<script\>" in asked and r"\[d\]" in asked and "\x1b" not in asked


def test_the_html_stands_alone(sheet, today):
    """No script, no address to fetch, a language, a title, headings for every row and column."""
    one = sheet.students[0]
    for text in (sheet_text(sheet, "html"), page_text(one.name, today, student_sections(one, today), "html")):
        tree = html.document_fromstring(text)
        assert tree.xpath("//script") == [] and tree.get("lang") == "en" and tree.findtext(".//title")
        assert [a for a in tree.xpath("//@src | //@href") if not a.startswith("data:")] == []
        assert "url(" not in text and "@import" not in text
        assert len(tree.xpath("//h1")) == 1 and len(tree.xpath("//main")) == 1
    table = html.document_fromstring(sheet_text(sheet, "html"))
    assert len(table.xpath("//thead//th[@scope='col']")) == 10
    assert [row.text for row in table.xpath("//tbody//th[@scope='row']")] == ["Student 3", "Student 1", "Student 2"]
    assert "<script>alert(1)</script>" in table.xpath("string(//tbody/tr[1])")


def test_no_string_set_is_torn_apart(sheet, today):
    """In HTML every set stands in a part that is kept on one line (CSS Text 3, white-space), here and on the page."""
    one = sheet.students[0]
    for text in (sheet_text(sheet, "html"), page_text(one.name, today, student_sections(one, today), "html")):
        root = html.fromstring(text)
        kept = {part.text for part in root.xpath("//*[@class='whole']")}
        shown = set(re.findall(r"\d-\d-\d", root.text_content()))
        assert shown and shown <= kept
        assert ".whole{white-space:nowrap}" in text.replace("th[scope=row],", "")


@pytest.mark.parametrize("kind", FORMATS)
def test_a_page_of_one_has_its_sections(sheet, today, kind):
    """What the counts say and the slips stand on the student's page in every form."""
    one = next(one for one in sheet.students if one.name == "Student 1")
    text = as_read(page_text(one.name, today, student_sections(one, today), kind), kind)
    assert "m7b5 on 4-3-2: finding the root 6" in text
    assert "What the counts say" in text and "self-reported" in text


def test_the_command_writes_a_sheet_and_a_page(sheet, tmp_path, monkeypatch):
    """The sheet goes to standard output or a file; --student gives one page; a wrong name lists the right ones."""
    monkeypatch.setenv("NECKWORK_HOME", str(tmp_path / "home"))
    runner = CliRunner()
    folder, day = str(tmp_path / "lessons"), ["--on", "2031-05-14"]
    whole = runner.invoke(command, [folder, *day, "--format", "md"], catch_exceptions=False)
    assert whole.exit_code == 0 and whole.output == sheet_text(sheet, "md")
    written = runner.invoke(command, [folder, *day, "--format", "html", "-o", str(tmp_path / "r.html")])
    assert "students: 3; files passed over: 1" in written.output
    pages = {one.name: student_sections(one, sheet.today) for one in sheet.students}
    assert (tmp_path / "r.html").read_text(encoding="utf-8") == sheet_text(sheet, "html", pages=pages)
    one = runner.invoke(command, [folder, *day, "--student", "student 1", "--deck", "first"], catch_exceptions=False)
    assert one.output.startswith("Student 1, 2031-05-14\n") and "Released and not met:" in one.output
    wrong = runner.invoke(command, [folder, *day, "--student", "Nobody"])
    assert "expected one of Student 3, Student 1, Student 2" in str(wrong.exception)


@pytest.mark.long
@pytest.mark.parametrize("what", ["sheet", "page", "term"] if CHROMIUM else [])
def test_a_browser_finds_nothing_wrong(sheet, played, today, tmp_path, what):
    """No complaint, nothing fetched, no sideways scroll of the page at 360 and 1280 px, no finding of axe-core."""
    one = sheet.students[0]
    sections = {
        "page": student_sections(one, today),
        "term": term_sections(StudentLog(fold(played("7", "654", "llfcc" * 5, 3))), today - timedelta(weeks=12), today),
    }
    html_text = sheet_text(sheet, "html") if what == "sheet" else page_text(one.name, today, sections[what], "html")
    seen = look(html_text, tmp_path)
    assert (seen.console, seen.fetched, seen.overflow, seen.violations) == ([], [], {360: 0, 1280: 0}, [])
    assert seen.passes >= 10


@pytest.mark.long
def test_twenty_students_print_on_one_page(send, played, said, today, tmp_path):
    """The printed sheet lies on its side; where Chromium is at hand it prints twenty full rows on one page."""
    for number in range(20):
        folder = send(
            f"Student {number + 1}.json", played("m7b5", "432", "lllccft" * 9, 1, slip="root"),
            played("maj7", "654", "cl", 15), played("7", "543", "cl", 16), said("which finger?", number=number),
        )  # fmt: skip
    page = tmp_path / "roster.html"
    page.write_text(sheet_text(make_sheet(read_folder(folder), today), "html"), encoding="utf-8")
    assert "size:landscape" in page.read_text(encoding="utf-8")
    if CHROMIUM is None:
        return
    printed = tmp_path / "roster.pdf"
    subprocess.run(
        [CHROMIUM, "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={tmp_path / 'profile'}",
         f"--print-to-pdf={printed}", page.as_uri()],
        capture_output=True, timeout=60, check=True,
    )  # fmt: skip
    pages = PdfReader(printed).pages
    assert len(pages) == 1
    assert all(f"Student {number + 1}" in pages[0].extract_text() for number in range(20))


def _read(pictures):
    """Pages of a PDF of pictures, read by pypdf."""
    import io

    from drills.diagrams.picture_pdf import pdf_bytes

    return PdfReader(io.BytesIO(pdf_bytes(pictures))).pages


def test_the_printed_sheet_says_what_the_other_forms_say(sheet):
    """Every cell of every student, the shared item and the bad file stand in the PDF, on A4 lying on its side."""
    (page,) = _read(sheet_pictures(sheet))
    assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx((841.89, 595.28), abs=0.01)
    text = "".join(page.extract_text().split())
    for one in sheet.students:
        for cell in cells(one):
            assert "".join(printed(one_line(cell)).split()) in text, cell
    assert "Files passed over, 1" in page.extract_text() and "notes.txt" in page.extract_text()


def test_the_printed_sheet_keeps_inside_its_margins(send, played, said, today):
    """Sixty students with long questions go over several numbered pages, each with the header, nothing cut."""
    for number in range(60):
        folder = send(
            f"A student with quite a long name {number + 1}.json", played("m7b5", "432", "lllccft" * 9, 1, slip="root"),
            said("why does the fourth finger buzz at the seventh fret? " * 4, number=number),
        )  # fmt: skip
    pages = sheet_pictures(make_sheet(read_folder(folder), today), "Letter")
    assert len(pages) > 1
    for number, page in enumerate(pages, 1):
        words = [part for part in page.parts if isinstance(part, Words)]
        assert any(word.text == "student" for word in words)
        assert words[-1].text == f"{number} of {len(pages)}"
        for word in words[:-1]:
            assert word.x >= 30 and word.x + text_wide(word) <= 792 - 30 + 1, word
            assert word.y - word.size >= 29 and word.y <= 612 - 30 + 1, word


def test_twenty_full_rows_fit_one_printed_page(send, played, said, today):
    """Twenty students with something in every column take one page of A4 and one of Letter."""
    for number in range(20):
        folder = send(
            f"Student {number + 1}.json", played("m7b5", "432", "lllccft" * 9, 1, slip="root"),
            played("maj7", "654", "cl", 15), played("7", "543", "cl", 16), said("which finger?", number=number),
        )  # fmt: skip
    made = make_sheet(read_folder(folder), today)
    assert [len(sheet_pictures(made, paper)) for paper in ("A4", "Letter")] == [1, 1]


def test_a_page_of_one_prints_upright(sheet, today):
    """The student's page holds every line of its sections, in order."""
    one = sheet.students[1]
    sections = student_sections(one, today)
    (page,) = _read(page_pictures(one.name, today, sections))
    text = "".join(page.extract_text().split())
    at = 0
    for heading, lines in sections:
        for line in (heading, *lines):
            at = text.index("".join(printed(one_line(line)).split()), at)


def test_the_command_prints_hands_out_and_reports(sheet, send, played, tmp_path, monkeypatch):
    """PDF of sheet and page, the handout for a gap with its blank, the term, groups; misfits are refused in a line."""
    monkeypatch.setenv("NECKWORK_HOME", str(tmp_path / "home"))
    runner = CliRunner()
    base = [str(tmp_path / "lessons"), "--on", "2031-05-14"]
    for number in (4, 5):
        send(f"Student {number}.json", played("m7b5", "432", "lllcf" * 12, 1), played("7", "654", "c" * 60, 2))

    def run(*args, code=0):
        ran = runner.invoke(command, [*base, *args])
        assert ran.exit_code == code, (args, ran.output, ran.exception)
        return ran

    run("-o", str(tmp_path / "sheet.pdf"))
    assert "Student 3" in PdfReader(tmp_path / "sheet.pdf").pages[0].extract_text()
    run("--student", "Student 1", "-o", str(tmp_path / "one.pdf"))
    assert "The one thing to fix" in PdfReader(tmp_path / "one.pdf").pages[0].extract_text()
    run("--student", "Student 4", "--handout", str(tmp_path / "gap.pdf"), "--teacher", "B. Teacher")
    blank, key = (page.extract_text() for page in PdfReader(tmp_path / "gap.pdf").pages)
    assert "Student 4: the m7♭5 shape on 4-3-2" in blank and "Student 4: the m7♭5 shape" in key and "B. Teacher" in key
    assert "C E♭ G♭ B♭ C" in key and "C E♭ G♭ B♭ C" not in blank
    report = run("--student", "Student 2", "--term", "--since", "2031-04-01").output
    assert "Practised on 2 days, in 2 of 7 weeks" in report and "self-reported" in report
    assert (
        "Groups with a cause in common:\n  the m7b5 shape on 4-3-2, 24 of 120 clean, the class"
        in run("--groups").output
    )
    for args, said in (
        (("--handout", "x.pdf"), "add --student NAME"), (("--term",), "add --student NAME"),
        (("--since", "2031-01-01"), "add --term"), (("--format", "pdf"), "add -o FILE.pdf"),
        (("--student", "Student 1", "--term", "--since", "2032-01-01"), "no later than 2031-05-14"),
    ):  # fmt: skip
        assert said in run(*args, code=2).output
