"""Loads the two models from files that are already here; nothing is fetched, then or later."""

from __future__ import annotations

import importlib
from collections.abc import Callable
from types import ModuleType
from typing import TYPE_CHECKING, Any

import numpy as np

from drills.configuration.shipped import data_file
from drills.errors import EngineError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Values = NDArray[np.float64]
    """Numbers of any shape."""

__all__ = ["MODEL_FILE", "PitchModels", "load_pitch_models"]

MODEL_FILE = "models/polyphonic.onnx"
"""Where the polyphonic model lies in data/; data/models/README.md says where it comes from."""

_INPUT = "serving_default_input_2:0"
_ONSETS, _NOTES, _CONTOURS = (f"StatefulPartitionedCall:{number}" for number in (2, 1, 0))


class PitchModels:
    """Both models, loaded. May be asked from several threads; the same samples always get the same answer.

    runtime: the library onnxruntime. tracker: an opened single-pitch tracker of the library swift_f0.
    """

    def __init__(self, runtime: Any, tracker: Any):
        options = runtime.SessionOptions()
        # One thread that sleeps between calls: the session's own threads need the other cores.
        options.intra_op_num_threads = options.inter_op_num_threads = 1
        options.add_session_config_entry("session.intra_op.allow_spinning", "0")
        self._notes = runtime.InferenceSession(str(data_file(MODEL_FILE)), options, providers=["CPUExecutionProvider"])
        self._tracker = tracker

    def notes(self, samples: Values) -> tuple[Values, Values, Values]:
        """How likely pitches begin and sound, 0 to 1, one row for each 256 samples from the first on.

        samples: 43,844 at 22,050 a second. Begins and sounds have 88 columns from A0 up; the third has 264, in
        thirds of a semitone.
        """
        given = {_INPUT: samples.astype(np.float32)[None, :, None]}
        began, sounds, thirds = self._notes.run([_ONSETS, _NOTES, _CONTOURS], given)
        return began[0].astype(np.float64), sounds[0].astype(np.float64), thirds[0].astype(np.float64)

    def track(self, samples: Values) -> tuple[Values, Values]:
        """The one pitch in Hz, 46.9 to 2093.8, and how surely there is one, 0 to 1, for each 256 samples.

        samples: any number at 16,000 a second.
        """
        found = self._tracker.detect(samples.astype(np.float32), 16_000)
        return found.pitch_hz, found.confidence


def load_pitch_models(load: Callable[[str], ModuleType] = importlib.import_module) -> PitchModels:
    """Both models, which takes a quarter of a second.

    load: imports a library by name. Raises EngineError with what to do where a library is not installed or does not
    load.
    """
    try:
        runtime: Any = load("onnxruntime")
        library: Any = load("swift_f0")
    except (ImportError, OSError) as error:
        raise EngineError(
            f"the trained models do not load ({error}); pip install 'neckwork[listen]', or listen with --engine comb"
        ) from None
    if hasattr(runtime, "disable_telemetry_events"):
        runtime.disable_telemetry_events()  # on Windows the library reports to its maker unless told not to
    return PitchModels(runtime, library.SwiftF0(threads=1, spin=False))
