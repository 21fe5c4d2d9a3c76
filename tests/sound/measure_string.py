"""Measures the plucked string beside a clean electric guitar that was measured note by note.

``python -m tests.sound.measure_string`` writes drills/sound/STRING.md.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np

from drills.sound.pluck import ELECTRIC, STROKES, pluck

PAGE = Path(__file__).resolve().parents[2] / "drills" / "sound" / "STRING.md"
RATE = 44_100

MEASURED = {
    "E2": (82.407, 21.8, 7.6, 358), "A2": (110.0, 10.8, 9.7, 472), "D3": (146.832, 7.5, 7.4, 619),
    "G3": (195.998, 9.95, 6.9, 951), "B3": (246.942, 2.95, 6.6, 1090), "E4": (329.628, 0.97, 4.6, 1373),
}  # fmt: skip
"""Hertz, inharmonicity in 10^-5, seconds to fall by 60 dB (from the first second), centroid of the first 0.3 s in Hz.

Measured for this project on the IDMT-SMT-Guitar notes in the repository mogeadis/GS-Detector: neck pickup, open string
for B (median over frets, corrected), frets 0 to 3 for the rest.
"""


def inharmonicity(samples, hz: float) -> float:
    """B of f_k = k f0 sqrt(1 + B k^2), fitted to the partials up to the twelfth, in 10^-5."""
    size = 1 << 17
    spectrum = np.abs(np.fft.rfft(samples[:RATE] * np.hanning(RATE), size))
    found = []
    for k in range(1, 13):
        middle = k * hz * size / RATE
        low, high = int(middle * 0.985), int(middle * 1.02) + 2
        top = low + int(np.argmax(spectrum[low:high]))
        left, mid, right = np.log(spectrum[top - 1 : top + 2] + 1e-12)
        place = top + 0.5 * (left - right) / (left - 2 * mid + right)
        found.append((k, place * RATE / size))
    first = found[0][1]
    slope = [((at / (k * first)) ** 2 - 1, k * k - 1) for k, at in found[1:]]
    return 1e5 * sum(y * x for y, x in slope) / sum(x * x for _, x in slope)


def decay_s(samples) -> float:
    """Seconds to fall by 60 dB, from the slope of the level over the first second."""
    step = RATE // 20
    level = [10 * np.log10(np.mean(samples[at : at + step] ** 2)) for at in range(step, RATE, step)]
    slope = np.polyfit(np.arange(len(level)) / 20, level, 1)[0]
    return -60.0 / slope


def centroid_hz(samples) -> float:
    """Centre of the spectrum by amplitude, in the first 0.3 s."""
    part = samples[: int(0.3 * RATE)]
    spectrum = np.abs(np.fft.rfft(part * np.hanning(len(part))))
    hz = np.fft.rfftfreq(len(part), 1 / RATE)
    return float(np.sum(hz * spectrum) / np.sum(spectrum))


def figures(hz: float, loudness: float = 0.7, stroke: int = 0) -> tuple[float, float, float]:
    """Inharmonicity, decay and centroid of the tool's string."""
    samples = pluck(hz, 3.0, RATE, loudness, ELECTRIC, stroke).astype(float)
    return inharmonicity(samples, hz), decay_s(samples), centroid_hz(samples)


def page() -> str:
    rows = []
    for name, (hz, b, decay, centroid) in MEASURED.items():
        ours = figures(hz)
        strokes = [figures(hz, stroke=stroke)[2] for stroke in range(STROKES)]
        rows.append(
            f"| {name} | {b:g} | {ours[0]:.1f} | {decay:g} | {ours[1]:.1f} | {centroid:g} | {ours[2]:.0f} | "
            f"{min(strokes):.0f} to {max(strokes):.0f} |"
        )
    return "\n".join([
        "# The string beside a measured guitar",
        "",
        f"`python -m tests.sound.measure_string`, {date.today().isoformat()}. A clean electric guitar, neck pickup, "
        "from the IDMT-SMT-Guitar notes in `mogeadis/GS-Detector`, measured for this project, beside the tool's string "
        "at loudness 0.7: inharmonicity B in 10^-5, seconds to fall by 60 dB (extrapolated from the first second), "
        "centre of the spectrum in the first 0.3 s in hertz, and that of its six strokes.",
        "",
        "| string | B, guitar | B, ours | decay s, guitar | ours | centre Hz, guitar | ours | strokes |",
        "|---|---|---|---|---|---|---|---|",
        *rows,
        "",
    ])  # fmt: skip


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
