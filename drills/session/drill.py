"""Runs one session: it holds the state and carries out effects on log and planner. It knows no keys and no screen."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta, timezone
from functools import partial
from random import Random
from typing import TYPE_CHECKING, Literal

from drills.cards.card import Card
from drills.cards.kinds import kind_of
from drills.cards.material import LESSONS, Material
from drills.cards.prompts.prompt import Question
from drills.cards.slips import checked_slip
from drills.cards.sore_hand import SoreStretch, left_out_for, sore_ticket, stretch_of
from drills.errors import AnswerError, CardPartError
from drills.lines.place_question import question_of
from drills.session import effects, machine
from drills.session.choosing import Chooser, from_planner, most_telling
from drills.session.key_bindings import GRADE_REST_S
from drills.session.limits import session_limits
from drills.session.opening import placed
from drills.session.player_history import PlayerHistory
from drills.session.returning import FRAGILE_WEIGHT, come_back
from drills.session.session_state import DAILY, PLACEMENT, ROUND, Phase, SessionState, TypedVerdict
from drills.session.sounding import Listener, two_five_one
from drills.session.writer import Writer
from drills.shapes.shape import Shape, fingers_text
from scheduler.days.ask_of_day import Ask, AskOfDay
from scheduler.days.practice_day import EPOCH_ORDINAL, practice_day_number
from scheduler.grade import Grade
from scheduler.log.events import Flag, Lock, Rest, Slip, Ticket, Undo
from scheduler.log.review_log import ReviewLog
from scheduler.planning.planner import Planner
from scheduler.review import Review, new_id

if TYPE_CHECKING:
    from drills.session.announcer import Announcer
    from drills.session.session_ears import SessionEars
    from drills.session.session_tune import Tune

__all__ = ["ANOTHER_TICKET", "CAUTION_TICKET", "PLACED_TICKET", "Drill"]

CAUTION_TICKET = "seen:caution"
"""The log's mark that the safety page has been shown."""

ANOTHER_TICKET = "another:day"
"""The log's mark of the practice day on which another ten was last taken."""

PLACED_TICKET = "placed"
"""The log's mark that a placement found a player who may be asked any root at once."""

WARM_UP_FRET = 7
"""From here up the hand stretches least (drills/RULES.md, E)."""

TICK_S, QUICK_TICK_S = 0.5, 0.05
"""How often passing time is looked at, in seconds: for the end of the musical minute and news of the sound, and for
what is heard hands free."""

USUAL_TEMPO_BPM = 60.0
"""A note a second: slow (rule B6)."""


