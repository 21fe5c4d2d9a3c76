"""The wheel that is built carries the decks, the tables, the fonts, the model and the terms they are given under."""

import email
import hashlib
import re
import zipfile
from pathlib import Path

import pytest
from hatchling.builders.wheel import WheelBuilder

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    """The wheel of this checkout, opened."""
    (built,) = WheelBuilder(str(ROOT)).build(directory=str(tmp_path_factory.mktemp("wheel")), versions=["standard"])
    with zipfile.ZipFile(built) as opened:
        yield opened


def _metadata(wheel):
    (name,) = (name for name in wheel.namelist() if name.endswith(".dist-info/METADATA"))
    return email.message_from_bytes(wheel.read(name))


def test_the_licence_expression_names_every_term(wheel):
    """The expression (PEP 639) names the program's licence and those of the fonts and the model that travel with it."""
    expression = _metadata(wheel)["License-Expression"]
    assert set(re.split(r" AND ", expression)) == {"MIT", "Bitstream-Vera", "LicenseRef-Arev", "OFL-1.1", "Apache-2.0"}


def test_every_licence_file_named_is_in_the_wheel(wheel):
    """Each licence file that the metadata names is there; those of the fonts and of the model are among them."""
    named = _metadata(wheel).get_all("License-File")
    assert {
        "LICENSE",
        "data/fonts/LICENSE",
        "data/fonts/LICENSE-NotoMusic",
        "data/models/LICENSE",
        "data/models/NOTICE",
    } <= set(named)
    for name in named:
        (held,) = (one for one in wheel.namelist() if one.endswith(f".dist-info/licenses/{name}"))
        assert wheel.read(held) == (ROOT / name).read_bytes()
    fonts = (ROOT / "data/fonts/LICENSE").read_text(encoding="utf-8")
    assert "Bitstream" in fonts and "Tavmjong Bah" in fonts
    music = (ROOT / "data/fonts/LICENSE-NotoMusic").read_text(encoding="utf-8")
    assert "Google Inc." in music and "SIL OPEN FONT LICENSE Version 1.1" in music


def test_decks_tables_and_fonts_travel_inside(wheel):
    """Every shipped deck, page, table, font, model and part of the phone page is in the wheel, byte for byte."""
    shipped = [
        path
        for folder, endings in (
            ("decks", {".toml", ".changes"}),
            ("data", {".toml", ".ttf", ".html", ".css", ".js", ".onnx"}),
        )
        for path in sorted((ROOT / folder).rglob("*"))
        if path.suffix in endings
    ]
    assert len(shipped) > 30 and any(path.suffix == ".onnx" for path in shipped)
    for path in shipped:
        held = f"drills/_shipped/{path.relative_to(ROOT).as_posix()}"
        assert wheel.read(held) == path.read_bytes(), held


def test_the_model_is_the_file_its_page_names():
    """Its SHA-256 stands in the page beside it, with the package it comes from."""
    page = (ROOT / "data/models/README.md").read_text(encoding="utf-8")
    assert hashlib.sha256((ROOT / "data/models/polyphonic.onnx").read_bytes()).hexdigest() in page
    assert "Apache License" in (ROOT / "data/models/LICENSE").read_text(encoding="utf-8")
    assert "Spotify AB" in (ROOT / "data/models/NOTICE").read_text(encoding="utf-8")
