"""`python -m tests.listening.many_takes FILE`: comb and vote on thousands of takes, saved take by take, then told.

Each take is rendered and heard once, by the vote; what the comb answered is written down on the way, so that both
stand on the same sound. What was heard is saved and the sound is not: a rule that comes after the pitch is judged
again from FILE in seconds, with `--takes 0`. Stopped and started again, it goes on. Simulated playing only.
"""

from __future__ import annotations

import argparse
import pickle
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from drills.listening.comb import Comb
from drills.listening.ears import Ears, hear
from drills.listening.evaluate.asked_material import MATERIAL, asked_of_material
from drills.listening.evaluate.counted_takes import Counts, counted_heard, share
from drills.listening.evaluate.disturbers import KINDS, disturber
from drills.listening.evaluate.instruments import RATE, instruments
from drills.listening.evaluate.side_by_side import drawn_take
from drills.listening.evaluate.takes import Take
from drills.listening.heard import Frame, Heard, Target
from drills.listening.level import Level
from drills.listening.polyphonic import Polyphonic
from drills.listening.proposal import propose
from drills.listening.timbre import Timbre
from drills.listening.tracker import Tracker
from drills.listening.verdict import judge
from drills.listening.vote import Vote
from drills.pitch_models.loaded import load_pitch_models

ENGINES = ("comb", "vote")
TAKES_FOR_A_DISTURBER, DISTURBER_S = 5, 10.0
ROWS = {
    "right notes heard": ("right heard", "right"),
    "right notes called wrong": ("right called wrong", "right"),
    "right notes called missing": ("right called missing", "right"),
    "right notes not sure": ("right not sure", "right"),
    "wrong notes called right": ("wrong called right", "wrong"),
    "notes left out, found": ("left out found", "left out"),
    "notes left out, called right": ("left out called right", "left out"),
    "notes not sure": ("not sure", "notes"),
    "grade true when claimed": ("true", "claimed"),
    "grade claimed": ("claimed", "takes"),
}


@dataclass(frozen=True)
class SavedTake:
    """What was heard of one take, or of ten seconds of other sound, without the sound.

    kind: of the other sound, None for a take. answers: by seconds of the onset, what each engine that was asked said
    there, as name, pitch and sureness, or None where it heard nothing; the comb's comes first.
    """

    number: int
    take: Take | None
    kind: str | None
    asked: tuple[int, ...]
    heard: tuple[Heard, ...]
    timbres: tuple[Timbre, ...]
    level: Level
    lost: int
    taken: int
    answers: dict[float, list[tuple[str, float, float] | None]]

    def ears(self, engine: str) -> Ears:
        """The ears as they were at the end, by the vote or by the comb alone."""
        heard = self.heard if engine == "vote" else tuple(map(self._by_comb, self.heard))
        ears = Ears.start(RATE)
        hops = replace(ears.hops, taken=self.taken, lost=self.lost)
        return replace(ears, heard=heard, timbres=self.timbres, level=self.level, hops=hops)

    def _by_comb(self, one):
        if one.at_s not in self.answers:
            return one
        _, pitch, sure = self.answers[one.at_s][0]
        return Heard(one.at_s, round(pitch), round((pitch - round(pitch)) * 100, 3), sure)


class NotingEngine:
    """An engine that writes down each of its answers; the first one of a vote begins a new list for each onset."""

    def __init__(self, engine, said, first=False):
        self.engine, self.said, self.first = engine, said, first
        self.name, self.version, self.lowest, self.highest = engine.name, engine.version, engine.lowest, engine.highest

    def pitch_of(self, before, after, rate):
        """See `Engine.pitch_of`."""
        found = self.engine.pitch_of(before, after, rate)
        if self.first:
            self.said.append([])
        self.said[-1].append(None if found is None else (self.name, found.pitch, found.sure))
        return found


def noting_vote():
    """The vote, and the list its members write their answers to."""
    models, said = load_pitch_models(), []
    others = (NotingEngine(Polyphonic(models.notes), said), NotingEngine(Tracker(models.track), said))
    return Vote(NotingEngine(Comb(), said, first=True), others), said


def saved_takes(file: Path) -> Iterator[SavedTake]:
    """What a file holds so far, in the order in which it was heard."""
    with file.open("rb") as rows:
        while True:
            try:
                yield pickle.load(rows)
            except EOFError:
                return


def heard_and_saved(sound, vote, said, number, take, kind, asked):
    """What the vote hears of a sound, and what its members said at each onset."""
    said.clear()
    ears = hear([Frame(0.0, sound)], RATE, vote)
    # Where the comb hears nothing, so does the vote.
    pitched = [one for one in ears.heard if one.midi is not None]
    answers = dict(zip([one.at_s for one in pitched], [one for one in said if one[0] is not None], strict=True))
    return SavedTake(
        number, take and replace(take, samples=np.zeros(0)), kind, tuple(asked), ears.heard, ears.timbres, ears.level,
        ears.hops.lost, ears.hops.taken, answers,
    )  # fmt: skip


