"""The report: every table as Markdown, every plot as SVG beside it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

from scheduler.evaluate.ablations import ABLATIONS, offered, single_experts
from scheduler.evaluate.evaluation_tables import Plays, TableRow, goals, markdown, spread
from scheduler.evaluate.figures import Figures
from scheduler.evaluate.jobs import FACTORS, SIZES
from scheduler.evaluate.laws import CEPEDA_BEST_GAPS
from scheduler.evaluate.plots import calibration_plot, line_plot
from scheduler.evaluate.prediction import bins_error
from scheduler.evaluate.rivals import RIVALS
from scheduler.evaluate.simulated_players import FAMILIES, OUTSIDE
from scheduler.evaluate.summary import ablation_ratios, foreseen_without, summary

__all__ = ["write_report"]

_POLICIES = ("planner", *RIVALS, "clairvoyant")
_MEASURES = {
    "recall": "recall of the whole deck, averaged over the days",
    "solid": "share of cards at .8 or better on the last day",
    "later": "recall 14 days after stopping",
    "clean": "share of first tries clean from the second week",
}
_CATCH_UP_SLACK = 2


def write_report(
    folder: Path, results: Mapping[str, Figures], command: str, at: datetime, wanted: int, seconds: float
) -> Path:
    """Writes report.md, its plots and summary.md into the folder. Returns the path of the report.

    command: as it was run. at: when. wanted: how many jobs the whole run has. seconds: how long this one took.
    """
    plays = Plays(results)
    work = sum(one["seconds"] for one in results.values())
    lines = [
        "# Evaluation of the scheduler",
        "",
        f"{at:%Y-%m-%d %H:%M}, `{command}`: {len(results)} of {wanted} jobs, {seconds / 60:.0f} minutes this time, "
        f"{work / 60:.0f} minutes of work in all.",
        "",
    ]
    if any(one.get("case", {}).get("days", 40) < 40 for one in results.values()):
        lines += ["**A quick run: fourteen days and one seed. Its figures show that everything runs; the goals are set "
                  "for forty days and ten seeds.**", ""]  # fmt: skip
    if len(results) < wanted:
        lines += [f"**Partial: {wanted - len(results)} jobs are not done; run the same command to go on.**", ""]
    for section in (_goals, _players, _outside, _factors, _sizes, _ablations, _prediction, _real, _laws, _speed):
        lines += section(plays, results, folder)
    lines += _class(results, folder)
    (folder / "summary.md").write_text(summary(results), encoding="utf-8")
    path = folder / "report.md"
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


def _number(found: tuple[float, float] | None, digits: int = 3) -> str:
    return "" if found is None else f"{found[0]:.{digits}f} ± {found[1]:.{digits}f}"


def _plot(folder: Path, name: str, svg: str, words: str) -> list[str]:
    (folder / f"{name}.svg").write_text(svg, encoding="utf-8")
    return [f"![{words}]({name}.svg)", ""]


def _goals(plays: Plays, results: Mapping[str, Figures], folder: Path) -> list[str]:
    rows = [
        (goal.name, goal.asked, goal.came, {True: "met", False: "**missed**", None: "not shown"}[goal.met])
        for goal in goals(plays, results)
    ]
    return ["## Goals", "", markdown(("goal", "asked", "came", ""), rows)]


def _policy_table(plays: Plays, rows: list[TableRow], measure: str) -> str:
    seeds = {row: len(plays.seeds(row)) for row in rows}
    body = []
    for row in rows:
        best = plays.best_rival(row)
        ratio, sight = plays.ratio(row, best, name=measure), plays.ratio(row, "clairvoyant", name=measure)
        body.append((
            f"{row.label} ({seeds[row]})",
            *(_number(plays.measure(row, policy, measure)) for policy in _POLICIES),
            "" if ratio is None else f"{ratio[0]:.3f}",
            "" if sight is None else f"{sight[0]:.3f}",
        ))  # fmt: skip
    return markdown(("players (seeds)", *_POLICIES, "over best rival", "over clairvoyant"), body)


def _players(plays: Plays, results: Mapping[str, Figures], folder: Path) -> list[str]:
    rows = [row for row in plays.rows() if row.family in FAMILIES]
    if not rows:
        return []
    lines = ["## Simulated players, 144 cards, ten minutes a day", "",
             "Mean ± standard deviation over seeds. The best rival of a row is the one with the most recall.",
             ""]  # fmt: skip
    for measure, words in _MEASURES.items():
        lines += [f"### {words[0].upper()}{words[1:]}", "", _policy_table(plays, rows, measure)]
    for row in rows:
        series = {
            policy: [
                (day + 1.0, spread([one["curve"][day] for one in found.values()])[0])
                for day in range(len(next(iter(found.values()))["curve"]))
            ]
            for policy in _POLICIES
            if (found := plays.seeds(row, policy))
        }
        name = f"recall-{row.family}-{row.sharing:g}".replace(" ", "-")
        words = f"Recall of 144 cards by day: {row.label}"
        described = "; ".join(f"{policy} ends at {points[-1][1]:.2f}" for policy, points in series.items())
        lines += _plot(folder, name, line_plot(words, described, series, "day", "recall, cold"), words)
    return lines


def _outside(plays: Plays, results: Mapping[str, Figures], folder: Path) -> list[str]:
    rows = [row for row in plays.rows() if row.family in OUTSIDE]
    if not rows:
        return []
    return ["## Players outside the list", "", "No goal was set and no constant chosen on these.", "",
            _policy_table(plays, rows, "recall")]  # fmt: skip


def _factors(plays: Plays, results: Mapping[str, Figures], folder: Path) -> list[str]:
    rows = [row for factor in FACTORS if factor for row in plays.rows(factor=factor)]
    if not rows:
        return []
    return ["## One thing varied at a time, sharing .45", "", _policy_table(plays, rows, "recall"),
            "### First tries clean", "", _policy_table(plays, rows, "clean")]  # fmt: skip


def _sizes(plays: Plays, results: Mapping[str, Figures], folder: Path) -> list[str]:
    lines = []
    for cards in list(SIZES)[1:]:
        if rows := plays.rows(cards):
            lines += [f"### {cards} cards", "", _policy_table(plays, rows, "recall")]
    return ["## Larger decks", "", *lines] if lines else []


def _ablations(plays: Plays, results: Mapping[str, Figures], folder: Path) -> list[str]:
    rows = [row for row in plays.rows() if row.family in FAMILIES]
    variants = [name for name in (*ABLATIONS, *single_experts()) if plays.rows(variant=name)]
    missing = [name for name in ABLATIONS if not offered(name)]
    lines = ["## What adaptation buys", ""]
    if not variants:
        return []
    lines += ["Recall of the planner with one thing taken away, over the planner whole (same seeds).", ""]
    body = []
    for name in variants:
        ratios = ablation_ratios(plays, rows, name)
        cells = ["" if one is None else f"{one:.3f}" for one in ratios]
        known = [one for one in ratios if one is not None]
        body.append((name, *cells, f"{spread(known)[0]:.3f}" if known else ""))
    lines.append(markdown(("without", *(row.label for row in rows), "mean"), body))
    seen = {name: found for name in variants if (found := foreseen_without(plays, rows, name))}
    lines += ["What it buys in foreseeing, same rows and seeds.", "",
              markdown(("without", "log-loss more", "calibration error", "the planner whole"),
                       [(name, f"{more:+.4f}", f"{ours:.3f}", f"{whole:.3f}")
                        for name, (more, ours, whole) in seen.items()])]  # fmt: skip
    if missing:
        lines += [f"Not part of this memory, so that nothing can be taken away: {', '.join(missing)}.", ""]
    return lines


def _prediction(plays: Plays, results: Mapping[str, Figures], folder: Path) -> list[str]:
    rows = [row for row in plays.rows() if plays.predicted(row)]
    if not rows:
        return []
    body = []
    for row in rows:
        found = [one["prediction"] for one in plays.seeds(row).values() if "prediction" in one]
        losses = plays.losses(row)
        body.append((
            row.label,
            _number(spread([one["log_loss"] for one in found]), 4),
            f"{losses[2]:.4f} ({losses[1]})" if losses else "",
            f"{losses[0] - losses[2]:+.4f}" if losses else "",
            _number(spread([one["auc"] for one in found])),
            f"{bins_error(plays.bins([row])):.3f}",
        ))  # fmt: skip
    lines = ["## Prediction on simulated players, after 200 reviews", "",
             "Single experts are compared on the first two seeds.", "",
             markdown(("players", "log-loss", "best single expert", "committee minus it", "AUC", "calibration error"),
                      body)]  # fmt: skip
    for family in (*FAMILIES, *OUTSIDE):
        bins = plays.bins(row for row in rows if row.family == family)
        if any(tries for _, _, tries in bins):
            words = f"Predicted against happened: {family}"
            tries = sum(b[2] for b in bins)
            described = f"Expected calibration error {bins_error(bins):.3f} over {tries:.0f} first tries"
            name = f"calibration-{family}".replace(" ", "-")
            lines += _plot(folder, name, calibration_plot(words, described, bins), words)
    return lines


def _real(plays: Plays, results: Mapping[str, Figures], folder: Path) -> list[str]:
    lines = ["## Prediction on real learners", ""]
    one = next((one for one in results.values() if one["kind"] == "real"), None)
    if one is None:
        return [*lines, "No data path was given (`--data PATH`), so nothing is shown here.", ""]
    result = one["result"]
    body = [
        (name, f"{way['log_loss']:.4f}", f"{way['new']:.4f}", f"{way['auc']:.4f}", f"{way['error']:.3f}", way["tries"])
        for name, way in result["ways"].items()
    ]
    factors = ", ".join(f"{name} x {factor:.2f}" for name, factor in result["factors"].items()) or "none"
    return [
        *lines,
        f"{result['held']} of {result['learners']} learners held out; each try predicted, then learned from. "
        f"Constants fitted on the other learners only: {factors}.",
        "",
        markdown(("way", "log-loss", "of items never tried", "AUC", "calibration error", "tries"), body),
        "How much log-loss one thing saves, with the 95 % range over learners:",
        "",
        markdown(
            ("what", "saved", "learners"),
            [(g["name"], f"{g['gain']:+.4f} +- {g['reach']:.4f}", g["learners"]) for g in result["gains"]],
        ),
    ]


def _laws(plays: Plays, results: Mapping[str, Figures], folder: Path) -> list[str]:
    one = next((one["result"] for one in results.values() if one["kind"] == "laws"), None)
    if one is None:
        return []
    space = one["spacing"]
    body = [
        ("recall seven days after: spaced, massed, single", "falling",
         f"{space['spaced']:.3f}, {space['massed']:.3f}, {space['single']:.3f}",
         _yes(space["spaced"] > space["massed"] > space["single"])),
        ("log-loss that shuffled skills cost", "under .005",
         f"{max(one['shuffled']):+.4f} (worst of {len(one['shuffled'])} seeds)", _yes(max(one["shuffled"]) < 0.005)),
    ]  # fmt: skip
    for days, published in CEPEDA_BEST_GAPS.items():
        gap = one["best_gaps"][str(days)]
        body.append((f"best gap for a test after {days:g} days", f"{published / 3:.1f} to {published * 3:g} days",
                     f"{gap:.1f}", _yes(published / 3 <= gap <= published * 3)))  # fmt: skip
    gaps = [one["best_gaps"][str(days)] for days in CEPEDA_BEST_GAPS]
    body.append(("best gap grows with the retention interval", "rising", ", ".join(f"{gap:.1f}" for gap in gaps),
                 _yes(gaps == sorted(set(gaps)))))  # fmt: skip
    return ["## Laws", "", "All laws are property tests: tests/scheduler/test_laws.py.", "",
            markdown(("law", "asked", "came", ""), body)]  # fmt: skip


def _yes(met: bool) -> str:
    return "met" if met else "**missed**"


def _speed(plays: Plays, results: Mapping[str, Figures], folder: Path) -> list[str]:
    found = sorted((one["result"] for one in results.values() if one["kind"] == "speed"), key=lambda one: one["cards"])
    if not found:
        return []
    body = [
        (one["cards"], row["reviews"], row["next_ms"], row["record_ms"], row["recall_ms"], row["a_second"],
         f"{row['saved_bytes'] / 1e6:.2f}", row["restore_ms"])
        for one in found
        for row in one["rows"]
    ]  # fmt: skip
    return ["## Speed and growth", "", "Medians, on whatever else the machine was doing. Asking grows with the deck, "
            "learning with the skills of one card, saved state with the skills met; none grows with the log.", "",
            markdown(("cards", "reviews", "next, ms", "record, ms", "recall, ms", "reviews learned a second",
                      "saved, MB", "restored in, ms"), body)]  # fmt: skip


def _class(results: Mapping[str, Figures], folder: Path) -> list[str]:
    found = sorted((one["result"] for one in results.values() if one["kind"] == "class"), key=lambda one: one["number"])
    if not found:
        return []
    body, plots = [], []
    for one in found:
        back = one.get("back")
        caught = [_caught(back, name) for name in ("true", "nearly", "believed")]
        body.append((
            f"{one['number'] + 1}", f"{one['family']}, {one['sharing']:g}" + (", flattering" if one["flatter"] else ""),
            one["sessions"], f"{one['new_forms']}, {one['new_roots']}", f"{one['longest_minutes']:.1f}",
            f"{one['longest_gap_days']:.0f}", back["estimate"] if back else "", *caught,
        ))  # fmt: skip
        curves = one["curves"]
        words = f"Student {one['number'] + 1}: {one['family']}, sharing {one['sharing']:g}"
        series = {
            "true recall": list(enumerate(curves["true"], 1)),
            "as believed": list(enumerate(curves["believed"], 1)),
            "share of cards met": [(day, met / 144.0) for day, met in enumerate(curves["met"], 1)],
        }
        described = f"True recall of 144 cards ends at {curves['true'][-1]:.2f}, believed {curves['believed'][-1]:.2f}"
        svg = line_plot(words, described, series, "day", "share of the deck",
                        bands=[(one["away"][0], one["away"][1], "away")])  # fmt: skip
        plots += _plot(folder, f"student-{one['number'] + 1}", svg, words)
    return [
        "## A teacher's class through a year",
        "",
        "Teaching rules on: at most two new forms and four new roots a session, look-alikes never on one day, a miss "
        "back after three others and the next day, no firm form or root left for more than 45 days. The longest gap "
        "leaves days away out. Catch-up: sessions after the fortnight until mean recall over met cards, cold, is what "
        "it was, by the player's true recall and as the memory believes.",
        "",
        markdown(("student", "player", "sessions", "most new forms, roots", "longest session, min",
                  "longest gap of a firm skill, days", "estimate", "truly", "all but .01",
                  "believed"), body),
        *_class_goals(found),
        *plots,
    ]  # fmt: skip


def _caught(back: Figures | None, name: str) -> str:
    if back is None:
        return ""
    return str(back[name]) if back[name] is not None else f"not in {back['sessions']}"


def _class_goals(found: list[Figures]) -> list[str]:
    backs = [one["back"] for one in found if "back" in one]

    def near(name: str) -> int:
        return sum(b[name] is not None and abs(b[name] - b["estimate"]) <= _CATCH_UP_SLACK for b in backs)

    limits = all(one["new_forms"] <= 2 and one["new_roots"] <= 4 for one in found)
    alike = sum(one["look_alikes_one_day"] for one in found)
    over = max(one["over_seconds"] for one in found)
    gap = max(one["longest_gap_days"] for one in found)
    body = [
        ("introductions within the limits", "2 forms, 4 roots", f"{max(one['new_forms'] for one in found)}, "
         f"{max(one['new_roots'] for one in found)}", _yes(limits)),
        ("look-alikes first met on one day", "none", alike, _yes(alike == 0)),
        ("sessions over ten minutes", "by at most one card", f"{max(one['longest_minutes'] for one in found):.1f} min",
         _yes(over <= 0.0)),
        ("longest gap of a firm form or root", "45 days", f"{gap:.1f}", _yes(gap <= 45.0)),
    ]  # fmt: skip
    for name, words in (("true", "truly"), ("nearly", "all but .01"), ("believed", "as the memory believes")):
        body.append((f"caught up within two sessions of the estimate, {words}", f"{len(backs)} of {len(backs)}",
                     f"{near(name)} of {len(backs)}", _yes(near(name) == len(backs))))  # fmt: skip
    told = [b for b in backs if b["within"] is not None]
    inside = sum(
        b["true"] is not None and b["within"][0] - _CATCH_UP_SLACK <= b["true"] <= b["within"][1] + _CATCH_UP_SLACK
        for b in told
    )
    body.append((f"caught up within two sessions of the range told; {len(backs) - len(told)} were told none",
                 f"{len(told)} of {len(told)}", f"{inside} of {len(told)}", _yes(inside == len(told))))  # fmt: skip
    return [markdown(("rule", "asked", "came", ""), body)]
