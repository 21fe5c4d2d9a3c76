"""`neckwork handout`: pages to print, with a blank to fill in and its key."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from drills.cli.files import OUT_FILE
from drills.cli.output import echo
from drills.cli.page_marks import MarkType, refuse_idle_marks
from drills.cli.player_files import NECK_FIELDS, focus_options, kept_fingers, minor_remarks, neck_options, player_of
from drills.configuration.diagram_style import FINGERS_FIRST
from drills.configuration.home import expanded
from drills.safe_text import one_line
from scheduler.atomic_write import write_whole

if TYPE_CHECKING:
    from datetime import datetime

    from drills.cards.focus import Focus
    from drills.cli.player_files import PlayerFiles
    from drills.diagrams.picture import Picture
    from drills.neck.neck import Neck
    from drills.paper.page_style import Footer, PageStyle
    from drills.paper.sheet import Sheet

__all__ = ["command", "write_handout"]

_WITHOUT_QUALITY = ("key", "overview", "neck", "place", "boxes", "necks", "tab", "bars", "trial")
_WITHOUT_BOX = ("neck", "necks", "tab", "bars", "trial")
_NO_SHEET = ("boxes", "necks", "tab", "bars", "trial")
_LAYOUTS = (
    "sets", "set", "key", "overview", "place", "neck", "weakest", "deck", "boxes", "necks", "tab", "bars", "trial",
)  # fmt: skip


@click.command("handout")
@click.argument("layout", type=click.Choice(_LAYOUTS))
@click.argument("names", nargs=-1)
@focus_options
@neck_options
@click.option("--output", "-o", type=OUT_FILE, help=".pdf, .svg, .txt, or .zip for a pack with sounds; else text.")
@click.option(
    "--answers",
    type=click.Choice(["key", "blank", "both"]),
    default="key",
    show_default=True,
    help="With answers, to fill in, or each blank with its key on the back.",
)
@click.option("--paper", type=click.Choice(["A4", "Letter", "phone"]), default="A4", show_default=True)
@click.option("--large", is_flag=True, help="Large print.")
@click.option("--labels", type=click.Choice(FINGERS_FIRST), default="fingers", show_default=True)
@click.option("--box", is_flag=True, default=None, help="Upright chord boxes.")
@click.option("--left-handed", is_flag=True, default=None, help="Mirror the diagrams.")
@click.option("--teacher", metavar="NAME", default="", help="Stands in the footer.")
@click.option("--title", metavar="TEXT", default="", help="Instead of the page's own title.")
@click.option("--note", metavar="TEXT", default="", help="Your words to the student, under the title.")
@click.option(
    "--mark",
    "marks",
    type=MarkType(),
    multiple=True,
    help="Circle a note, such as 6/8; 6/8-5/10 draws an arrow. Again for more.",
)
@click.option("--deck", metavar="DECK", help="For weakest and deck: which deck.")
@click.option("--phrase", is_flag=True, help="For place: a short line in the same place too.")
@click.option("--count", type=click.IntRange(1, 50), default=5, show_default=True, help="For weakest: how many.")
@click.option("--columns", type=click.IntRange(1, 20), help="For empty paper.")
@click.option("--rows", type=click.IntRange(1, 20), help="For empty paper.")
def command(layout: str, names: tuple[str, ...], output: str | None, **options: Any) -> None:
    """Print one page, one idea.

    sets: one quality on several string sets. set: one string set, several qualities. key:
    seven chords, a page a set. overview: a key on one page. place: grip, arpeggio and mode
    of the chords NAMES side by side. neck: every tone of NAMES. weakest: what you most need.
    deck: a booklet of a whole deck. boxes, necks, tab, bars: empty paper. trial: a sheet for
    players who try neckwork for two weeks.

    --answers both prints each page blank with its key on the back; --large is for a music stand, --paper Letter
    for America; a name that ends in .zip packs pages and sounds together, .txt reads aloud. For left-handers
    the drawings are mirrored.

    \b
    Examples:
      neckwork handout sets --quality m7b5 --answers both -o m7b5.pdf
      neckwork handout overview --key Eb --paper phone -o eb.svg
      neckwork handout place Dm7 G7 Cmaj7 --strings 543 --box --left-handed -o places.pdf
      neckwork handout neck Bb7 --labels notes
      neckwork handout sets --root C --mark 6/8 --note "Say the notes." -o c.pdf
      neckwork handout deck --deck grips-drop2 --root C -o booklet.pdf
      neckwork handout tab --rows 8 -o tab.pdf
      neckwork handout trial -o trial.pdf
    """
    from dataclasses import replace
    from datetime import datetime

    from drills.neck.inlays import inlay_dots
    from drills.paper.handouts import handout_text
    from drills.paper.page_style import Footer, PageStyle

    if options["quality"] and layout in _WITHOUT_QUALITY:
        raise click.UsageError(
            f"--quality: {layout} takes its chords from elsewhere; sets, set, weakest and deck take it"
        )
    if options["box"] and layout in _WITHOUT_BOX:
        raise click.UsageError(f"--box: {layout} is not drawn in boxes; leave it out")
    if options["phrase"] and layout != "place":
        raise click.UsageError(f"--phrase: {layout} has no place for one; place shows it")
    title, note, marks = one_line(options["title"]), one_line(options["note"]), options["marks"]
    if layout in _NO_SHEET and (title or note or marks):
        raise click.UsageError(f"--title, --note and --mark: {layout} has no room for them; leave them out")
    player = player_of()
    neck = player.neck(**{field: options.pop(field) for field in NECK_FIELDS})
    reading = player.settings.reading
    box, left_handed = options["box"], options["left_handed"]
    style = PageStyle(
        options["paper"],
        options["large"],
        "box" if box or (box is None and reading.orientation == "box") else "neck",
        options["labels"],
        reading.left_handed if left_handed is None else left_handed,
        inlay_dots(neck),
        tuple(mark[0] for mark in marks if len(mark) == 1),
        tuple(mark for mark in marks if len(mark) == 2),
    )
    at = datetime.now().astimezone().replace(microsecond=0)
    teacher = one_line(options["teacher"])
    day = f"{at.day} {at:%B %Y}"
    footer = Footer(str(neck.sounding), neck.top_fret, teacher, day, teacher)
    if layout in ("boxes", "necks", "tab", "bars"):
        _empty(layout, style, footer, neck, options, output, at)
        return
    if layout == "trial":
        _trial(style, Footer(teacher=teacher, date=day), output, at)
        return
    sheets = _sheets(player, layout, names, neck, options, at)
    refuse_idle_marks(sheets, marks)
    if title:
        sheets = [replace(one, title=title if len(sheets) == 1 else f"{title}: {one.title}") for one in sheets]
    sheets = [replace(one, note=note) for one in sheets]
    if output is None:
        echo(handout_text(sheets, style, footer, options["answers"]), nl=False)
        return
    write_handout(sheets, style, footer, options["answers"], output, at, title or _deck_title(player, layout, options))


def _deck_title(player: PlayerFiles, layout: str, options: dict[str, Any]) -> str:
    return player.deck(options["deck"]).title if layout == "deck" else ""


def _sheets(
    player: PlayerFiles, layout: str, names: tuple[str, ...], neck: Neck, options: dict[str, Any], at: datetime
) -> list[Sheet]:
    from drills.cards.focus import parse_focus
    from drills.paper.sheet_requests import asked_sheets

    focus = parse_focus(
        player.table, **{field: options[field] for field in ("strings", "quality", "root", "key", "form", "prompt")}
    )
    for remark in minor_remarks(focus.keys):
        echo(remark, err=True)
    if layout in ("weakest", "deck"):
        return _of_deck(player, layout, neck, focus, options, at)
    return asked_sheets(player.finder(neck), layout, player.table, names, focus, phrase=options["phrase"])


def _of_deck(
    player: PlayerFiles, layout: str, neck: Neck, focus: Focus, options: dict[str, Any], at: datetime
) -> list[Sheet]:
    from drills.cards.material import gather
    from drills.paper.layouts import booklet, shapes_sheet
    from drills.paper.sheet_requests import least_likely_cards
    from scheduler.planning.planner import Planner

    strings = neck.tuning.strings
    with player.read_log() as log:
        material = gather(
            player.deck(options["deck"]), neck, focus=focus, table=player.table, locks=kept_fingers(log.standing()),
            today=at.date(), tune_reader=player.tune_reader,
        )  # fmt: skip
        if layout == "deck":
            for left in material.left_out:
                echo(f"left out: {left.reason}", err=True)
            shapes = (material.answer(card) for card in material.cards.values() if card.is_shape and card.to is None)
            # Several prompts may ask for one shape.
            return booklet(dict.fromkeys(shapes), strings, title=material.deck.title)
        rules = material.rules(day_starts_at_hour=player.settings.practice.day_starts_at)
        planner = Planner(material.specs(), 0, (), rules, player.constants)
        player.bring_forward(log, planner=planner)
    played = (card for card in material.cards if material.cards[card].to is None and not planner.unmet(card))
    weak = least_likely_cards(material.cards, planner, played, at, options["count"])
    idea = "Slowly, from the root; then in time; then in a tune."
    return [
        shapes_sheet([material.answer(card) for card in weak], strings, f"{len(weak)} least likely to come clean", idea)
    ]


def _empty(
    kind: str,
    style: PageStyle,
    footer: Footer,
    neck: Neck,
    options: dict[str, Any],
    output: str | None,
    at: datetime,
) -> None:
    from drills.diagrams.clefs import clef_of
    from drills.paper.empty import empty_page

    page = empty_page(
        kind, style, footer, strings=neck.tuning.strings, columns=options["columns"] or 0, rows=options["rows"] or 0,
        clef_name=clef_of(neck.tuning),
    )  # fmt: skip
    _write_page(page, "empty paper", output or "", at)


def _trial(style: PageStyle, footer: Footer, output: str | None, at: datetime) -> None:
    from drills.paper.trial_sheet import trial_page, trial_text

    if output is None:
        echo(trial_text(), nl=False)
    elif expanded(output).suffix.lower() == ".txt":
        write_whole(expanded(output), trial_text())
    else:
        _write_page(trial_page(style, footer), "a trial sheet", output, at)


def _write_page(page: Picture, what: str, output: str, at: datetime) -> None:
    """One page as SVG or PDF; what: its name where the ending is another."""
    path = expanded(output)
    ending = path.suffix.lower()
    if ending == ".svg":
        from drills.diagrams.picture_svg import svg_text

        write_whole(path, svg_text(page, fonts=True))
    elif ending == ".pdf":
        from drills.diagrams.picture_pdf import pdf_bytes

        write_whole(path, pdf_bytes([page], at=at))
    else:
        raise click.UsageError(f"{what} goes to a file: expected -o FILE.pdf or FILE.svg, got {output or None!r}")
    echo(f"{output}: 1 page", err=True)


def write_handout(
    sheets: list[Sheet], style: PageStyle, footer: Footer, version: str, output: str, at: datetime, title: str = ""
) -> None:
    """Writes the sheets in the format of the file's name. title: of a PDF, the first sheet's if empty."""
    from drills.paper.handouts import handout_pdf, handout_svgs, handout_text

    path = expanded(output)
    ending = path.suffix.lower()
    if ending == ".pdf":
        write_whole(path, handout_pdf(sheets, style, footer, version, at, title))
    elif ending == ".svg":
        pages = handout_svgs(sheets, style, footer, version)
        for number, page in enumerate(pages, 1):
            name = path if len(pages) == 1 else path.with_name(f"{path.stem}-{number}{path.suffix}")
            write_whole(name, page)
    elif ending == ".txt":
        write_whole(path, handout_text(sheets, style, footer, version))
    elif ending == ".zip":
        from drills.paper.pack import pack_bytes

        write_whole(path, pack_bytes(sheets, style, footer, at))
    else:
        raise click.UsageError(f"-o {output}: expected a name ending in .pdf, .svg, .txt or .zip")
    diagrams = sum(len(sheet.drawn) for sheet in sheets)
    echo(f"{output}: {diagrams} diagram{'s' * (diagrams != 1)}", err=True)
    for sheet in sheets:
        for reason in sheet.left_out:
            echo(f"left out: {reason}", err=True)
