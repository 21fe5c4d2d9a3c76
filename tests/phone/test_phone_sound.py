"""The sound of a phone page: its strings ring as those of the tool."""

import json

import numpy as np
import pytest

from drills.configuration.shipped import data_file
from drills.phone.phone_sound import LOUDNESS, RATE, sound_tables
from drills.sound.mix import CEILING
from drills.sound.pluck import ELECTRIC, pluck
from drills.theory.note import hz_of_midi
from tests.phone.chromium import CHROMIUM, Tab

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="needs Chromium")
KEYS = (40, 47, 52, 64, 76, 88)


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    """A tab that has the script of the string."""
    with Tab() as tab:
        script = data_file("phone/pluck.js").read_text(encoding="utf-8")
        tab.run(f"(0, eval)({json.dumps(script + ';window.pluck = pluck; window.performed = performed;')})")
        yield tab


@pytest.mark.parametrize("key", KEYS)
def test_a_string_of_the_page_rings_as_the_tools_own(page, key):
    """Sample for sample to a thousandth of full scale: the period is kept in sixteen bits."""
    tables = sound_tables([key])
    found = np.array(page.run(f"Array.from(pluck({json.dumps(tables)}, {key}, 0.8))"))
    expected = pluck(hz_of_midi(key), 0.8, RATE, LOUDNESS, ELECTRIC)
    assert len(found) == len(expected)
    assert np.abs(found - expected).max() < 1e-3 < np.abs(expected).max() / 50


def test_a_performance_begins_softly_and_stays_under_the_ceiling(page):
    """The first tenth of a second is softer than the rest, and no sample passes the tool's own ceiling (rule E)."""
    tables = sound_tables(KEYS)
    parts = json.dumps([["grip", *KEYS], ["line", 52, 64, 52]])
    found = np.abs(np.array(page.run(f"Array.from(performed({json.dumps(tables)}, {parts}))")))
    assert found.max() <= CEILING + 1e-6
    assert found[: RATE // 10].max() < 0.5 * found.max()
    assert len(found) / RATE == pytest.approx(2.0 + 0.4 * 2 + 0.4 * 2.5 + 0.02 + 0.05, abs=0.01)
