"""Makes the cards of a deck for one neck: every card that fits, and everything left out with its reason."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import partial
from random import Random
from typing import Any, TypeVar

from drills.cards.card import Card
from drills.cards.deck import Block, Deck
from drills.cards.demand import demand_of
from drills.cards.focus import FOCUS_OPTIONS, Focus
from drills.cards.kinds import kind_of
from drills.cards.prompts.prompt import Asker, Question, Wanted, asker_of
from drills.cards.skills import look_alikes
from drills.cards.slips import BLAME
from drills.cards.stops_and_joints import StopsAndJoints, tune_cards
from drills.errors import DeckError, NotPlayableError
from drills.neck.neck import Neck
from drills.neck.strings import StringSet, core_sets
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import ARPEGGIO, USUAL_FORMS, Form, parse_form, usual_form
from drills.shapes.same_place import grip_inside, mode_over
from drills.shapes.shape import Shape
from drills.theory.chord import Chord
from drills.theory.key import Key
from drills.theory.note import Note
from drills.theory.quality import Quality, QualityTable, shipped_qualities
from drills.theory.spelling import free_roots
from scheduler.card import CardSpec
from scheduler.days.practice_day import DAY_STARTS_AT_HOUR
from scheduler.planning.rules import PREFERENCES, TeachingRules

__all__ = ["LESSONS", "LeftOut", "Material", "TuneReader", "gather"]

_Value = TypeVar("_Value")

TuneReader = Callable[[Block, Neck, QualityTable], StopsAndJoints]
"""Finds the stops and joints of the changes that a block names, on a neck."""

FRIENDLY_ROOTS = frozenset({0, 5, 10, 7})
"""Pitch classes of C F Bb G: the roots a quality is first met on where the deck names none (rule B3b, common
practice); where it does, as many of its first."""

EASY_REACH_MM = 82.0
"""A shape is first met where the hand reaches no farther than a finger a fret takes from the fourth fret up on a
648 mm scale; a wider one as high as it goes (rule E: the same stretch is easier higher up; common practice)."""

NEW_PER_SESSION = {"form": 2, "root": 4}

LESSONS = ("form", "root", "ear")
"""Kinds of skill that are shown in a lesson before they are asked, in the order a lesson speaks of them (rule A1)."""

LESSONS_RUNNING = (1, 2)
"""Most lessons one after another, in a first session and later (rule B8, 2)."""

ONE_AT_A_TIME = {"form": 2}
"""A first session asks a shape at two more roots before it shows the next (rule B8, 1)."""

EASY_FIRST = {"form": 3}
"""A form's first three questions are where the hand is easiest (rule B8, 5)."""

