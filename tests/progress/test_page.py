"""The progress page: one file that stands alone, with the same in words and in pictures."""

from __future__ import annotations

from datetime import timedelta

import pytest
from lxml import etree

from drills.progress.ahead import days_ahead, read_memory
from drills.progress.html import page, section, table
from drills.progress.pictures import BY_FOURTHS, gaps_picture, map_picture, trust_picture, weeks_picture
from drills.progress.progress_page import report_page
from drills.progress.report_of_log import empty_report
from drills.theory.spelling import common_name
from tests.progress.pages import check_page
from tests.progress.players import START, played
from tests.progress.test_report import AT, reported


@pytest.fixture(scope="module")
def report():
    """Forty days at the first deck, with states of skills."""
    reviews = played(11)
    return reported(reviews, words=read_memory(reviews).words(AT), flags=["a"])


@pytest.fixture(scope="module")
def ahead():
    """Eight weeks to come."""
    remembered = read_memory(played(11))
    return days_ahead(remembered.memory, remembered.skills, [AT.date() + timedelta(days=n) for n in range(1, 57)], AT)


def test_the_page_stands_alone(report, ahead):
    """Nothing fetched, nothing run, every picture with a title and words, every table with headings, contrast kept."""
    root = check_page(report_page(report, ahead))
    text = root.text_content()
    assert str(report.total) in text and "reported by the player" in text
    pictures = [one.get("aria-labelledby").split("-t")[0] for one in root.iter("svg")]
    assert pictures == ["map0", "map1", "map2", "map3", "gaps", "weeks-name", "trust", "ahead"]


def test_a_page_of_nothing_is_a_page():
    """A player who has not begun gets a page that says so."""
    assert "Nothing graded yet." in check_page(report_page(empty_report(AT, 4.0))).text_content()


def test_the_map_shows_what_the_counts_say(report):
    """Full dots, ringed points, rings and lines are the roots covered, once clean, met and unmet."""
    for number, quality in enumerate(report.qualities):
        picture = etree.fromstring(map_picture(report, quality, number))
        rows = [row for row in report.places if row.quality == quality]
        space = "{http://www.w3.org/2000/svg}"
        radii = [circle.get("r") for circle in picture.iter(f"{space}circle")]
        covered = sum(len(row.covered) for row in rows)
        met = sum(len(row.met - row.covered) for row in rows)
        points = sum(len(row.clean - row.covered) for row in rows)
        assert (radii.count("7"), radii.count("6"), radii.count("2")) == (covered, met, points)
        assert len(list(picture.iter(f"{space}polyline"))) == 12 * len(rows) - covered - met
        words = picture.findtext(f"{space}desc")
        for row in rows:
            assert f"{row.strings}: {len(row.covered)} of 12 roots clean in 30 days" in words


def test_every_picture_is_well_formed_and_inside_its_frame(report, ahead):
    """SVG that an XML reader takes, nothing drawn outside the view."""
    from drills.progress.pictures import ahead_picture

    for text in (
        gaps_picture(report),
        trust_picture(report),
        weeks_picture(report.weeks, "name"),
        ahead_picture(ahead),
    ):
        picture = etree.fromstring(text)
        _, _, width, height = map(float, picture.get("viewBox").split())
        for element in picture.iter():
            for x, y in (("x", "y"), ("cx", "cy")):
                if element.get(x) is not None:
                    assert 0 <= float(element.get(x)) <= width and 0 <= float(element.get(y)) <= height
            for pair in (element.get("points") or "").split():
                x, y = map(float, pair.split(","))
                assert 0 <= x <= width and 0 <= y <= height


def test_text_from_a_log_is_only_text():
    """Tags in a name are shown, not obeyed."""
    text = page("<b>&", [section("<i>", table("<u>", ["<s>"], [["<script>alert(1)</script>"]]))])
    root = check_page(text)
    assert root.findtext(".//h1") == "<b>&"
    assert "<script>alert(1)</script>" in root.text_content()


def test_roots_stand_by_fourths():
    """C F Bb Eb Ab Db Gb B E A D G, the order of learning (drills/RULES.md, B2)."""
    assert " ".join(map(common_name, BY_FOURTHS)) == "C F Bb Eb Ab Db Gb B E A D G"
    assert START.weekday() == 0


def test_a_scale_says_what_it_shows(report):
    """The three marks of an upright scale are nothing, the half and the whole, written as they are."""
    picture = etree.fromstring(weeks_picture(report.weeks, "name"))
    words = [element.text for element in picture.iter("{http://www.w3.org/2000/svg}text")]
    marks = [float(word.removesuffix(" s")) for word in words if word.endswith(" s")]
    assert marks[0] == 0 and marks[1] == marks[2] / 2
    assert marks[2] >= max(seconds for week in report.weeks for seconds, _ in week.seconds_by_kind.values())
