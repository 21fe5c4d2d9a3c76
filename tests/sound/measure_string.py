"""Measures the plucked string beside a clean electric guitar that was measured note by note.

``python -m tests.sound.measure_string`` writes drills/sound/STRING.md.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np

from drills.listening.evaluate.instruments import RATE as FONT_RATE
from drills.listening.evaluate.instruments import SOUNDFONT, rendered
from drills.sound.pluck import ELECTRIC, STROKES, pick_noise, pluck
from drills.sound.polarisation import Polarisation

PICKUP = replace(ELECTRIC, amplified=False)
"""The string as a pickup hears it, before the loudspeaker; the measured guitar was recorded there."""

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


def inharmonicity(samples, hz: float, rate: int = RATE) -> float:
    """B of f_k = k f0 sqrt(1 + B k^2), fitted to the partials up to the twelfth, in 10^-5."""
    size = 1 << 17
    spectrum = np.abs(np.fft.rfft(samples[:rate] * np.hanning(rate), size))
    found = []
    for k in range(1, 13):
        middle = k * hz * size / rate
        low, high = int(middle * 0.985), int(middle * 1.02) + 2
        top = low + int(np.argmax(spectrum[low:high]))
        left, mid, right = np.log(spectrum[top - 1 : top + 2] + 1e-12)
        place = top + 0.5 * (left - right) / (left - 2 * mid + right)
        found.append((k, place * rate / size))
    first = found[0][1]
    slope = [((at / (k * first)) ** 2 - 1, k * k - 1) for k, at in found[1:]]
    return 1e5 * sum(y * x for y, x in slope) / sum(x * x for _, x in slope)


def decay_s(samples, rate: int = RATE) -> float:
    """Seconds to fall by 60 dB, from the slope of the level over the first second."""
    step = rate // 20
    level = [10 * np.log10(np.mean(samples[at : at + step] ** 2)) for at in range(step, rate, step)]
    slope = np.polyfit(np.arange(len(level)) / 20, level, 1)[0]
    return -60.0 / slope


def rates(samples, rate: int = RATE) -> tuple[float, float]:
    """Decibels a second by which the level falls at first (0.05 to 0.3 s) and later (1 to 2 s)."""
    step = rate // 20
    level = [10 * np.log10(np.mean(samples[at : at + step] ** 2)) for at in range(step, 2 * rate, step)]
    early, late = (
        -np.polyfit(np.arange(last - first) / 20, level[first:last], 1)[0] for first, last in ((0, 5), (19, 39))
    )
    return float(early), float(late)


def centroid_hz(samples, rate: int = RATE) -> float:
    """Centre of the spectrum by amplitude, in the first 0.3 s."""
    part = samples[: int(0.3 * rate)]
    spectrum = np.abs(np.fft.rfft(part * np.hanning(len(part))))
    hz = np.fft.rfftfreq(len(part), 1 / rate)
    return float(np.sum(hz * spectrum) / np.sum(spectrum))


def figures(hz: float, loudness: float = 0.7, stroke: int = 0) -> tuple[float, float, float]:
    """Inharmonicity, decay and centroid of the tool's string at its pickup."""
    samples = pluck(hz, 3.0, RATE, loudness, PICKUP, stroke).astype(float)
    return inharmonicity(samples, hz), decay_s(samples), centroid_hz(samples)


def font_note(hz: float):
    """A note of the clean electric guitar (program 27) of the soundfont that Debian calls timgm6mb-soundfont."""
    return rendered({27: [(0.0, round(69 + 12 * np.log2(hz / 440)), 3.0, 90)]})


def sampled(hz: float) -> tuple[float, float, float]:
    """Inharmonicity, decay and centroid of that note."""
    samples = font_note(hz)
    return inharmonicity(samples, hz, FONT_RATE), decay_s(samples, FONT_RATE), centroid_hz(samples, FONT_RATE)


def picked() -> list[str]:
    """How loud the noise of the pick is beside the tone, in dB, by strength and by the place of the pluck."""
    rows = []
    for place in (0.08, 0.19, 0.35):
        kind = replace(ELECTRIC, pluck_at=place)
        levels = []
        for loudness in (0.3, 0.7, 1.0):
            noise = np.sqrt(np.mean(pick_noise(196.0, RATE, loudness, kind) ** 2))
            levels.append(f"{20 * np.log10(noise):.0f}")
        rows.append(f"| {place:g} | {' | '.join(levels)} |")
    return rows