_BLOCK_STAGES = 1_000_000
"""Stages kept for one block of a deck."""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A prompt that does not fit, and why."""

    prompt: str
    reason: str


class Material:
    """The cards of a deck on a neck.

    cards: by id, in the order of introduction. left_out: what does not fit.
    finder: answers every card. deck: where it comes from. table: the qualities, as the deck names them.
    """

    def __init__(
        self,
        deck: Deck,
        finder: ShapeFinder,
        cards: Iterable[Card],
        left_out: Iterable[LeftOut],
        table: QualityTable | None = None,
    ):
        self.deck = deck
        self.finder = finder
        self.table = table or shipped_qualities()
        self.cards: dict[str, Card] = {card.id: card for card in cards}
        self.left_out = tuple(left_out)

    def question(self, card: Card, chance: Random) -> Question:
        """A card as it is asked this time."""
        return asker_of(card.kind).question(card, self.finder, self.table, chance)

    @property
    def away(self) -> bool:
        """Whether no card needs the guitar."""
        return all(kind_of(card.kind).away for card in self.cards.values())

    def answer(self, card: Card) -> Shape:
        """The shape a card asks for, of cards with chord, form and strings."""
        return self.finder.find(*card.shape_asked)

    def after(self, card: Card) -> Shape | None:
        """The shape of the chord a transition goes to, or None for other cards."""
        return self.answer(card.to) if card.to is not None else None

    def grip(self, card: Card) -> Shape | None:
        """The grip that lives inside a card's arpeggio, or None for other forms or when none fits."""
        return grip_inside(self.finder, self._root_arpeggio(card)) if self._is_arpeggio(card) else None

    def mode(self, card: Card) -> Shape | None:
        """The mode laid over a card's arpeggio, or None for other forms or when none fits."""
        if not self._is_arpeggio(card):
            return None
        name = card.key.mode(card.degree).name if card.key else None
        return mode_over(self.finder, self._root_arpeggio(card), name)

    def _is_arpeggio(self, card: Card) -> bool:
        return card.is_shape and card.own_form.kind == "arpeggio"

    def _root_arpeggio(self, card: Card) -> Shape:
        shape = self.answer(card)
        if shape.form == ARPEGGIO:
            return shape
        try:
            return self.finder.find(card.own_chord, ARPEGGIO, StringSet(card.own_strings.numbers[:3]))
        except NotPlayableError:
            return shape

    def alternates(self, card: Card) -> list[Shape]:
        """Other fingerings and layouts of a card's answer."""
        return self.finder.alternates(*card.shape_asked)

    def specs(self) -> list[CardSpec]:
        """The cards as the planner sees them."""
        return [_spec(card) for card in self.cards.values()]

    def rules(
        self,
        *,
        rested: frozenset[str] = frozenset(),
        day_starts_at_hour: float = DAY_STARTS_AT_HOUR,
        practice_every_days: float = 1.0,
    ) -> TeachingRules:
        """The teaching rules of a practice session with these cards (rules B6, B7)."""
        forms = sorted({skill for card in self.cards.values() for skill in card.skills if skill.startswith("form:")})
        return replace(
            PREFERENCES,
            in_stage_order=self.deck.in_order,
            new_per_session=NEW_PER_SESSION | self.deck.limits,
            look_alikes=look_alikes(forms),
            blame=BLAME,
            longest_gap_kinds=("form", "root"),
            shown_kinds=frozenset(LESSONS),
            lessons_running=LESSONS_RUNNING,
            one_at_a_time=ONE_AT_A_TIME,
            easy_first=EASY_FIRST,
            rested=rested,
            day_starts_at_hour=day_starts_at_hour,
            practice_every_days=practice_every_days,
        )


def gather(
    deck: Deck,
    neck: Neck,
    *,
    focus: Focus = Focus(),
    table: QualityTable | None = None,
    locks: Mapping[str, tuple[int, ...]] | None = None,
    today: date | None = None,
    tune_reader: TuneReader | None = None,
    finder: ShapeFinder | None = None,
) -> Material:
    """Every card of a deck that fits a neck, focused, with what is left out and why.

    locks: the player's fingers by form signature; they win over the deck's.
    today: the day for which weekly releases count; None releases everything.
    tune_reader: reads the changes of blocks that name some, see `drills.tunes.tune_deck.tune_reader`.
    finder: of this neck, without locks, whose shapes several decks share; a deck with a neck or fingerings of its own
    does not use it.
    Raises DeckError when nothing at all is asked for (an empty focus), or changes have no reader.
    """
    table = _named(table or shipped_qualities(), deck.names)
    made = partial(_made, neck=neck, table=table, locks=locks, today=today, tune_reader=tune_reader)
    material = made(deck, focus, finder=finder)
    if material.cards or material.left_out:
        return material
    if not deck.released(today) and deck.starts is not None:
        first = min(block.from_week for block in deck.blocks) - 1
        raise DeckError(f"deck {deck.name}: nothing is released before {deck.starts + timedelta(weeks=first)}")
    raise DeckError(f"deck {deck.name}: {_what_empties(deck, focus, lambda *one: bool(made(*one).cards))}")