class Drill:
    """One sitting at a deck.

    material, planner, log: what is asked, who chooses, where it is written. clock: the
    present time with its UTC offset. minutes: length of the session. caution: whether
    the cautions are shown before the first card. kind: see `drills.session.session_state`. chooser: who says what
    comes next, the planner unless given. tempo_of: beats a minute written on a card, or None
    for no click. listener: sound, or None. last: when the latest review was, for a return
    after days away. tickets: the log's tickets in effect. seconds: a clock that is never set,
    in seconds; that of `clock` unless given. next_day: the player's next practice day after a
    moment, None when no more are planned; every day unless given. tune: what the cards are from,
    or None. called: who plays, in words, where more than one do. ears: what hears the playing, or None.
    announcer: what says each moment by a voice, or None.

    stretch, left_out_for_it: what was played when the hand hurt in this sitting, and how many cards it leaves out.

    audible: whether anything can be heard, as far as is known; keys for sound are offered only then.

    Every graded review is on disk before `press` returns; while the log cannot be written, `Writer` keeps it and the
    screen says so.
    """

    def __init__(
        self,
        material: Material,
        planner: Planner,
        log: ReviewLog,
        clock: Callable[[], datetime],
        *,
        minutes: float = 10.0,
        caution: bool = False,
        kind: str = DAILY,
        chooser: Chooser | None = None,
        tempo_of: Callable[[Card], float | None] = lambda _: None,
        listener: Listener | None = None,
        last: datetime | None = None,
        tickets: Mapping[str, str] | None = None,
        seconds: Callable[[], float] | None = None,
        next_day: Callable[[datetime], date | None] = lambda now: now.date() + timedelta(days=1),
        tune: Tune | None = None,
        called: str = "",
        ears: SessionEars | None = None,
        announcer: Announcer | None = None,
    ):
        self.material, self.planner, self.log, self.clock = material, planner, log, clock
        self._asks: tuple[object, list[Ask]] = (None, [])
        self.writer = Writer(log)
        self.history = PlayerHistory(log, planner, clock)
        self._tempo_of, self.listener, self.tune, self.called = tempo_of, listener, tune, called
        self.ears, self.announcer = ears, announcer
        self.session = new_id()
        self._skipped: frozenset[str] = frozenset()
        self._asked = 0  # questions so far: each is made with a chance of its own
        now = clock()
        self._epoch, self._seconds, self.next_day = now, seconds, next_day
        self._start_s = seconds() if seconds else 0.0
        planner.begin(self.session, now)
        self.returned = come_back(planner, last, now, minutes) if kind == DAILY else None
        if self.returned is not None:
            planner.set_rules(replace(planner.rules, focus=self.returned.focus, fragile_weight=FRAGILE_WEIGHT))
        tickets = tickets or {}
        limits = session_limits(planner, minutes)
        shown = planner.rules.shown_kinds
        if PLACED_TICKET in tickets:
            limits.pop("root", None)
        if PLACED_TICKET in tickets or kind == ROUND:
            shown -= {"root"}  # roots are known, or come one after another with their place
        planner.set_rules(replace(planner.rules, new_per_session=limits, shown_kinds=shown))
        self._rules = planner.rules
        self.chooser = chooser or (most_telling(planner, minutes) if kind == PLACEMENT else from_planner(planner))
        met = dict.fromkeys(card.own_strings.id for card in material.cards.values() if card.is_shape)
        sets = tuple(sorted(list(met)[:9], reverse=True))  # a digit chooses one; lowest strings first
        offer = kind == DAILY and tickets.get(ANOTHER_TICKET) != self._day(now)
        self.state: SessionState = machine.begin(
            minutes, 0.0, caution=caution, kind=kind, sets=sets, offer=offer, away=material.away
        )
        self._muted = False
        self._mute()
        self.preview = planner.plan(now, self.state.cards_s / 60.0) if kind == DAILY else []
        self._last: Review | None = None
        self.stretch: SoreStretch | None = None
        self.left_out_for_it = 0
        self._rested_before_it: frozenset[str] = frozenset()

    def now_s(self) -> float:
        """Seconds since the sitting began."""
        if self._seconds is not None:
            return self._seconds() - self._start_s
        return (self.clock() - self._epoch).total_seconds()

    def press(self, key: str, *, rest_s: float = GRADE_REST_S, pages: int = 1) -> None:
        """Does what a key means; `rest_s` is 0 for typed lines, which nobody holds down; pages: see `machine.step`."""
        began = self.state
        before = began.phase
        self.state, asked = machine.step(self.state, key, self.now_s(), new_id(), rest_s=rest_s, pages=pages)
        for effect in asked:
            self._do(effect)
        if before is Phase.PROMPT and self.state.phase is Phase.ANSWER and self.listener is not None:
            self.listener.stop()
            if self.state.question_asked.sounded:
                self.listener.parts(self.state.question_asked.sounded)
        if self.state.over and not before.over:
            if self.listener is not None:
                self.listener.stop()
            if self.state.kind == PLACEMENT and placed(self.state):
                self.writer.append(Ticket(PLACED_TICKET, "yes"), self.clock())
        if self.ears is not None:
            self.state = self.ears.follow(began, self.state, self.now_s())
        if self.writer.waiting and self.writer.again():
            self.state = replace(self.state, note="All written now.")
        elif self.writer.waiting:
            self.state = replace(self.state, note=self.writer.note)
        self.announce()

    def announce(self) -> None:
        """Lets the present moment be said by the voice, where there is one and it is not said yet."""
        if self.announcer is not None and (failed := self.announcer.follow(self)):
            self.state = replace(self.state, note=failed)

    def tick(self) -> bool:
        """Lets time pass without a key; whether there is something new to show."""
        before, now_s = self.state, self.now_s()
        if (self.listener is not None and self.listener.sounding) or (self.ears is not None and self.ears.playing):
            before = replace(before, active_s=now_s)
        self.state = machine.tick(before, now_s, usual_s=self._usual_s() if machine.left_alone(before, now_s) else 0.0)
        notice = self.listener.notice() if self.listener is not None else ""
        if notice:
            self.state = replace(self.state, note=notice)
            self._mute()
            card = self.state.card
            if card is not None and self.state.phase is Phase.PROMPT and kind_of(card.kind).heard:
                self._next(self.clock(), card.id)
        if self.ears is not None:
            self.state = self.ears.follow(before, self.state, now_s)
            for key in self.ears.due(self.state, now_s):
                self.press(key, rest_s=0.0)
            self.announce()
            return self.state is not before or self.ears.stirs(self.state, now_s)
        self.announce()
        return self.state is not before

    @property
    def tick_s(self) -> float:
        """How often passing time is to be looked at, in seconds: oftener where playing alone moves the session."""
        return QUICK_TICK_S if self.ears is not None and self.ears.hands_free else TICK_S

    def _usual_s(self) -> float:
        """Seconds this player usually takes over the card in hand; 0 between cards."""
        card, planner = self.state.card, self.planner
        if card is None:
            return 0.0
        return planner.pace.seconds(planner.card(card.id).seconds, planner.recall(card.id, self.clock()))

    def tempo_of(self, card: Card) -> float | None:
        """Beats a minute written on a card, or None where nothing is played to a click."""
        return None if kind_of(card.kind).away else self._tempo_of(card)

    @property
    def nothing_to_ask(self) -> str:
        """Why no card can be asked at all, with what to do about it, or ``""``."""
        if any(self.planner.rules.allows(card) for card in self.material.cards):
            return ""
        if self._muted:
            return "every prompt left is answered by ear, and nothing can be heard here; choose other prompts"
        return "every card of it rests; neckwork wake brings cards back"

    @property
    def shows_root(self) -> bool:
        """Whether the prompt says where its root lies: for a root never met, on a round and on a first day."""
        return "root" in self.state.told

    def _told(self, card: Card, now: datetime) -> tuple[str, ...]:
        """What of a card is new and told with the prompt, instead of in a lesson before it."""
        if not any(skill.startswith("root:") for skill in self.planner.new_skills(card.id)):
            return ()
        if self.state.kind == ROUND:
            return ("root",)
        # Where roots are shown at all, a lesson was spared only to take one thing at a time.
        shown = "root" in self.planner.rules.shown_kinds and self.state.kind != PLACEMENT
        return ("root",) if shown and card.tells_root and self.planner.first_day(now) else ()

    def shapes(self) -> tuple[Shape, ...]:
        """The answer on show as shapes, with the player's own fingering where one is kept; the first counts."""
        return self.state.question_asked.shapes

    def same_place(self) -> tuple[Shape, ...]:
        """The grip and the mode at the same place as the answer, those that there are."""
        card = self.state.card_in_hand
        return tuple(shape for shape in (self.material.grip(card), self.material.mode(card)) if shape is not None)

    def warm_up(self) -> Shape | None:
        """An easy shape to begin with, met, not resting, and high on the neck; None while there is none."""
        cards = [card for card in self.material.cards.values() if card.is_shape and card.own_form.kind == "arpeggio"]
        met = [card for card in cards if self._rules.allows(card.id) and not self.planner.unmet(card.id)]
        shapes = [self.material.answer(card) for card in met[:40]]
        high = [shape for shape in shapes if shape.lowest_fret >= WARM_UP_FRET]
        return min(high or shapes, key=lambda shape: (shape.cost, shape.reach_mm), default=None)

    # -- effects -------------------------------------------------------------

    def _do(self, effect: effects.Effect) -> None:
        now = self.clock()
        match effect:
            case effects.NextCard(skipped):
                self._next(now, skipped)
            case effects.Check(typed, seconds):
                self._judge(typed, seconds)
            case effects.RecordGrade(given):
                self._record(given.card, given.grade, given.review, now, "first", given.seconds, given.spent)
                if self.ears is not None and (witness := self.ears.witness_of(given)) is not None:
                    self.writer.append(witness, now)
            case effects.RecordRepeat(card, review):
                self._record(card, Grade.FOUND, review, now, "repeat", 0.0, None)
            case effects.RecordLesson(card, review, spent):
                self._record(card, Grade.FOUND, review, now, "repeat", 0.0, spent)
            case effects.TakeBack(reviews):
                for review in reviews:
                    self.writer.append(Undo(review), now)
                    self.planner.undo(review)
            case effects.TagSlip(review, slip):
                self.writer.append(Slip(review, checked_slip(slip)), now)
                self._amend(review, slip)
            case effects.OfferFingering():
                self._turn(None)
            case effects.LockFingering():
                self._turn(now)
            case effects.RestCard(card):
                self.writer.append(Rest(card.id), now)
                self._set_rested(self._rules.rested | {card.id})
            case effects.HandHurts(hurting):
                self._hurts(hurting, now)
            case effects.HandIsWell():
                self._is_well(now)
            case effects.AskTeacher(card):
                self.writer.append(Flag(card.id, ""), now)
            case effects.SeenCaution():
                self.writer.append(Ticket(CAUTION_TICKET, "yes"), now)
            case effects.Another():
                self.writer.append(Ticket(ANOTHER_TICKET, self._day(now)), now)
            case effects.Narrow(only):
                self._narrow(only, now)
            case _:
                self._sound(effect)

    def _next(self, now: datetime, skipped: str | None) -> None:
        if skipped is not None:
            self._skipped |= {skipped}
        chosen = self.chooser(now, self._skipped)
        if chosen is None and self._skipped:
            # When only skipped cards are left, one of them is asked: the session must not end unasked.
            self._skipped = frozenset()
            chosen = self.chooser(now, self._skipped)
        card = self.material.cards[chosen] if chosen else None
        predicted = self.planner.recall(chosen, now) if chosen else None
        new = self.planner.lesson_kinds(chosen, now) if chosen else ()
        self._asked += 1
        self.state = machine.present(
            self.state, card, self.now_s(), predicted=predicted,
            new=tuple(kind for kind in LESSONS if kind in new), told=self._told(card, now) if card and not new else (),
            question=self._question(card) if card else None,
        )  # fmt: skip
        if self.listener is not None:
            self.listener.stop()
            if card is not None and self.state.phase is Phase.LESSON:
                note = self.state.note
                self._sound(effects.Sound(card))  # a lesson is heard as well as seen; nobody asked, so nothing is said
                self.state = replace(self.state, note=note)
            elif card is not None and self.state.phase is Phase.PROMPT and self.state.question_asked.heard:
                self.listener.parts(self.state.question_asked.heard)

    def _mute(self) -> None:
        """Leaves out, for this sitting, what can only be asked by sound, when nothing can be heard; says so once."""
        self.audible = self.listener is not None and not self.listener.silent
        if self._muted or self.audible:
            return
        heard = frozenset(card.id for card in self.material.cards.values() if kind_of(card.kind).heard)
        if not heard:
            return
        self._muted = True
        self._set_rested(self._rules.rested | heard)
        why = "Sound is off" if self.listener is None else "No sound on this machine"
        self.state = replace(self.state, note=f"{why}: {len(heard)} prompts to be answered by ear are left out.")

    def _set_rested(self, rested: frozenset[str]) -> None:
        """These cards rest from now on, whatever today's focus is."""
        self._rules = replace(self._rules, rested=rested)
        self.planner.set_rules(replace(self.planner.rules, rested=rested))

    def _hurts(self, card: Card | None, now: datetime) -> None:
        """Writes down what stretched the hand, and leaves it out; without a card only that it hurt."""
        stretch = stretch_of(self.material, card)
        self.stretch, self._rested_before_it = stretch, self._rules.rested
        self.writer.append(Ticket(*sore_ticket(stretch)), now)
        out = left_out_for(self.material, (stretch,)) if stretch is not None else frozenset[str]()
        self.left_out_for_it = len(out)
        self._set_rested(self._rules.rested | out)

    def _is_well(self, now: datetime) -> None:
        """What stretched the hand is asked again."""
        if self.stretch is not None:
            self.writer.append(Ticket(self.stretch.subject, None), now)
        self._set_rested(self._rested_before_it)
        self.stretch = None

    def _question(self, card: Card) -> Question:
        return question_of(self.material, card, Random(f"{self.session} {self._asked}"))

    def _judge(self, typed: str, seconds: float) -> None:
        """Right and quick is In time, right is Clean, wrong is Looked; what cannot be read is asked again."""
        card, check = self.state.card_in_hand, self.state.question_asked.check
        if check is None:
            raise CardPartError(f"card {card.id}: it takes no typed answer")
        try:
            right, line = check(typed)
        except AnswerError as error:
            self.state = machine.unread(self.state, str(error))
            return
        quick = kind_of(card.kind).quick(seconds, typed)
        grade = (Grade.IN_TIME if quick else Grade.CLEAN) if right else Grade.LOOKED
        self.state = machine.judged(self.state, TypedVerdict(grade, line), self.now_s())

    def _record(
        self,
        card: Card,
        grade: Grade,
        review: str,
        now: datetime,
        attempt: Literal["first", "repeat"],
        seconds: float,
        spent: float | None,
    ) -> None:
        """Writes the review, committed and synced, and then teaches the planner.

        While the log cannot be written `Writer` keeps the review in hand and tries again.
        """
        first = attempt == "first"
        entry = Review(
            card.id, grade, now, round(seconds, 3), attempt, card.skills, spent and round(spent, 3), self.session,
            review,
            tempo_bpm=self.tempo_of(card) if grade is Grade.IN_TIME else None,
            predicted=self.planner.recall(card.id, now) if first else None,
        )  # fmt: skip
        self.writer.append(entry, now)
        self.planner.record(entry)
        if first:  # a lesson or a repeat may follow before its slip is named
            self._last = entry

    def _amend(self, review: str, slip: str) -> None:
        if self._last is None or self._last.id != review:
            return
        self._last = replace(self._last, slip=slip)
        self.planner.amend(self._last)

    def _turn(self, now: datetime | None) -> None:
        """Keeps the next fingering of the form in all keys, or without a time says what would be kept for what.

        The round of fingerings ends at the tool's own.
        """
        if not self.shapes():
            self.state = replace(self.state, note="There is no fingering here.")
            return
        shown = self.shapes()[0]
        ways = self.material.finder.fingerings(shown)
        if 0 in shown.fingers or len(ways) < 2:
            open_strings = "Open strings: choose the fingering on a closed root."
            self.state = replace(self.state, note="No other fingering here." if len(ways) < 2 else open_strings)
            return
        choices = [way.fingers for way in ways]
        turned = (choices.index(shown.fingers) + 1) % len(ways) if shown.fingers in choices else 0
        old, new, usual = map(fingers_text, (shown.fingers, choices[turned], choices[0]))
        if now is None:
            note = f"Fingers {new} instead of {old}, for this form in all keys? a again keeps them, other keys do not."
            self.state = replace(self.state, note=note, turning=True)
            return
        kept = choices[turned] if turned else None
        self.writer.append(Lock(shown.signature, fingers_text(kept) if kept else None), now)
        self.material.finder.lock(shown.signature, kept)
        back = f"Before: {old}. To go back, a until {usual} come, the usual ones." if kept else "The usual ones again."
        self.state = replace(
            self.state, question=self._question(self.state.card_in_hand), note=f"Fingers {new} in all keys. {back}"
        )

    def _narrow(self, only: str, now: datetime) -> None:
        """Today's focus: what has been met, one string set, or everything again."""
        rules, note = self._rules, ""
        self.planner.set_rules(rules)
        if only:
            allowed = rules.focus if rules.focus is not None else frozenset(self.material.cards)
            if only == "reviews":
                kept = frozenset(card for card in allowed if not self.planner.unmet(card))
            else:
                kept = frozenset(card for card in allowed if self._set_of(card) == only)
            if kept:
                self.planner.set_rules(replace(rules, focus=kept))
            else:
                note = "Nothing there to play yet; everything is asked as planned."
                self.state = replace(self.state, only="")
        self.preview = self.planner.plan(now, self.state.cards_s / 60.0)
        self.state = replace(self.state, note=note)

    def _set_of(self, card_id: str) -> str:
        strings = self.material.cards[card_id].strings
        return strings.id if strings else "-"

    def _day(self, at: datetime) -> str:
        # The log counts the days of this ticket from 1970.
        return str(practice_day_number(at, self.planner.rules.day_starts_at_hour) - EPOCH_ORDINAL)

    def asks_of_session(self) -> list[Ask]:
        """What each grade of this sitting was on its practice day, in the order of `state.given`.

        An earlier sitting of the day counts too: its cards have had their first try.
        """
        # The end page is drawn often, and nothing but a new grade changes the answer.
        if self._asks[0] is self.state.given:
            return self._asks[1]
        now = self.clock()
        rules = self.planner.rules
        today = practice_day_number(now, rules.day_starts_at_hour)
        told, asked = AskOfDay(), dict[str, list[Ask]]()
        # Two days back reach every review of this practice day and the lessons just before it.
        for card, clock_us, offset_s, _, attempt, *_ in self.log.digest_rows(since=now - timedelta(days=2)):
            at = datetime.fromtimestamp(clock_us / 1e6, timezone(timedelta(seconds=offset_s)))
            day = practice_day_number(at, rules.day_starts_at_hour)
            ask = told.of(card, attempt, day)
            if ask is not Ask.REPEAT and day == today:
                asked.setdefault(card, []).append(ask)
        found: list[Ask] = []
        for given in reversed(self.state.given):
            of_card = asked.get(given.card.id)
            found.append(of_card.pop() if of_card else Ask.AGAIN)
        self._asks = self.state.given, found[::-1]
        return self._asks[1]

    # -- sound ---------------------------------------------------------------

    def _sound(self, effect: effects.Effect) -> None:
        if self.listener is None:
            self.state = replace(self.state, note="Sound is off.")
            return
        match effect:
            case effects.Sound(card):
                shapes, note = self.shapes(), "Nothing to hear here."
                if card.to is not None:
                    note = self.listener.transition(*shapes)
                elif shapes:
                    note = self.listener.hear(shapes[0], self.material.grip(card), self.material.mode(card))
            case effects.HearAgain():
                note = self.listener.parts(self.state.question_asked.heard)
            case effects.Drone(card, seconds):
                note = self.listener.drone(self.material.answer(card), seconds)
            case effects.Click(None):
                note = self.listener.click(self.tempo_of(self.state.card_in_hand) or USUAL_TEMPO_BPM)
            case effects.Click(Card() as card):
                tempo = self.tempo_of(card) or USUAL_TEMPO_BPM
                left_s = max(5.0, self.state.limit_s - self.state.elapsed_s(self.now_s()))
                if self.tune is not None:
                    make = partial(self.tune.track, self.material.finder, tempo, left_s)
                    note = self.listener.tune(make, self.tune.title, tempo)
                elif grips := two_five_one(self.material, card):
                    note = self.listener.changes(grips, tempo, left_s)
                else:
                    note = self.listener.drone(self.material.answer(card), left_s)
        self.state = replace(self.state, note=note)
