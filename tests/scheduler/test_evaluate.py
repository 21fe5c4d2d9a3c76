"""The evaluation itself: its measures against other programs' figures, its jobs, its report; abridged throughout."""

from __future__ import annotations

import csv
import gzip
import json
import math
import random
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import special, stats

from scheduler.errors import ReviewError
from scheduler.evaluate.ablations import ABLATIONS, CHOOSING, constants_for, offered, single_experts, without
from scheduler.evaluate.class_year import class_rules, student_year
from scheduler.evaluate.counters import CountedTry, Counters, fit_logistic
from scheduler.evaluate.evaluation_report import write_report
from scheduler.evaluate.evaluation_tables import Plays, TableRow, goals, spread
from scheduler.evaluate.jobs import FACTORS, Job, Plan, all_jobs, code_of, factor_of
from scheduler.evaluate.plots import calibration_plot, line_plot
from scheduler.evaluate.prediction import area_under_curve, bin_sums, bins_error, log_loss
from scheduler.evaluate.real_data import judge, read_trials
from scheduler.evaluate.rivals import RIVALS
from scheduler.evaluate.runner import RESULTS, read_results, run_jobs
from scheduler.evaluate.simulate import Case
from scheduler.evaluate.simulated_deck import material
from scheduler.evaluate.simulated_players import FAMILIES
from scheduler.memory import Constants, Memory
from scheduler.planning.planner import Planner
from scheduler.statistics.calibration import calibrate

SVG = "{http://www.w3.org/2000/svg}"
tries = st.lists(st.tuples(st.floats(0, 1), st.booleans()), min_size=1, max_size=60)

# ---- measures


@settings(max_examples=60)
@given(tries)
def test_the_area_under_the_curve_is_the_rank_statistic(pairs):
    """AUC is Mann and Whitney's U over the number of pairs, by scipy; of one kind alone there is none."""
    p, y = [one for one, _ in pairs], [two for _, two in pairs]
    good, bad = [a for a, b in pairs if b], [a for a, b in pairs if not b]
    found = area_under_curve(p, y)
    if good and bad:
        assert found == pytest.approx(stats.mannwhitneyu(good, bad).statistic / len(good) / len(bad))
    else:
        assert np.isnan(found)


@settings(max_examples=60)
@given(tries)
def test_log_loss_is_cross_entropy_and_calibration_is_the_pages(pairs):
    """Log-loss is scipy's cross entropy; calibration error is that of the progress page, and its bins may be added."""
    p, y = np.array([one for one, _ in pairs]), np.array([float(two) for _, two in pairs])
    clipped = np.clip(p, 1e-6, 1 - 1e-6)
    entropy = -(special.xlogy(y, clipped) + special.xlog1py(1 - y, -clipped)).mean()
    assert log_loss(p, y) == pytest.approx(entropy)
    whole = bins_error(bin_sums(p, y))
    assert whole == pytest.approx(calibrate((one, two, 0.5) for one, two in pairs).error, abs=1e-5)
    half = len(pairs) // 2
    parts = [bin_sums(p[:half], y[:half]), bin_sums(p[half:], y[half:])]
    assert bins_error(np.sum(parts, axis=0)) == pytest.approx(whole)


def test_the_counters_model_is_a_logistic_regression():
    """Without a ridge the weights are those statsmodels finds; rows count what came before, never the try itself."""
    from statsmodels.api import Logit

    rng = np.random.default_rng(1)
    x = np.column_stack([np.ones(400), rng.normal(size=(400, 3))])
    y = (rng.random(400) < special.expit(x @ [0.3, 1.0, -0.5, 0.0])).astype(float)
    assert fit_logistic(x, y, ridge=0.0) == pytest.approx(Logit(y, x).fit(disp=False).params, abs=1e-6)


def counted(*tries):
    return [CountedTry(minutes, item, skills, right, seconds) for minutes, item, skills, right, seconds in tries]


TRIES = counted(
    (0.0, 0, ("s",), True, 4.0),
    (5.0, 0, ("s",), False, 2.0),
    (6.0, 1, ("s",), None, None),
    (9.0, 1, ("s",), True, 8.0),
)


