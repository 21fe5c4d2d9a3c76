"""`neckwork listen`: hears a shape being played, says what sounded, and proposes a grade."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from drills.cli.output import echo, echo_json
from drills.cli.player_files import PlayerFiles, neck_options, player_of
from drills.errors import NotPlayableError
from drills.listening.engine_names import ENGINES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drills.listening.any_take import AnyEars
    from drills.listening.engine import Engine
    from drills.listening.heard import Proposal, Target, Verdict
    from drills.shapes.finder import ShapeFinder
    from drills.shapes.shape import Shape

__all__ = ["command"]

_MOST_S = 60.0


@click.command("listen")
@click.argument("card", required=False)
@click.argument("onward", metavar="[CARD]", required=False)
@click.option(
    "--strings", metavar="SET", help="String set, e.g. 543; the lowest that fits when left out. For two cards 654,543."
)
@click.option(
    "--form", default="arpeggio", metavar="FORM", help="arpeggio, scale, grip, or one such as arpeggio-from3."
)
@click.option("--wav", metavar="FILE", help="Listen to a recording of one pass.")
@click.option("--live", is_flag=True, help="Listen to the microphone until the shape has been played.")
@click.option("--tempo", type=click.IntRange(30, 300), help="Beats a minute of a click that was played along to.")
@click.option("--first-click", type=click.FloatRange(0, 600), default=0.0, help="Seconds to one of its beats.")
@click.option("--engine", type=click.Choice(ENGINES), help="What hears single notes; the best installed when left out.")
@click.option("--keep-takes", metavar="FOLDER", help="Record takes you are asked for, once somebody has agreed.")
@click.option("--delete-takes", metavar="FOLDER", help="Remove every take of a folder, and what lies beside them.")
@click.option("--plain", is_flag=True, help="Say it in lines for a screen reader.")
@neck_options
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
def command(
    card: str | None,
    onward: str | None,
    strings: str | None,
    form: str,
    wav: str | None,
    live: bool,
    tempo: int | None,
    first_click: float,
    engine: str | None,
    keep_takes: str | None,
    delete_takes: str | None,
    plain: bool,
    as_json: bool,
    **options: Any,
) -> None:
    """Hear CARD being played, a chord (Cmaj7), a mode (C Dorian) or a degree (ii of Bb), and propose a grade.

    Only the first pass counts, one note after the other; of a grip the first stroke, each note at its own pitch and
    beside it. On the diagram x is another note or none, and ? is a note
    that was not heard well: then no grade is proposed. Which string or finger played a note cannot be heard.
    A second CARD asks for a change: the one and then the other, of grips a stroke each, half a second apart or more.
    Without --strings the second is looked for where its root is nearest. Each is judged by itself, it is said how long
    after the first the second came, and what may be the first ringing on is held against nobody.

    Nothing is recorded or kept, and your own word stays the grade. Tried on simulated playing only.

    The comb hears single notes without anything installed besides. With `pip install 'neckwork[listen]'` two trained
    models listen too, and two of the three have to agree on a note (vote); --engine chooses one of them alone.

    --keep-takes FOLDER records you playing CARD, so that hearing can be judged on real playing: first it asks who
    agrees, you or for a minor a parent or guardian. It asks for right passes and for certain wrong ones; you say
    which to keep. Beside the sounds lies grades.csv, where a teacher may grade each take without knowing what was
    asked. The takes stay on this machine; --delete-takes FOLDER removes them all.

    \b
    Examples:
      neckwork listen Cm7b5 --strings 543 --wav cm7b5-played.wav
      neckwork listen Cm7b5 F7 --strings 543 --wav cm7b5-played.wav
      neckwork listen --delete-takes my-takes
    """
    from drills.cli.chosen_engine import chosen_engine
    from drills.listening.any_take import take_verdict
    from drills.listening.comb import in_reach
    from drills.listening.heard import ClickGrid
    from drills.listening.proposal import propose
    from drills.session.heard_take import target_of

    if delete_takes:
        from drills.cli.keeping_takes import remove_takes

        remove_takes(delete_takes)
        return
    if card is None:
        raise click.UsageError("say which CARD is played, e.g. Cm7b5")
    if not keep_takes and bool(wav) == live:
        raise click.UsageError("give --wav FILE for a recording or --live for the microphone, one of the two")
    player = player_of()
    finder = player.finder(player.neck(**options))
    shapes = _shapes(finder, [card] if onward is None else [card, onward], form, strings, player)
    shape = shapes[0]
    grip = shape.form.kind == "grip"
    if keep_takes and onward is not None:
        raise click.UsageError("takes are kept of one CARD at a time")
    if keep_takes and grip:
        raise NotPlayableError(f"{shape.name}: takes are kept of notes played one after another; choose an arpeggio")
    click_heard = ClickGrid(float(tempo), first_click) if tempo else None
    if keep_takes:
        from drills.cli.keeping_takes import record_takes

        record_takes(keep_takes, shape)
        return
    target = target_of(shapes, click_heard)
    if not in_reach(target.pitches):
        raise NotPlayableError(f"{_named(shapes)}: only notes from D1 to F#6 can be heard; choose another place")
    if grip and engine:
        raise click.UsageError("a grip is heard in one way only: leave --engine out")
    ears_engine = chosen_engine(engine, min(pitch.midi for pitch in finder.tuning.open))
    if not grip and not all(ears_engine.lowest <= midi <= ears_engine.highest for midi in target.pitches):
        raise NotPlayableError(
            f"{_named(shapes)}: the engine {ears_engine.name} does not reach its notes; choose --engine comb"
        )
    ears = _recorded(wav, shapes, ears_engine) if wav else _live(target, shapes, ears_engine)
    verdict = take_verdict(ears, target)
    proposal = propose(verdict, shapes=[(one.name, len(one.notes)) for one in shapes] if len(shapes) > 1 else ())
    if as_json:
        echo_json(_document(shapes, ears, target, verdict, proposal))
        return
    for line in _lines(player, shapes, finder.tuning.strings, target, verdict, proposal, plain):
        echo(line)


def _shapes(
    finder: ShapeFinder, cards: Sequence[str], form: str, strings: str | None, player: PlayerFiles
) -> tuple[Shape, ...]:
    """The shape of each card; without strings the second one lies where its root is nearest to that of the first."""
    from drills.neck.strings import parse_string_sets
    from drills.shapes.answers import shapes_named

    sets = [one.id for one in parse_string_sets(strings)] if strings and len(cards) > 1 else [strings]
    if len(sets) > len(cards):
        raise click.UsageError("--strings takes one set for both cards, or two: 654,543")
    shapes: list[Shape] = []
    for place, card in enumerate(cards):
        found, reasons = shapes_named(finder, card, form, sets[min(place, len(sets) - 1)], player.table)
        if not found:
            raise NotPlayableError(reasons[0] if reasons else f"{card[:40]}: nothing fits this neck")
        if shapes:
            root = shapes[0].root
            found.sort(key=lambda one: (abs(one.root.fret - root.fret), abs(one.root.string - root.string)))
        shapes.append(found[0])
    return tuple(shapes)


def _named(shapes: Sequence[Shape]) -> str:
    return " to ".join(shape.name for shape in shapes)


def _fresh_ears(rate: int, shapes: Sequence[Shape], engine: Engine) -> AnyEars:
    from drills.listening.any_take import start_ears

    return start_ears(rate, grip=shapes[0].form.kind == "grip", change=len(shapes) > 1, engine=engine)


def _recorded(path: str, shapes: Sequence[Shape], engine: Engine) -> AnyEars:
    from drills.microphone.wav_input import read_wav

    sound = read_wav(path)
    ears = _fresh_ears(sound.rate, shapes, engine)
    for frame in sound.frames():
        ears = ears.take(frame)
    return ears.finish()


def _live(target: Target, shapes: Sequence[Shape], engine: Engine) -> AnyEars:
    from drills.listening.any_take import take_over
    from drills.microphone.device import Microphone, load_sounddevice

    with Microphone(load_sounddevice()) as microphone:
        asked = ", then ".join(f"{shape.name}, strings {shape.strings}" for shape in shapes)
        echo(f"The microphone is open: play {asked}. Ctrl-C ends.", err=True)
        ears = _fresh_ears(microphone.rate, shapes, engine)
        for frame in microphone.frames():
            ears = ears.take(frame)
            if take_over(ears, target) or ears.now_s > _MOST_S:
                break
    return ears.finish()


def _lines(
    player: PlayerFiles, shapes: Sequence[Shape], strings: int, target: Target, verdict: Verdict,
    proposal: Proposal, plain: bool,
) -> list[str]:  # fmt: skip
    import shutil
    import sys

    from drills.configuration.diagram_style import DiagramStyle, draws_lines
    from drills.diagrams.answer import heading
    from drills.diagrams.grid import grid_of
    from drills.diagrams.heard_glyphs import with_glyphs
    from drills.diagrams.speech import say_chord
    from drills.diagrams.text import PLAIN, UNICODE, box_lines, neck_lines
    from drills.session.verdict_words import glyphs_of, shape_words

    reading = player.settings.reading if player.home.settings.exists() else DiagramStyle()
    told = [*shape_words(verdict, shapes), *_besides(shapes, target, verdict), proposal.why]
    if plain or reading.plain:
        said = told if len(shapes) == 1 else map(say_chord, told)
        return [*(say_chord(heading(shape)) + "." for shape in shapes), *said]
    glyphs = PLAIN if reading.ascii or not draws_lines(sys.stdout) else UNICODE
    lines: list[str] = []
    marks = glyphs_of(verdict)
    for shape in shapes:
        own, marks = marks[: len(shape.notes)], marks[len(shape.notes) :]
        grid = with_glyphs(grid_of(shape, strings, reading.labels, reading.left_handed), shape.notes, own)
        if reading.orientation == "box":
            drawing = box_lines(grid, glyphs)
        else:
            drawing = neck_lines(grid, shutil.get_terminal_size().columns, glyphs)
        lines += [heading(shape), "", *drawing, ""]
    return [*lines, *told]


def _came_s(target: Target, verdict: Verdict) -> float | None:
    """Seconds from the first shape to the second; None where no note of a second was heard."""
    from drills.listening.any_take import change_s
    from drills.listening.heard import Judged

    second = verdict.notes[target.onward_at :] if target.onward_at is not None else ()
    heard = any(one.judged in (Judged.RIGHT, Judged.WRONG) for one in second)
    return change_s(verdict, target) if heard else None


def _besides(shapes: Sequence[Shape], target: Target, verdict: Verdict) -> list[str]:
    from drills.listening.sound_doubts import tuning_words
    from drills.session.verdict_words import extras_words

    lines = extras_words(verdict)
    if (came_s := _came_s(target, verdict)) is not None:
        beats = f", {came_s * target.click.tempo_bpm / 60:.1f} beats" if target.click is not None else ""
        lines.append(f"The change came {came_s:.1f} s after{beats}.")
    off_click = verdict.off_click_ms
    off = [one for one in off_click if one is not None]
    if target.onward_at is not None and shapes[0].form.kind == "grip":
        # All notes of a stroke have one time.
        strokes = off_click[: target.onward_at], off_click[target.onward_at :]
        off = [known[0] for stroke in strokes if (known := [one for one in stroke if one is not None])]
    if off:
        lines.append("After the click, in ms: " + ", ".join(f"{one:+.0f}" for one in off) + ".")
    if verdict.tuning_cents is not None:
        lines.append(f"{tuning_words(verdict.tuning_cents)}.")
    return lines


def _document(
    shapes: Sequence[Shape], ears: AnyEars, target: Target, verdict: Verdict, proposal: Proposal
) -> dict[str, object]:
    from drills.listening.any_take import source_of

    shape, came_s = shapes[0], _came_s(target, verdict)
    document: dict[str, object] = {
        "shape": shape.name,
        "strings": str(shape.strings),
        "notes": [
            {
                "asked": one.asked,
                "judged": one.judged.value,
                "heard": one.heard,
                "at_s": None if one.at_s is None else round(one.at_s, 3),
            }
            for one in verdict.notes
        ],
        "extras": list(verdict.extras),
        "stops": list(verdict.stops),
        "off_click_ms": list(verdict.off_click_ms),
        "tuning_cents": verdict.tuning_cents,
        "doubts": list(verdict.doubts),
        "proposal": {"grade": proposal.grade, "slip": proposal.slip, "why": proposal.why},
        "engine": dict(zip(("name", "version"), source_of(ears), strict=True)),
        "tried_on": "simulated playing only",
    }
    if len(shapes) > 1:
        document["onward"] = {
            "shape": shapes[1].name,
            "strings": str(shapes[1].strings),
            "from_note": len(shape.notes) + 1,
            "after_s": None if came_s is None else round(came_s, 3),
        }
    return document