def _made(
    deck: Deck, focus: Focus, *, neck: Neck, table: QualityTable, locks: Mapping[str, tuple[int, ...]] | None,
    today: date | None, tune_reader: TuneReader | None, finder: ShapeFinder | None = None,
) -> Material:  # fmt: skip
    """Every card, which may be none."""
    neck = _own_neck(neck, deck)
    if finder is None or locks or deck.neck or deck.fingerings:
        finder = ShapeFinder(neck, locks)
        finder.locks = _deck_locks(deck, finder, table) | finder.locks
    crossed = (block for block in deck.released(today) if not block.changes)
    blocks = _focused(_with_core_sets(crossed, finder), focus)
    cards: dict[str, Card] = {}
    left_out: dict[str, LeftOut] = {}
    strain: dict[str, float] = {}  # of cards whose order within a stage is not their teacher's own
    for asker, wanted in _cross(blocks, table, focus):
        for card in asker.drafts(wanted, finder):
            if card.id in cards or card.id in left_out:
                continue
            try:
                cards[card.id] = replace(card, skills=asker.skills(card, finder), seconds=_seconds(card, finder))
                if not wanted.ordered and card.is_shape:
                    shape = finder.find(*card.shape_asked)
                    strain[card.id] = _strain(shape, finder)
                    if not kind_of(card.kind).away:
                        cards[card.id] = replace(cards[card.id], demand=demand_of(shape, finder.neck))
            except NotPlayableError as error:
                left_out[card.id] = LeftOut(card.prompt, str(error))
    for number, block in enumerate(block for block in deck.released(today) if block.changes):
        if tune_reader is None:
            raise DeckError(f"deck {deck.name}: it names changes, and nothing here reads them; give a tune reader")
        tune, stage = (
            tune_reader(replace(block, string_sets=focus.strings), neck, table),
            (len(blocks) + number) * _BLOCK_STAGES,
        )
        asked, refused = tune_cards(tune, finder, focus, stage, block.prompts)
        cards |= {card.id: card for card in asked if card.id not in cards}
        left_out |= {prompt: LeftOut(prompt, reason) for prompt, reason in refused.items()}
    ordered = sorted(cards.values(), key=lambda card: (card.stage, strain.get(card.id, 0.0)))
    return Material(deck, finder, ordered, left_out.values(), table)


def _what_empties(deck: Deck, focus: Focus, makes_cards: Callable[[Deck, Focus], bool]) -> str:
    """Which one part of a focus, or else of a block of the deck, leaves nothing to ask, found by leaving it out."""
    # The deck is tried whole first: what every focus leaves empty is not the focus's fault.
    if focus and makes_cards(deck, Focus()):
        fields = [name for name in focus.__dataclass_fields__ if getattr(focus, name)]
        alone = (
            [name for name in fields if makes_cards(deck, replace(focus, **{name: ()}))] if len(fields) > 1 else fields
        )
        told = " or ".join(FOCUS_OPTIONS[name] for name in alone)
        why = (
            f"{told} empties it" if alone else f"{', '.join(FOCUS_OPTIONS[name] for name in fields)} together empty it"
        )
        return f"the focus leaves nothing to ask: {why}; widen it or choose another deck"
    for number, block in enumerate((block for block in deck.blocks if not block.changes), 1):
        for key in ("keys", "qualities", "roots", "string_sets", "forms", "prompts"):
            if getattr(block, key) and makes_cards(replace(deck, blocks=(_without(block, key),)), Focus()):
                return f"its material makes no card: in block {number} the line {key} leaves nothing of the others"
    return "its material makes no card; give it qualities or keys, and string sets they fit"


def _without(block: Block, key: str) -> Block:
    """A block with one of its lists left empty."""
    empty: dict[str, Any] = {key: ()}
    return replace(block, **empty)


def _spec(card: Card) -> CardSpec:
    """A card as the planner sees it. Sets of strings are opened one after another only where the hand plays."""
    area = card.own_strings.id if card.is_shape and not kind_of(card.kind).away else ""
    return CardSpec(
        card.id, card.skills, card.weight, card.seconds, card.stage, card.apart, card.alike,
        ("root",) if card.tells_root else (), area, card.demand,
    )  # fmt: skip