def test_counters_count_what_came_before_and_never_the_try_itself():
    """Of the item, then of the other items of its skill: right, wrong; a studied trial is no try."""
    rows, answers = Counters(2, 1).rows(TRIES)
    assert answers.tolist() == [1.0, 0.0, 1.0]
    assert rows[:, :3].tolist() == [[1, 0, 1], [1, 0, 1], [0, 1, 1]]
    assert rows[:, 3] == pytest.approx(np.log([2 / 2, 3 / 2, 3 / 3]))
    assert rows[:, 6:] == pytest.approx(np.log1p([[0, 0, 0, 0], [1, 0, 0, 0], [0, 0, 1, 1]]))


def test_counters_with_gaps_and_times_know_when_and_how_quickly():
    """The gap in log minutes since the item's last trial, how that went, and the last right answer's time."""
    rows, _ = Counters(2, 1, gaps=True, times=True).rows(TRIES)
    own, alike, quick = rows[:, 6:14], rows[:, 14:22], rows[:, 22:]
    gap = math.log1p(5.0)
    assert own[1] == pytest.approx([math.log(2.0), 0.0, 0.0, 1.0, gap, 1.0, gap, gap * math.log(2.0)])
    assert own[2] == pytest.approx([0.0, 0.0, math.log(2.0), 1.0, math.log1p(3.0), 0.0, 0.0, 0.0])
    assert alike[0].tolist() == alike[1].tolist() == [0.0] * 8
    assert alike[2, 3:6] == pytest.approx([1.0, math.log1p(4.0), 0.0])
    assert quick.tolist() == [[0.0, 0.0], [0.0, 1.0], [0.0, 0.0]]
    later, _ = Counters(2, 1, gaps=True, times=True).rows([*TRIES, TRIES[0]._replace(minutes=20.0)])
    assert later[-1, 22:] == pytest.approx([math.log(4.0) - math.log(4.0 * 2.0 * 8.0) / 3.0, 1.0])


# ---- jobs


def test_a_whole_run_holds_all_that_is_to_be_judged():
    """Four families by three sharings and ten seeds, each other factor at .45, larger decks, twenty students."""
    found = all_jobs(Plan(data="somewhere.csv"))
    assert len({job.key for job in found}) == len(found)
    plays = [job for job in found if job.kind == "play" and not job.variant]
    for family in FAMILIES:
        for sharing in (0.9, 0.45, 0.0):
            for policy in ("planner", "clairvoyant", *RIVALS):
                mine = [j for j in plays if (j.case.family, j.case.sharing, j.policy) == (family, sharing, policy)]
                small = [j.case for j in mine if not factor_of(j.case) and (j.case.qualities, j.case.sets) == (4, 3)]
                assert len({case.seed for case in small}) == 10
    assert {factor_of(job.case) for job in plays} == set(FACTORS)
    assert {(job.case.qualities * job.case.sets * 12) for job in plays} == {144, 504, 1008}
    assert sum(job.kind == "class" for job in found) == 20
    assert {"speed", "laws", "real"} <= {job.kind for job in found}
    assert not [job for job in all_jobs(Plan()) if job.kind == "real"]


def test_a_change_of_the_planner_leaves_the_rivals_results():
    """What a result rests on decides whether it is kept: rivals never see the planner."""
    case = Case("halving", 0.45, 0)
    rival, ours = (Job("play", name, case, name) for name in ("boxes", "planner"))
    assert code_of(rival) != code_of(ours)
    assert code_of(rival) == code_of(replace(rival, policy="clairvoyant"))


def test_every_ablation_leaves_a_memory_that_works():
    """Each variant gives a committee: of one member for a single expert, without shared skills, of one horizon."""
    whole = Memory().members
    assert len(whole) == len(single_experts()) > 1
    for number, name in enumerate(single_experts()):
        assert Memory(constants_for(name)).members == (whole[number],)
    assert set(constants_for("no sharing").sharings) == {0.0}
    assert all(Planner((), constants=constants_for(name)) for name in ABLATIONS if offered(name))
    assert offered("no slips") and offered("one horizon") and offered("no sharing")
    assert constants_for("") == constants_for("no slips") == Constants()


def small_jobs() -> list[Job]:
    cases = [Case(family, 0.45, seed, days=10) for family in ("halving", "traces") for seed in (0, 1)]
    found = [
        Job("play", f"play/{policy}/{case.family}/{case.seed}", case, policy)
        for case in cases
        for policy in ("planner", "boxes", "clairvoyant")
    ]
    return [*found, Job("laws", "laws")]


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    """A folder in which a small run was cut off and taken up again."""
    folder = tmp_path_factory.mktemp("evaluation")
    todo = small_jobs()
    assert run_jobs(todo[:5], folder, 2) == {}
    with (folder / RESULTS).open("a") as file:
        file.write('{"key": "torn')
        file.write("\n")
    told = []
    assert run_jobs(todo, folder, 2, lambda done, of, key: told.append((done, of))) == {}
    assert told[0] == (5, len(todo)) and told[-1] == (len(todo), len(todo))
    return folder, todo


