"""``python -m scheduler.evaluate``: runs the evaluation and writes report.md with its plots."""

from __future__ import annotations

import os
import sys
import time
from datetime import datetime
from pathlib import Path

import click

from scheduler.errors import SchedulerError
from scheduler.evaluate.evaluation_report import write_report
from scheduler.evaluate.jobs import Job, Plan, all_jobs
from scheduler.evaluate.runner import RESULTS, read_results, run_jobs


@click.command("python -m scheduler.evaluate", context_settings={"help_option_names": ["-h", "--help"]})
@click.option("--quick", is_flag=True, help="A small part of everything, in under two minutes on two cores.")
@click.option("--data", type=click.Path(exists=True, dir_okay=False), help="Real learners' trials, a CSV.")
@click.option("--out", type=click.Path(file_okay=False), default="evaluation", show_default=True, help="Folder.")
@click.option("--seeds", type=click.IntRange(1, 100), default=10, show_default=True, help="For decks of 144 cards.")
@click.option("--first-seed", type=click.IntRange(0), default=0, show_default=True, help="The seeds count up from it.")
@click.option("--jobs", type=click.IntRange(1, 64), default=os.cpu_count() or 1, show_default=True, help="Cores.")
@click.option("--minutes", type=click.FloatRange(0), help="Begin no new job after so long; run again to go on.")
@click.option("--only", metavar="WORD", default="", help="Only jobs whose name begins so, e.g. class or play/planner.")
def main(
    quick: bool, data: str | None, out: str, seeds: int, first_seed: int, jobs: int, minutes: float | None, only: str
) -> None:
    """Simulated players, rivals, prediction, laws, speed and a class's year; writes OUT/report.md.

    Every finished job is a line in OUT/results.jsonl, so that a run cut short goes on where it was; a job is run
    again when the code it rests on has changed.
    """
    plan = Plan(quick, seeds, str(Path(data).resolve()) if data else "", first_seed)
    todo = _offered(all_jobs(plan))
    chosen = [job for job in todo if job.key.startswith(only)]
    folder = Path(out)
    begin = time.monotonic()
    failed = _run(chosen, folder, jobs, minutes)
    results = read_results(folder / RESULTS, todo)
    command = " ".join(["python -m scheduler.evaluate", *sys.argv[1:]])
    path = write_report(folder, results, command, datetime.now().astimezone(), len(todo), time.monotonic() - begin)
    click.echo(f"{path}: {len(results)} of {len(todo)} jobs")
    for key, error in failed.items():
        click.echo(f"failed: {key}: {error}", err=True)
    sys.exit(1 if failed else 0)


def _offered(jobs: list[Job]) -> list[Job]:
    """The jobs that this memory can do. An ablation is left out where the memory has nothing to take away."""
    from scheduler.evaluate.ablations import ABLATIONS, offered

    return [job for job in jobs if job.variant not in ABLATIONS or offered(job.variant)]


def _run(jobs: list[Job], folder: Path, processes: int, minutes: float | None) -> dict[str, str]:
    """Runs the jobs and returns what failed, by key. A terminal shows a progress bar, a pipe shows none."""
    if not sys.stderr.isatty():
        return run_jobs(jobs, folder, processes, minutes=minutes)
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True)) as progress:
        task = progress.add_task("evaluating", total=len(jobs))

        def told(done: int, of: int, key: str) -> None:
            progress.update(task, completed=done, total=of, description=key[:40] or "evaluating")

        return run_jobs(jobs, folder, processes, told, minutes)


if __name__ == "__main__":
    try:
        main()
    except (SchedulerError, OSError) as error:
        click.echo(f"evaluate: {error}", err=True)
        sys.exit(1)