def _own_neck(neck: Neck, deck: Deck) -> Neck:
    """The neck with what a deck says of it."""
    if not deck.neck:
        return neck
    return replace(
        neck,
        top_fret=deck.neck.get("top_fret", neck.top_fret),
        open_roots=bool(deck.neck.get("open_roots", neck.open_roots)),
        alternates=bool(deck.neck.get("alternates", neck.alternates)),
    )


def _seconds(card: Card, finder: ShapeFinder) -> float:
    """Expected seconds of a card, by how many notes there are to play where that is what it asks.

    Raises NotPlayableError when it does not fit the neck.
    """
    kind = kind_of(card.kind)
    if kind.module != "name":  # a root to find, a grid to read, several places: not one form to play
        return card.seconds
    return kind.seconds_for(card.own_form, len(finder.find(*card.shape_asked).notes))


def _strain(shape: Shape, finder: ShapeFinder) -> float:
    """How far a shape reaches beyond what is easy, in millimetres; 0 for easy ones.

    An open string counts with the nut: the hand does not reach for it, but it breaks the movable form (rule C2).
    """
    return max(0.0, finder.neck.reach_mm(min(shape.frets), max(shape.frets)) - EASY_REACH_MM)


def _named(table: QualityTable, names: Mapping[str, str]) -> QualityTable:
    """The table with the teacher's preferred symbols first."""
    if not names:
        return table
    return QualityTable(
        tuple(
            replace(quality, symbols=(names[quality.name], *(s for s in quality.symbols if s != names[quality.name])))
            if quality.name in names
            else quality
            for quality in table
        )
    )


def _deck_locks(deck: Deck, finder: ShapeFinder, table: QualityTable) -> dict[str, tuple[int, ...]]:
    """The deck's fingerings by form signature, found on the first root where the form fits."""
    from drills.neck.strings import parse_strings

    found = {}
    for (form_id, quality_name, strings_id), fingers in deck.fingerings.items():
        quality = table.named(quality_name)
        for root in free_roots(quality):
            try:
                shape = finder.find(Chord(root, quality), parse_form(form_id), parse_strings(strings_id))
            except NotPlayableError:
                continue
            if len(fingers) != len(shape.notes):
                raise DeckError(
                    f"deck {deck.name}, fingerings, {form_id} {quality_name} {strings_id}: expected "
                    f"{len(shape.notes)} fingers, got {len(fingers)}"
                )
            if 0 not in shape.fingers:
                if not finder.can_play(shape, fingers):
                    raise DeckError(
                        f"deck {deck.name}, fingerings, {form_id} {quality_name} {strings_id}: no hand plays "
                        f"{' '.join(map(str, fingers))} there; {' '.join(map(str, shape.fingers))} would do"
                    )
                found[shape.signature] = fingers
                break
    return found


def _with_core_sets(blocks: Iterable[Block], finder: ShapeFinder) -> tuple[Block, ...]:
    """Blocks that ask for the tuning's core sets, with those sets written out."""
    core = core_sets(finder.tuning)
    return tuple(
        replace(block, string_sets=tuple(dict.fromkeys((*core, *block.string_sets)))) if block.core else block
        for block in blocks
    )


def _focused(blocks: Iterable[Block], focus: Focus) -> list[Block]:
    """Blocks narrowed by a focus; what no block holds replaces what they hold."""
    blocks = list(blocks)
    if focus.added:
        blocks = [
            replace(b, qualities=tuple(dict.fromkeys((*b.qualities, *focus.added)))) if b.qualities else b
            for b in blocks
        ]
    if focus.forms:
        blocks = _narrowed(
            blocks, focus.forms, lambda block: block.forms, lambda block, forms: replace(block, forms=forms),
            lambda form: form in focus.forms or form.partition("-")[0] in focus.forms,
        )  # fmt: skip
    if focus.strings:
        blocks = _narrowed(
            blocks, focus.strings, lambda block: block.string_sets,
            lambda block, sets: replace(block, string_sets=sets), lambda strings: strings in focus.strings,
        )  # fmt: skip
    if focus.prompts:
        blocks = _narrowed(
            blocks, focus.prompts, lambda block: block.prompts,
            lambda block, prompts: replace(block, prompts=prompts), lambda prompt: prompt in focus.prompts,
        )  # fmt: skip
    if focus.qualities:
        known = {quality for block in blocks for quality in block.qualities}
        missing = tuple(quality for quality in focus.qualities if quality not in known)
        blocks = [
            replace(b, qualities=focus.qualities)
            if not b.qualities
            else replace(b, qualities=tuple(q for q in b.qualities if q in focus.qualities) + missing)
            for b in blocks
        ]
        blocks = [block for block in blocks if block.qualities]
    return blocks


