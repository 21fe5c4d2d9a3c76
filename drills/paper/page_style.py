"""How a page looks: paper, size of print, hand and labels. The footer's words are here too."""

from __future__ import annotations

from dataclasses import dataclass

from drills.configuration.diagram_style import LABELS, ORIENTATIONS
from drills.errors import SettingsError
from drills.neck.inlays import inlay_dots
from drills.neck.neck import Neck

__all__ = ["MARGIN_PT", "PAPERS", "Footer", "PageStyle"]

PAPERS = {"A4": (595.28, 841.89), "Letter": (612.0, 792.0), "phone": (360.0, 1200.0)}
"""Width and height in points: ISO 216 A4 is 210 x 297 mm, ANSI/ASME Y14.1 Letter 8.5 x 11 inches. The phone's page
is as wide as a small phone held upright, in its own points, and scrolls down (common practice)."""

MARGIN_PT = 40.0
"""White around everything, 14 mm: more than any usual printer needs."""

_PHONE_MARGIN_PT = 12.0


@dataclass(frozen=True, slots=True)
class PageStyle:
    """How pages look.

    paper: a key of PAPERS. large: print that can be read from a music stand.
    orientation: ``neck`` or ``box``; on a phone all are boxes: three stand beside one another,
    three necks do not. labels: ``fingers``, ``degrees`` or ``notes``, one of them only.
    left_handed: diagrams mirrored. dots: frets with the dots of a fretboard, each with one or two.
    circled: places (string, fret) with a circle around their note. arrows: from a place to a place.

    Raises SettingsError naming the field when one is none of these.
    """

    paper: str = "A4"
    large: bool = False
    orientation: str = "neck"
    labels: str = "fingers"
    left_handed: bool = False
    dots: tuple[tuple[int, int], ...] = inlay_dots(Neck())
    circled: tuple[tuple[int, int], ...] = ()
    arrows: tuple[tuple[tuple[int, int], tuple[int, int]], ...] = ()

    def __post_init__(self) -> None:
        for field, value, known in (
            ("paper", self.paper, tuple(PAPERS)),
            ("orientation", self.orientation, ORIENTATIONS),
            ("labels", self.labels, LABELS),
        ):
            if value not in known:
                raise SettingsError(f"handout, {field}: expected one of {', '.join(known)}, got {value!r}")

    @property
    def on_phone(self) -> bool:
        """Whether the page is a screen, to be held in a hand and scrolled."""
        return self.paper == "phone"

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the page in points."""
        return PAPERS[self.paper]

    @property
    def margin(self) -> float:
        """White around everything, in points."""
        return _PHONE_MARGIN_PT if self.on_phone else MARGIN_PT

    @property
    def print_scale(self) -> float:
        """How much larger than usual text is set."""
        return 1.4 if self.large else 1.0


@dataclass(frozen=True, slots=True)
class Footer:
    """What stands at the foot of every page; empty fields are left out.

    tuning: open pitches or a name. top_fret: 0 when it does not matter. teacher: whose
    page it is. date: as it is to be read. fingerings: whose they are.
    """

    tuning: str = ""
    top_fret: int = 0
    teacher: str = ""
    date: str = ""
    fingerings: str = ""

    @property
    def text(self) -> str:
        """The footer in a line: ``Tuning E2 A2 D3 G3 B3 E4 · top fret 15 · ...``"""
        parts = (
            self.tuning and f"Tuning {self.tuning}",
            self.top_fret and f"top fret {self.top_fret}",
            self.fingerings and f"fingerings: {self.fingerings}",
            self.teacher != self.fingerings and self.teacher,  # one name is said once
            self.date,
        )
        return " · ".join(part for part in parts if part)
