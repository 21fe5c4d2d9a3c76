"""Hypothesis profiles: the same inputs on every run, or fresh ones when exploring."""

from __future__ import annotations

import os
from pathlib import Path

from hypothesis import HealthCheck, settings

settings.register_profile(
    "same",
    deadline=None,  # a shared machine's pauses are no failures
    derandomize=True,
    database=None,
    # Strategies build from shipped tables read once, which the first draw pays for.
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile("fresh", parent=settings.get_profile("same"), derandomize=False)


def pytest_ignore_collect(collection_path: Path, config) -> bool | None:
    """Benches are run by name only: beside other tests they would time those."""
    if collection_path == Path(__file__).parent / "bench":
        return None if any("bench" in argument for argument in config.args) else True
    return None


settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "same"))