def _narrowed(
    blocks: list[Block],
    wanted: tuple[_Value, ...],
    held: Callable[[Block], tuple[_Value, ...]],
    holding: Callable[[Block, tuple[_Value, ...]], Block],
    matches: Callable[[_Value], bool],
) -> list[Block]:
    """Blocks with only what matches of one of their fields; where none holds any, all hold what is wanted.

    held: reads the field. holding: the block with other values in it.
    """
    kept = [tuple(value for value in held(block) if matches(value)) for block in blocks]
    if not any(kept):
        return [holding(block, wanted) for block in blocks]
    return [holding(block, values) for block, values in zip(blocks, kept, strict=True) if values]


def _cross(blocks: Iterable[Block], table: QualityTable, focus: Focus) -> Iterator[tuple[Asker, Wanted]]:
    """Every combination of the blocks in the order of introduction."""
    roots = {root.pitch_class: root for root in focus.roots}
    for number, block in enumerate(blocks):
        for set_index, strings in enumerate(block.string_sets):
            for form_index, form_name in enumerate(block.forms):
                for chord, key, degree, order in _chords(block, table, focus):
                    if roots:
                        if chord.root.pitch_class not in roots:
                            continue
                        if key is None:  # asked for as Bb, it is called Bb
                            chord = Chord(roots[chord.root.pitch_class], chord.quality)
                    form = _form(form_name, chord.quality, key, degree)
                    if form is None:
                        continue
                    stage = number * _BLOCK_STAGES + (set_index * 100 + form_index) * 100 + order
                    wanted = Wanted(form, chord, strings, key, degree, stage, key is not None or bool(block.roots))
                    for prompt in block.prompts:
                        yield asker_of(prompt), wanted


def _chords(block: Block, table: QualityTable, focus: Focus) -> Iterator[tuple[Chord, Key | None, int, int]]:
    """Chords of a block with the key and degree they come from, and their order of introduction."""
    keys = focus.keys or block.keys
    if keys:
        named = [table.named(name) for name in block.qualities]
        wanted = {quality.name for quality in named}
        # Triads are asked of a key by naming them: its chords are then those of three notes.
        size = 3 if named and all(len(quality.intervals) == 3 for quality in named) else 4
        for number, key in enumerate(keys):
            for degree, chord in enumerate(key.chords(size), 1):
                if not wanted or chord.quality.name in wanted:
                    yield Chord(chord.root, table.named(chord.quality.name)), key, degree, number
        return
    for index, name in enumerate(block.qualities):
        quality = table.named(name)
        # A deck that names its roots is taken at its word, spelling and order included.
        roots = block.roots or sorted(free_roots(quality), key=_by_fourths)
        first = {root.pitch_class for root in block.roots[: len(FRIENDLY_ROOTS)]} or FRIENDLY_ROOTS
        for root in roots:
            # Each quality is met on a few friendly roots before any of them goes round all twelve. Two share a
            # stage, as many as a session may bring: alone, the first could only be asked again and again.
            friendly = root.pitch_class in first
            yield Chord(root, quality), None, 0, index // NEW_PER_SESSION["form"] + (0 if friendly else 50)


def _by_fourths(root: Note) -> int:
    return root.pitch_class * 5 % 12


def _form(name: str, quality: Quality, key: Key | None, degree: int) -> Form | None:
    if name not in USUAL_FORMS:
        return parse_form(name)
    mode = key.mode(degree).name if key else (quality.modes or ("",))[0]
    return usual_form(name, mode) if mode else None