def run(file, takes, seed, fonts, folders):
    """Hears the takes that the file does not hold yet, and ten seconds of other sound after every fifth."""
    done = sum(one.take is not None for one in saved_takes(file)) if file.exists() else 0
    chosen, asked = instruments(fonts, folders), asked_of_material(MATERIAL[0])
    vote, said = noting_vote()
    with file.open("ab") as rows:
        for number in range(done, takes):
            one = drawn_take(number, seed, asked, chosen)
            made = [heard_and_saved(one.samples, vote, said, number, one, None, one.asked)]
            place, left = divmod(number, TAKES_FOR_A_DISTURBER)
            if left == TAKES_FOR_A_DISTURBER - 1:
                kind, wanted = KINDS[place % len(KINDS)], asked[place % len(asked)]
                sound = disturber(kind, DISTURBER_S, seed + place)
                if sound is not None:
                    made.append(heard_and_saved(sound, vote, said, place, None, kind, wanted))
            for each in made:
                pickle.dump(each, rows)
            rows.flush()


def tell(file):
    """Prints the tables: all but overdriven guitars, those never tuned on, by condition, and sound nobody plays."""
    whole, never = ({name: Counts() for name in ENGINES} for _ in range(2))
    parts, proposals, minutes, overdriven = {}, {name: Counter() for name in ENGINES}, Counter(), Counter()
    for one in saved_takes(file):
        minutes[one.kind] += one.kind is not None
        for name in ENGINES:
            ears = one.ears(name)
            if one.take is None:
                claims = propose(judge(ears, Target(one.asked))).grade is not None
                proposals[name][one.kind] += claims
                continue
            found = counted_heard(one.take, ears)
            numbers = found.numbers
            if one.take.instrument.name.startswith("overdriven"):
                overdriven[name] += numbers["claimed"]
                overdriven["takes"] += name == ENGINES[0]
                continue
            against = numbers["right called wrong"] + numbers["right called missing"]
            numbers["right not sure"] = numbers["right"] - numbers["right heard"] - against
            whole[name].add(found)
            if not one.take.instrument.tuned_on:
                never[name].add(found)
            for part in (one.take.disturbance, f"played {one.take.fault}", f"on {one.take.instrument.name}"):
                parts.setdefault(part, {}).setdefault(name, Counts()).add(found)
    _table("all", whole)
    _table("never tuned on", never)
    print("\n| wrong or missing of right notes, not sure, no proposal | " + " | ".join(ENGINES) + " |\n|---|---|---|")
    for part, found_of in sorted(parts.items()):
        print(f"| {part} | " + " | ".join(_told(found.numbers) for found in found_of.values()) + " |")
    for kind in KINDS:
        said = ", ".join(f"{name} {proposals[name][kind]}" for name in ENGINES)
        print(f"{kind}: proposals by {said} in {minutes[kind]} takes, {minutes[kind] * DISTURBER_S / 60:.1f} minutes")
    print(f"overdriven: proposals by {', '.join(f'{name} {overdriven[name]}' for name in ENGINES)} in "
          f"{overdriven['takes']} takes")  # fmt: skip


def _table(title, found_of):
    print(f"\n| {title} | " + " | ".join(ENGINES) + " |\n|---|---|---|")
    for row, (hits, tries) in ROWS.items():
        cells = [share(found.numbers[hits], found.numbers[tries]) for found in found_of.values()]
        print(f"| {row} | " + " | ".join(cells) + " |")
    off = [np.abs(np.array(found.onset_ms) - np.median(found.onset_ms)) for found in found_of.values()]
    print("| onsets, 95 % after bias, ms | " + " | ".join(f"{np.percentile(one, 95):.1f}" for one in off) + " |")
    cents = [np.abs(found.cents_off) for found in found_of.values()]
    told = [f"{np.median(one):.1f}, {np.percentile(one, 95):.1f}" for one in cents]
    print("| tuning, median and 95 %, cents | " + " | ".join(told) + " |")


def _told(n):
    unsure, silent = n["not sure"] / max(1, n["notes"]), (n["takes"] - n["claimed"]) / max(1, n["takes"])
    return f"{n['right called wrong'] + n['right called missing']} of {n['right']}, {unsure:.1%}, {silent:.0%}"


def main():
    """Runs, then tells."""
    parser = argparse.ArgumentParser(prog="python -m tests.listening.many_takes", description=__doc__)
    parser.add_argument("file", type=Path)
    parser.add_argument("--takes", type=int, default=3000)
    parser.add_argument("--seed", type=int, default=120_000)
    parser.add_argument("--soundfont", type=Path, action="append", default=[])
    parser.add_argument("--notes", type=Path, action="append", default=[], help="a folder of recorded notes")
    given = parser.parse_args()
    if given.takes:
        run(given.file, given.takes, given.seed, given.soundfont, given.notes)
    tell(given.file)


if __name__ == "__main__":
    from tests.listening.many_takes import main as of_the_module

    of_the_module()  # so that what is saved names its module
