"""The progress page: one file that stands alone, with the same in words and in pictures."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta

import pytest
from lxml import etree

from drills.progress.ahead import days_ahead, read_memory
from drills.progress.html import page, section, table
from drills.progress.neck_picture_svg import roots_picture
from drills.progress.pictures import BY_FOURTHS, gaps_picture, map_picture, trust_picture, weeks_picture
from drills.progress.progress_page import report_page
from drills.progress.report_of_log import empty_report
from drills.progress.shown_sentences import coming_next, since_last_week, three_sentences
from drills.progress.skill_names import root_spot
from drills.theory.spelling import common_name
from scheduler.statistics.claims import Claim, ClaimWord
from scheduler.statistics.counts import Count
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
    assert pictures == ["neck", "map0", "map1", "map2", "map3", "gaps", "weeks-name", "trust", "ahead"]


def test_what_is_shown_comes_first_and_numbers_are_folded(report):
    """The player's name, three sentences, the neck, the week and what comes next stand before the fold; every table
    lies behind it, and before it no word of the trade is used."""
    text = report_page(report, name="Student <1>", next_day=date(2026, 3, 21))
    root = check_page(text)
    assert root.findtext(".//h1") == "Student <1>"
    (fold,) = root.iter("details")
    assert fold.get("open") is None and all(fold in table.iterancestors() for table in root.iter("table"))
    assert [len(one) for one in (list(root.iter("table")), list(root.find_class("said")))] == [4, 3]
    before = root.text_content().partition("Everything in numbers")[0]
    assert "The next practice day is Saturday, 21 March." in before
    assert not re.search(
        r"\b(recall|median|interval|first tr|predict|skill|firm|half-life|grade)", before.partition("}")[2]
    )
    assert report_page(report).count("<h1>Progress</h1>") == 1


def test_the_three_sentences_say_what_the_counts_say(report):
    """Days and minutes, this week's count, and how many shapes and roots the memory calls firm."""
    played_words, went, holds = three_sentences(report)
    assert played_words.startswith(f"Played on {report.days_of_7} of the last 7 days, {report.minutes:.0f} minute")
    assert f"{report.week_played.clean} of {report.week_played.tries} cards" in went
    firm = [row for row in report.skills if row.word == "firm"]
    shapes, roots = (sum(row.kind == kind for row in firm) for kind in ("form", "root"))
    assert f"{shapes} of {len(report.of_kind('form'))} shapes and {roots} of " in holds and shapes + roots
    assert f"{report.week_before_played} the week before" in since_last_week(report)[0]
    assert "takes days" in three_sentences(replace(report, skills=()))[2]
    assert "Nothing was played" in three_sentences(replace(report, days_of_7=0))[0]


def test_a_place_to_watch_comes_next(report):
    """Where the counts surely say that a place goes worse than the rest, the page says to look there first."""
    worst = Claim(ClaimWord.TO_WATCH, "places", ("4-3-2", "m7b5"), Count(20, 60), Count(90, 110))
    watched = replace(report, claims=_claiming(report.claims, worst))
    assert coming_next(watched, None) == ["Look at m7b5 on 4-3-2 first: it goes wrong more often than the rest."]
    assert coming_next(replace(report, claims=_claiming(report.claims)), None)[0].startswith("Go on")


def _claiming(claims, *made):
    """The same claims with these instead."""
    return replace(claims, judgement=replace(claims.judgement, claims=made))


def test_the_neck_shows_every_root_met_and_fills_what_is_firm(report):
    """A full dot for each firm root place and a ring for each other one met, each on its string at its fret."""
    picture = etree.fromstring(roots_picture(report))
    space = "{http://www.w3.org/2000/svg}"
    circles = [(c.get("r"), float(c.get("cx")), float(c.get("cy"))) for c in picture.iter(f"{space}circle")]
    spots = {row.skill: (root_spot(row.skill), row.word) for row in report.of_kind("root")}
    firm = [spot for spot, word in spots.values() if spot and word == "firm"]
    assert len(circles) == len(spots) and [r for r, _, _ in circles].count("7") == len(firm) > 0
    places = {(round((x - 18) / 26 + 0.5), round((y - 12) / 18) + 1) for r, x, y in circles if r == "7"}
    assert places == {(spot.fret, spot.string) for spot in firm}
    assert f"{len(firm)} of {len(spots)} root notes met should hold for a week" in picture.findtext(f"{space}desc")
    assert roots_picture(replace(report, skills=())) == ""


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