def two_rates(hz: float) -> str:
    """A row's figures of the two decays, and of the centroid behind the loudspeaker."""
    early, late = rates(pluck(hz, 3.0, RATE, 0.7, PICKUP).astype(float))
    one = rates(pluck(hz, 3.0, RATE, 0.7, replace(PICKUP, early=Polarisation(0.0, 1.0, 0.0))).astype(float))
    behind = centroid_hz(pluck(hz, 3.0, RATE, 0.7, ELECTRIC).astype(float))
    return f"{early:.1f} | {late:.1f} | {early / late:.2f} | {one[0] / one[1]:.2f} | {behind:.0f}"


def page() -> str:
    rows = []
    fonts = []
    decays = []
    for name, (hz, b, decay, centroid) in MEASURED.items():
        ours = figures(hz)
        strokes = [figures(hz, stroke=stroke)[2] for stroke in range(STROKES)]
        rows.append(
            f"| {name} | {b:g} | {ours[0]:.1f} | {decay:g} | {ours[1]:.1f} | {centroid:g} | {ours[2]:.0f} | "
            f"{min(strokes):.0f} to {max(strokes):.0f} |"
        )
        decays.append(f"| {name} | {two_rates(hz)} |")
        font = sampled(hz)
        pairs = [f"{font[at]:.{places}f} | {ours[at]:.{places}f}" for at, places in enumerate((1, 1, 0))]
        fonts.append(f"| {name} | {' | '.join(pairs)} |")
    return "\n".join([
        "# The string beside a measured guitar",
        "",
        f"`python -m tests.sound.measure_string`, {date.today().isoformat()}. A clean electric guitar, neck pickup, "
        "from the IDMT-SMT-Guitar notes in `mogeadis/GS-Detector`, measured for this project, beside the tool's string "
        "at loudness 0.7, before its loudspeaker: inharmonicity B in 10^-5, seconds to fall by 60 dB (extrapolated "
        "from the first second), centre of the spectrum in the first 0.3 s in hertz, and that of its six strokes.",
        "",
        "| string | B, guitar | B, ours | decay s, guitar | ours | centre Hz, guitar | ours | strokes |",
        "|---|---|---|---|---|---|---|---|",
        *rows,
        "",
        "Upper partials are dulled less where strings are plain, and the pluck is brighter the higher the note; both "
        "were fitted to the guitar. The G string is the lowest plain one, stiffer than the wound D. A note sounds as "
        "on the string on which it lies lowest on the neck. The A of the guitar rings longest; that is a trait of its "
        "neck, and not modelled.",
        "",
        "## Two decays",
        "",
        "A string swings across the soundboard and along it. The first dies sooner, and both are a little out of tune "
        "(Weinreich 1977; Lee, Smith and Välimäki 2010, doi 10.1109/TASL.2009.2033979, read in its abstract: two-stage "
        "decay and beating are what the coupling of the two is heard by). On the measured guitar the level fell 1.3 to "
        "2.6 times as fast at first as later, all partials together; how much of that is due to the upper "
        "partials, which die first, is not known, and on an acoustic guitar a distinct second decay was predicted "
        "for few notes only (JASA 150(6):4375, abstract). The early swing has 35 % of the pluck, a quarter of the "
        "other's ring, and lies "
        "half a cent lower: the first two fitted to that range and to the decays above, the last chosen so that the "
        "pitch stays within a cent (no published figure was found). Decibels a second from 0.05 to 0.3 s and from 1 to "
        "2 s, what the first is of the second, the same of one swing alone; and the centre of the spectrum behind the "
        "loudspeaker:",
        "",
        "| string | early dB/s | late dB/s | ratio | one swing | centre Hz, loudspeaker |",
        "|---|---|---|---|---|---|",
        *decays,
        "",
        "## The loudspeaker",
        "",
        "A guitar's loudspeaker carries about 75 Hz to 5 kHz (Wikipedia, Guitar speaker; Premier Guitar, Optimizing "
        "Mids and Highs, has 4 to 5 kHz): Butterworth edges of the second order below and of the fourth above, the "
        "steepness common practice. Partials of an acoustic guitar above 5 kHz are heard in the attack alone (JASA 71, "
        "S8, Fundamentals of guitar tone, abstract).",
        "",
        "## A soundfont",
        "",
        f"Beside single notes of a soundfont, rendered by fluidsynth without effects ({SOUNDFONT.name}, program 27, "
        "clean electric guitar); its partials are whole multiples, and it is brighter than the measured guitar:",
        "",
        "| string | B, font | B, ours | decay s, font | ours | centre Hz, font | ours |",
        "|---|---|---|---|---|---|---|",
        *fonts,
        "",
        "The pick's noise over its eight milliseconds, in dB of the tone's first period, at G3:",
        "",
        "| place of the pluck | soft (0.3) | usual (0.7) | hard (1) |",
        "|---|---|---|---|",
        *picked(),
        "",
    ])  # fmt: skip


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
