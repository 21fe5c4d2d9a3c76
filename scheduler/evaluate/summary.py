"""The run in a page: goals, one line a kind of player, what adaptation buys, the class.

It is short enough for the page beside this module.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from scheduler.evaluate.ablations import ABLATIONS, single_experts
from scheduler.evaluate.evaluation_tables import Plays, TableRow, goals, markdown, spread
from scheduler.evaluate.figures import Figures
from scheduler.evaluate.jobs import FACTORS, SIZES
from scheduler.evaluate.prediction import bins_error

__all__ = ["ablation_ratios", "foreseen_without", "summary"]


def ablation_ratios(plays: Plays, rows: list[TableRow], name: str) -> list[float | None]:
    """For each row, recall of the planner with something taken away over that of the planner whole, same seeds."""
    found: list[float | None] = []
    for row in rows:
        ours, whole = plays.seeds(row, variant=name), plays.seeds(row)
        both = sorted(set(ours) & set(whole))
        total = sum(whole[seed]["recall"] for seed in both)
        found.append(sum(ours[seed]["recall"] for seed in both) / total if both and total > 0.0 else None)
    return found


def foreseen_without(plays: Plays, rows: list[TableRow], name: str) -> tuple[float, float, float] | None:
    """Log-loss added to that of the whole planner, the calibration error, and that of the whole planner.

    All three are of the same rows and seeds. Each is asked of the cards its own planner played.
    They are the same cards only where recall is the same to the last digit, because what was taken away has no
    part in planning.
    """
    added, ours_bins, whole_bins = [], [], []
    for row in rows:
        ours, whole = plays.seeds(row, variant=name), plays.seeds(row)
        for seed in sorted(set(ours) & set(whole)):
            mine, theirs = ours[seed].get("prediction"), whole[seed].get("prediction")
            if mine and theirs:
                added.append(mine["log_loss"] - theirs["log_loss"])
                ours_bins.append(mine["bins"])
                whole_bins.append(theirs["bins"])
    if not added:
        return None
    return spread(added)[0], bins_error(np.sum(ours_bins, axis=0)), bins_error(np.sum(whole_bins, axis=0))


def summary(results: Mapping[str, Figures]) -> str:
    """The tables in Markdown."""
    plays = Plays(results)
    said = {True: "met", False: "**missed**", None: "not shown"}
    parts = [markdown(("goal", "asked", "came", ""), [(g.name, g.asked, g.came, said[g.met])
                                                       for g in goals(plays, results)])]  # fmt: skip
    rows = [
        row for cards in SIZES for factor in (FACTORS if cards == 144 else ("",)) for row in plays.rows(cards, factor)
    ]
    parts.append(
        markdown(
            ("players (cards; seeds)", "recall", "best rival", "over it", "over clairvoyant", "clean", "calibration"),
            [_line(plays, row) for row in rows],
        )
    )
    base = plays.rows()
    taken = [(name, [one for one in ablation_ratios(plays, base, name) if one]) for name in ABLATIONS]
    singles = [(name, [one for one in ablation_ratios(plays, base, name) if one]) for name in single_experts()]
    body = [
        (name, f"{spread(r)[0]:.3f}", f"{min(r):.3f}", f"{max(r):.3f}", len(r), *_foreseen(plays, base, name))
        for name, r in taken
        if r
    ]
    singles = [(name, r) for name, r in singles if r]
    if singles:
        for word, chosen in (
            ("best", max(singles, key=lambda pair: spread(pair[1])[0])),
            ("safest", max(singles, key=lambda pair: min(pair[1]))),
        ):
            name, r = chosen
            figures = (f"{spread(r)[0]:.3f}", f"{min(r):.3f}", f"{max(r):.3f}", len(r), "", "")
            body.append((f"all but the {word} single expert ({name})", *figures))
    if body:
        head = ("recall without", "mean", "least", "most", "rows", "log-loss more", "calibration error")
        parts.append(markdown(head, body))
    return "\n".join(parts)


def _foreseen(plays: Plays, rows: list[TableRow], name: str) -> tuple[str, str]:
    found = foreseen_without(plays, rows, name)
    return (f"{found[0]:+.4f}", f"{found[1]:.3f}, whole {found[2]:.3f}") if found else ("", "")


def _line(plays: Plays, row: TableRow) -> tuple[str, ...]:
    best = plays.best_rival(row)
    ratio, sight = plays.ratio(row, best), plays.ratio(row, "clairvoyant")
    ours, clean = plays.measure(row, "planner"), plays.measure(row, "planner", "clean")
    rival = plays.measure(row, best) if best else None
    error = f"{bins_error(plays.bins([row])):.3f}" if plays.predicted(row) else ""
    return (
        f"{row.label} ({row.cards}; {len(plays.seeds(row))})",
        f"{ours[0]:.3f} ± {ours[1]:.3f}" if ours else "",
        f"{best} {rival[0]:.3f}" if rival else "",
        f"{ratio[0]:.3f}" if ratio else "",
        f"{sight[0]:.3f}" if sight else "",
        f"{clean[0]:.2f}" if clean else "",
        error,
    )