def test_a_run_is_taken_up_where_it_was_cut_off(run, monkeypatch):
    """Finished jobs are not run again; those of other code are; the order they finish in changes no figure."""
    folder, todo = run
    found = read_results(folder / RESULTS, todo)
    assert set(found) == {job.key for job in todo}
    lines = (folder / RESULTS).read_text().splitlines()
    assert len(lines) == len(todo) + 1
    assert run_jobs(todo, folder, 1) == {}
    assert len((folder / RESULTS).read_text().splitlines()) == len(lines)
    monkeypatch.setattr("scheduler.evaluate.runner.code_of", lambda job: "other")
    assert read_results(folder / RESULTS, todo) == {}


def test_the_same_seed_gives_the_same_figures(run, tmp_path):
    """A job run again elsewhere comes to the same result, to the last bit."""
    folder, todo = run
    before = read_results(folder / RESULTS, todo)
    run_jobs(todo[:2], tmp_path, 1)
    after = read_results(tmp_path / RESULTS, todo[:2])
    assert {key: one["result"] for key, one in after.items()} == {key: before[key]["result"] for key in after}


def test_a_job_that_fails_is_named_and_the_others_go_on(tmp_path):
    """One job that cannot be done does not end the run."""
    bad = Job("play", "bad", Case("no such family", 0.45, 0, days=1), "boxes")
    good = Job("play", "good", Case("halving", 0.45, 0, days=1), "boxes")
    failed = run_jobs([bad, good], tmp_path, 1)
    assert list(failed) == ["bad"] and "no such family" in failed["bad"]
    assert list(read_results(tmp_path / RESULTS, [bad, good])) == ["good"]


# ---- tables and report


def test_the_report_holds_every_table_and_says_what_is_missing(run):
    """Figures in the report are those of the results; no data path is said, and a partial run is called partial."""
    folder, todo = run
    results = read_results(folder / RESULTS, todo)
    path = write_report(folder, results, "evaluate", datetime(2026, 1, 2, 3, 4, tzinfo=UTC), len(todo) + 3, 5.0)
    text = path.read_text()
    assert "**Partial: 3 jobs are not done" in text
    assert "No data path was given" in text
    plays = Plays(results)
    row = TableRow(144, "", "halving", 0.45)
    mean, deviation = spread([results[f"play/planner/halving/{seed}"]["result"]["recall"] for seed in (0, 1)])
    assert plays.measure(row, "planner") == (mean, deviation)
    assert f"{mean:.3f} ± {deviation:.3f}" in text
    assert plays.best_rival(row) == "boxes"
    boxes = spread([results[f"play/boxes/halving/{seed}"]["result"]["recall"] for seed in (0, 1)])[0]
    assert plays.ratio(row, "boxes")[0] == pytest.approx(mean / boxes)
    short = (folder / "summary.md").read_text()
    assert f"halving, sharing 0.45 (144; 2) | {mean:.3f} ± {deviation:.3f} | boxes {boxes:.3f} |" in short
    assert goals(plays, results)[0].came in short
    for name in {part.split(")")[0] for part in text.split("](")[1:]}:
        ElementTree.parse(folder / name)


def test_goals_are_met_or_missed_by_their_figures(run):
    """Ten times the recall meets the goals over rivals; a third of it misses them; what was not run is not shown."""
    folder, todo = run
    results = read_results(folder / RESULTS, todo)

    def told(factor):
        changed = json.loads(json.dumps(results))
        for one in changed.values():
            if one["policy"] == "planner" and one["kind"] == "play":
                one["result"]["recall"] *= factor
        return {goal.name: goal.met for goal in goals(Plays(changed), changed)}

    high, low = told(10.0), told(0.3)
    over_rivals = [name for name in high if "rival" in name or "average" in name or "clairvoyant's" in name]
    assert len(over_rivals) == 3
    assert all(high[name] is True and low[name] is False for name in over_rivals)
    assert [met for name, met in high.items() if "real" in name] == [None, None]
    assert all(goal.met is None for goal in goals(Plays({}), {}))


