"""What a blind sample says of everything thought firm: a count, and the range it leaves."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from drills.sample.draw import Draw
from scheduler.review import Review
from scheduler.statistics.counts import FEWEST_TRIES, sample_range

__all__ = ["SAMPLE_TICKET", "SampleOutcome", "last_sample", "outcome", "sample_lines"]

SAMPLE_TICKET = "sample:blind"
"""Under which the log keeps the latest sample."""

_MONTH_DAYS = 28


@dataclass(frozen=True, slots=True)
class SampleOutcome:
    """How a sample went: `clean` first tries of `asked`, from `firm` cards thought firm; `drawn` to be asked.

    expected: how many of those asked the memory expected clean, or None when it had not said.
    """

    clean: int
    asked: int
    drawn: int
    firm: int
    expected: float | None

    def ticket(self, day: date) -> str:
        """The outcome as the log keeps it: ``2031-05-14 17 20 144``."""
        return f"{day.isoformat()} {self.clean} {self.asked} {self.firm}"


def outcome(draw: Draw, reviews: Iterable[Review]) -> SampleOutcome:
    """Adds up the sitting's reviews: the first first try of each card drawn, and nothing else."""
    first: dict[str, Review] = {}
    for review in reviews:
        if review.attempt == "first" and review.card in draw.cards:
            first.setdefault(review.card, review)
    told = [review.predicted for review in first.values() if review.predicted is not None]
    return SampleOutcome(
        clean=sum(review.grade.clean for review in first.values()),
        asked=len(first),
        drawn=len(draw.cards),
        firm=draw.firm,
        expected=sum(told) if told and len(told) == len(first) else None,
    )


def sample_lines(found: SampleOutcome) -> list[str]:
    """The sample in sentences; under five cards it claims nothing."""
    if found.asked < FEWEST_TRIES:
        return [f"{found.clean} clean of {found.asked}: under {FEWEST_TRIES} cards a sample says nothing."]
    low, high = sample_range(found.clean, found.asked, found.firm)
    whole = f"of your {found.firm} cards thought firm"
    if found.asked == found.firm:
        lines = [f"{found.clean} clean of {found.asked}: that is all {whole} (self-reported)."]
    else:
        lines = [
            f"{found.clean} clean of {found.asked}: somewhere between {low} and {high} {whole} "
            "(right 19 times in 20; self-reported)."
        ]
    if found.expected is not None:
        lines.append(f"The memory expected {found.expected:.0f} of the {found.asked}.")
    left = found.drawn - found.asked
    if left:
        lines.append(f"{left} drawn and not graded: were they the hard ones, the truth lies lower.")
    return lines


def last_sample(ticket: str | None, today: date) -> str:
    """What to say of the sample before this one, or ``""`` when there was none that can be read."""
    try:
        day_text, clean, asked, firm = (ticket or "").split()
        day = date.fromisoformat(day_text)
        text = f"Last sample, {day.isoformat()}: {int(clean)} clean of {int(asked)}, drawn from {int(firm)}."
    except ValueError:
        return ""
    if 0 <= (today - day).days < _MONTH_DAYS:
        text += " Once a month is enough."
    return text
