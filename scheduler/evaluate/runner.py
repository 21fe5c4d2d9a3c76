"""Runs jobs over the cores, one line of results each, and takes up where an earlier run was cut off."""

from __future__ import annotations

import json
import signal
import time
from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path

from scheduler.evaluate.figures import Figures
from scheduler.evaluate.jobs import Job, code_of

__all__ = ["RESULTS", "read_results", "run_job", "run_jobs"]

RESULTS = "results.jsonl"
"""One JSON object a line: key, digest of the code, seconds, what the job was, what came of it."""


def run_job(job: Job) -> Figures:
    """What comes of one job, in plain values."""
    if job.kind == "play":
        from scheduler.evaluate.plays import play_job

        return play_job(job)
    if job.kind == "class":
        from scheduler.evaluate.class_year import student_year

        return student_year(job.number, quick=job.quick)
    if job.kind == "real":
        from scheduler.evaluate.real_data import judge

        return judge(Path(job.path), quick=job.quick)
    if job.kind == "speed":
        from scheduler.evaluate.speed import measure

        return measure(job.number, quick=job.quick)
    if job.kind == "laws":
        from scheduler.evaluate.laws import figures

        return figures()
    raise ValueError(f"job {job.key!r}: expected kind play, class, real, speed or laws, got {job.kind!r}")


def _timed(job: Job) -> Figures:
    begin = time.perf_counter()
    result = run_job(job)
    seconds = round(time.perf_counter() - begin, 2)
    return {"key": job.key, "code": code_of(job), "seconds": seconds, **job.about, "result": result}


def _workers(processes: int) -> ProcessPoolExecutor:
    # Interrupted, a worker just ends; what is finished stands in the file.
    return ProcessPoolExecutor(processes, initializer=signal.signal, initargs=(signal.SIGINT, signal.SIG_DFL))


def read_results(path: Path, jobs: Iterable[Job]) -> dict[str, Figures]:
    """The results in the file that belong to these jobs and to today's code, by key. A torn line is passed over."""
    wanted = {job.key: code_of(job) for job in jobs}
    found: dict[str, Figures] = {}
    if path.exists():
        for line in path.read_text(encoding="utf-8").splitlines():
            try:
                one = json.loads(line)
                if wanted.get(one["key"]) == one["code"]:
                    found[one["key"]] = one
            except (ValueError, KeyError, TypeError):
                continue
    return found


def run_jobs(
    jobs: list[Job],
    folder: Path,
    processes: int,
    told: Callable[[int, int, str], None] = lambda done, of, key: None,
    minutes: float | None = None,
) -> dict[str, str]:
    """Runs the jobs that are not finished yet and writes a line of results for each. Returns errors by key.

    told: how many are done, of how many, and which one just now. minutes: no job is begun after so long.
    """
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / RESULTS
    finished = read_results(path, jobs)
    left = [job for job in jobs if job.key not in finished]
    done, failed = len(finished), {}
    told(done, len(jobs), "")
    end = None if minutes is None else time.monotonic() + minutes * 60.0
    with path.open("a", encoding="utf-8") as out, _workers(processes) as pool:
        waiting = iter(left)
        running = {}

        def begin_next() -> None:
            if end is None or time.monotonic() < end:
                job = next(waiting, None)
                if job is not None:
                    running[pool.submit(_timed, job)] = job

        for _ in range(processes):
            begin_next()
        while running:
            future = next(as_completed(running))
            job = running.pop(future)
            done += 1
            if error := future.exception():
                failed[job.key] = f"{type(error).__name__}: {error}"
            else:
                out.write(json.dumps(future.result()) + "\n")
                out.flush()
            told(done, len(jobs), job.key)
            begin_next()
    return failed