def test_a_plot_is_an_image_with_words():
    """A plot is well-formed SVG with a title, a description, a name for every line and no text over another."""
    series = {f"line & {n}": [(0.0, 0.5), (9.0, 0.5)] for n in range(7)}
    root = ElementTree.fromstring(line_plot("a < b", "all alike", series, "day", "recall", bands=[(2, 4, "away")]))
    assert root.find(f"{SVG}title").text == "a < b"
    assert root.find(f"{SVG}desc").text == "all alike"
    named = {one.text: float(one.get("y")) for one in root.iter(f"{SVG}text")}
    assert set(series) <= set(named)
    heights = sorted(named[name] for name in series)
    assert min(b - a for a, b in zip(heights, heights[1:], strict=False)) >= 11
    assert len({one.get("stroke-dasharray") for one in root.iter(f"{SVG}polyline")}) == 7
    circles = ElementTree.fromstring(calibration_plot("t", "d", [[1.5, 1.0, 3.0], [0, 0, 0]])).iter(f"{SVG}circle")
    assert len(list(circles)) == 1
    with pytest.raises(ValueError, match="at least one point"):
        line_plot("empty", "", {}, "x", "y")


# ---- real data


def written(path, rows, head=("learner", "t_epoch_s", "item", "skill", "outcome")):
    opened = gzip.open if path.suffix == ".gz" else open
    with opened(path, "wt", newline="") as file:
        csv.writer(file).writerows([head, *rows])
    return path


def test_real_trials_are_judged_on_learners_held_out(tmp_path):
    """Made-up learners who forget: every way of predicting is judged on every third of them, studied trials aside."""
    rng = random.Random(1)
    rows = []
    for learner in range(9):
        for number in range(40):
            item = rng.randrange(8)
            outcome = "study" if number < 8 else ("correct" if rng.random() < 0.3 + 0.1 * (item % 5) else "incorrect")
            rows.append((learner, 1.4e9 + number * 3600.0, item, item % 3, outcome))
    path = written(tmp_path / "trials.csv.gz", rows)
    assert sum(len(trials) for trials in read_trials(path).values()) == len(rows)
    found = judge(path, quick=True)
    assert (found["learners"], found["held"]) == (9, 3)
    assert {way["tries"] for way in found["ways"].values()} == {3 * 32}
    for way in found["ways"].values():
        assert 0.0 < way["log_loss"] < 3.0 and 0.0 <= way["auc"] <= 1.0


def test_sharing_is_seen_where_the_data_have_it(tmp_path):
    """Who played another item of the skill within three days knows the item: shared skills foresee that."""
    rng = random.Random(2)
    rows = []
    for learner in range(45):
        last = {}
        for day, item in enumerate(rng.sample(range(36), 36)):
            right = rng.random() < (0.9 if day - last.get(item % 6, -9) <= 3 else 0.1)
            last[item % 6] = day
            rows.append((learner, 1.4e9 + day * 86400.0, item, item % 6, "correct" if right else "incorrect"))
    found = judge(written(tmp_path / "trials.csv", rows), quick=True)
    real, shuffled, *_ = found["gains"]
    assert real["gain"] > real["reach"] > 0.0
    assert shuffled["gain"] < 0.5 * real["gain"]


def test_the_word_asked_is_a_second_skill_and_times_are_read(tmp_path):
    """Both columns may be missing; a time that is none is left out."""
    head = ("learner", "t_epoch_s", "item", "skill", "outcome", "answer_word", "latency_start_ms")
    rows = [(1, 2, 3, 4, "correct", "Mean", "1500"), (1, 3, 3, 4, "study", "", "-1"), (1, 4, 3, 4, "correct", "x", "?")]
    one, two, three = read_trials(written(tmp_path / "a.csv", rows, head))["1"]
    assert one.skills == ("sentence:4", "answer:mean") and two.skills == ("sentence:4",)
    assert (one.seconds, two.seconds, three.seconds) == (1.5, None, None)


def test_a_file_of_something_else_is_refused(tmp_path):
    """A missing column, an unknown outcome or a time that is none is named with its line."""
    with pytest.raises(ReviewError, match="found no 'skill'"):
        read_trials(written(tmp_path / "a.csv", [(1, 2, 3, "correct")], ("learner", "t_epoch_s", "item", "outcome")))
    with pytest.raises(ReviewError, match=r"line 2, outcome: expected correct, incorrect or study, got 'maybe'"):
        read_trials(written(tmp_path / "b.csv", [(1, 2, 3, 4, "maybe")]))
    for wrong in ("noon", "nan", "1e99", ""):
        with pytest.raises(ReviewError, match=r"line 2, t_epoch_s: expected seconds since 1970, got"):
            read_trials(written(tmp_path / "c.csv", [(1, wrong, 3, 4, "correct")]))


# ---- the class


@pytest.mark.parametrize("number", [1, 3])
def test_the_teaching_rules_hold_for_weeks(number):
    """Eight weeks of a student: introductions within the limits, ten minutes, look-alikes apart, nothing firm left."""
    found = student_year(number, quick=True)
    assert 0 < found["new_forms"] <= 2 and 0 < found["new_roots"] <= 4
    assert found["look_alikes_one_day"] == 0
    assert found["longest_minutes"] >= 10.0 and found["over_seconds"] <= 0.0
    assert found["longest_gap_days"] <= 45.0
    assert found["sessions"] >= 20 and found["back"]["sessions"] >= 5
    assert found["curves"]["met"] == sorted(found["curves"]["met"])
    assert found["curves"]["true"][-1] > found["curves"]["true"][0]


def test_look_alikes_of_the_class_are_those_of_the_rules():
    """m7 with m7b5, 7 with maj7 (drills/RULES.md, B6), on either layout; nothing resembles itself."""
    alike = class_rules(material()).look_alikes
    assert alike["form:q0-l0"] == {"form:q2-l0", "form:q2-l1"}
    assert alike["form:q3-l1"] == {"form:q1-l0", "form:q1-l1"}
    assert len(alike) == 8
    assert all(one in alike[other] for one, others in alike.items() for other in others)


@pytest.mark.parametrize("name", [*CHOOSING, *ABLATIONS])
def test_a_part_is_away_only_as_long_as_asked(name):
    """A part of choosing or of the memory: away inside, there again afterwards, also when a play fails."""
    was = {place: getattr(sys.modules[place[0]], place[1]) for place in CHOOSING.get(name, {})}
    with pytest.raises(ZeroDivisionError), without(name) as constants:
        assert {place: getattr(sys.modules[place[0]], place[1]) for place in was} == CHOOSING.get(name, {})
        assert constants == (constants_for(name) if name in ABLATIONS else Constants())
        raise ZeroDivisionError
    assert {place: getattr(sys.modules[place[0]], place[1]) for place in was} == was


# ---- the whole, as run


def test_seeds_count_up_from_the_first():
    """Every play has one of the seeds asked for; single members are judged on the first two of them only."""
    jobs = [job for job in all_jobs(Plan(seeds=4, first_seed=300)) if job.kind == "play"]
    assert {job.case.seed for job in jobs} == {300, 301, 302, 303}
    assert {job.case.seed for job in jobs if job.members} == {300, 301}
    assert not any(job.members for job in jobs if job.variant or job.case.qualities > 4)


def test_a_pipe_sees_no_bar_and_one_line(tmp_path):
    """Run in a pipe the evaluation prints where its report is, and nothing else."""
    args = ["--quick", "--out", str(tmp_path), "--only", "play/boxes", "--jobs", "1"]
    ran = subprocess.run(
        [sys.executable, "-m", "scheduler.evaluate", *args], capture_output=True, text=True, timeout=300, check=False
    )
    assert (ran.returncode, ran.stderr) == (0, "")
    assert ran.stdout == f"{tmp_path}/report.md: 4 of 31 jobs\n"
    assert "Partial: 27 jobs" in (tmp_path / "report.md").read_text()


def test_what_plans_has_never_seen_a_player():
    """A planner that has chosen, learned and been asked why has loaded nothing of the evaluation."""
    code = (
        "import sys\n"
        "from datetime import datetime, timedelta, timezone\n"
        "from scheduler import CardSpec, Grade, Planner, Review\n"
        "planner = Planner([CardSpec('a', ('form:x',)), CardSpec('b', ('form:x',))])\n"
        "at = datetime(2026, 1, 1, tzinfo=timezone.utc)\n"
        "card = planner.next(at)\n"
        "planner.record(Review(card, Grade.CLEAN, at, 5.0))\n"
        "planner.why(card, at), planner.plan(at, 5), planner.placement(at)\n"
        "planner.catch_up(at + timedelta(days=9), 10)\n"
        "sys.exit(any(name.startswith('scheduler.evaluate') for name in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", code], timeout=60, check=False).returncode == 0
