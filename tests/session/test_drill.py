"""The session's behaviour: drills/RULES.md, G23 to G25 and sections B6 and B7 (common practice)."""

from __future__ import annotations

import io
from datetime import timedelta

import pytest
from sittings import START, Clock, Listener

from drills.cards.deck import list_decks, read_deck
from drills.cards.material import gather
from drills.diagrams.speech import say_chord
from drills.neck.neck import Neck
from drills.session.lessons import root_words
from drills.session.plain import spoken
from scheduler.grade import Grade
from scheduler.planning.planner import Planner
from scheduler.review import Review


def test_it_ends_at_ten_minutes_after_the_card_in_hand(sitting):
    """However much there is to play, the time box holds; the card in hand is finished."""
    one = sitting()
    one.start()
    started = one.clock()
    while one.play() is not None:
        pass
    played = one.clock() - started
    one.press("enter", seconds=0.0 if one.state.over else 45)
    played = one.clock() - started
    assert timedelta(minutes=9.3) < played < timedelta(minutes=11)
    assert one.state.phase.value in ("end", "music")
    assert len(one.firsts()) == len(one.state.given) > 15


def test_a_first_meeting_is_a_lesson_and_is_asked_later_today(sitting):
    """Diagram first, played, then asked after at least three other cards; nothing is graded by a lesson."""
    one = sitting()
    one.start()
    assert one.state.phase.value == "lesson"
    for _ in range(8):
        one.play()
    first, *after = one.shown
    assert after.index(first) >= 3
    assert all(review.attempt == "repeat" for review in one.log.reviews() if review.at < one.firsts()[0].at)


def test_a_root_never_met_is_shown_before_it_is_asked(sitting):
    """The first time a root's place comes up it is a lesson, or on the first day told with a prompt; four a session."""
    clock = None
    met: set[str] = set()
    for day in range(3):
        one = sitting(**({"clock": clock} if clock else {}))
        clock = one.clock
        one.start()
        shown = 0
        while not one.state.over and one.state.phase.value != "music":
            roots = {skill for skill in one.state.card.skills if skill.startswith("root:")}
            if one.state.phase.value == "lesson":
                shown += bool(roots - met)
                met |= roots
                one.press("enter", seconds=20)
            else:
                if roots - met:
                    assert day == 0 and one.drill.shows_root
                    assert any(say_chord(root_words(one.drill)) in line for line in spoken(one.drill))
                    shown += 1
                    met |= roots
                else:
                    assert not one.drill.shows_root
                one.play()
        assert shown == one.state.met("root") == 4
        assert len(one.state.given) > 15
        clock.tick(86_400)


@pytest.mark.parametrize("deck", ["first", "set-432", "minor", "grips-drop2", "scales"])
def test_a_first_session_brings_one_new_thing_at_a_time(sitting, deck):
    """A shape, played; the same shape asked at a second root and at a third; then the second shape (rule B8, 1)."""
    one = sitting(deck=deck)
    one.start()
    steps = []
    while not one.state.over and one.state.phase.value != "music":
        card = one.state.card
        steps.append((one.state.phase.value, card.skills[0], one.planner_root(card)))
        one.press("enter", seconds=20) if one.state.phase.value == "lesson" else one.play()
    kinds = [phase for phase, *_ in steps[:4]]
    assert kinds == ["lesson", "prompt", "prompt", "lesson"]
    forms, roots = [form for _, form, _ in steps[:4]], [root for *_, root in steps[:4]]
    assert forms[0] == forms[1] == forms[2] != forms[3]
    assert len(set(roots[:3])) == 3
    assert roots[3] in roots[:2]  # the second shape at a root that is known, and not the one just played
    assert not [n for n, (a, b) in enumerate(zip(steps, steps[1:], strict=False)) if a[0] == b[0] == "lesson"]


def test_a_deck_in_order_is_met_as_written_and_in_no_other_way(tmp_path):
    """Over four days no card of a later stage is met while an earlier one is unmet; without the key some are."""
    material = '[[material]]\nqualities = ["m7"]\nstring_sets = ["543"]\nroots = ["F", "G", "D", "Eb", "E", "A"]\n'
    material += '[[material]]\nqualities = ["7"]\nstring_sets = ["654"]\nroots = ["C", "A"]\n'
    early = {"true": 0, "false": 0}
    for key in early:
        path = tmp_path / f"{key}.toml"
        path.write_text(f'title = "Own"\nin_order = {key}\n{material}', encoding="utf-8")
        cards = gather(read_deck(path), Neck())
        planner = Planner(cards.specs(), 0, (), cards.rules())
        for day in range(4):
            at = START + timedelta(days=day)
            planner.begin(f"{day}", at)
            for number in range(12):
                chosen = planner.next(at)
                assert chosen is not None
                stages = [card.stage for card in planner.cards if planner.new_skills(card.id)]
                if planner.new_skills(chosen):
                    early[key] += planner.card(chosen).stage > min(stages)
                skills = planner.card(chosen).skills
                planner.record(
                    Review(chosen, Grade.CLEAN, at, 4.0, skills=skills, session=f"{day}", id=f"{day} {number}")
                )
                at += timedelta(seconds=25)
    assert early["true"] == 0 < early["false"]


@pytest.mark.parametrize("path", list_decks(None), ids=lambda path: path.stem)
def test_no_shipped_deck_is_in_order_by_force(path):
    """Order is a preference unless a teacher says otherwise (rule B8, 3)."""
    assert not read_deck(path).in_order


@pytest.mark.parametrize("deck", ["first", "everything", "away", "ear", "transitions"])
def test_after_the_first_day_at_most_two_lessons_run_on(sitting, deck):
    """Counted over a week; the first session has no two lessons running, whatever the deck asks."""
    clock = Clock()
    for day in range(4):
        one = sitting(deck=deck, clock=clock, listener=Listener())
        one.start()
        running = longest = 0
        while not one.state.over and one.state.phase.value != "music":
            running = running + 1 if one.state.phase.value == "lesson" else 0
            longest = max(longest, running)
            one.press("enter", seconds=20) if running else one.play()
        assert longest <= (1 if day == 0 else 2)
        assert longest >= 1 or day
        clock.tick(86_400)


def test_a_placed_player_is_asked_new_roots_at_once(sitting):
    """Who has shown in a placement that the roots are known gets no lesson for them, and no limit."""
    sitting().log.ticket("placed", "yes", START)
    one = sitting()
    one.start()
    while one.play() is not None:
        pass
    assert {new for new in one.state.lessons} == {("form",)}
    assert "root" not in one.drill.planner.rules.new_per_session


def test_a_looked_up_card_returns_today_and_tomorrow(sitting):
    """The lowest grade: right twice now, back after three or more other cards, asked again tomorrow."""
    one = sitting()
    one.start()
    missed = one.play("l").id
    one.shown.clear()
    for _ in range(12):
        one.play()
    assert one.shown.index(missed) >= 3
    repeats = [review for review in one.log.reviews() if review.attempt == "repeat" and review.card == missed]
    assert repeats
    assert one.state.given[0].grade is Grade.LOOKED
    one.clock.tick(86_400)
    next_day = sitting(clock=one.clock)
    next_day.start()
    asked = []
    while (card := next_day.play()) is not None:
        asked.append(card.id)
    assert missed in asked


def test_new_material_is_limited(sitting):
    """At most two new forms and four new roots a session, never two look-alikes on one day."""
    one = sitting()
    one.start()
    while one.play() is not None:
        pass
    skills = {skill for review in one.log.reviews() for skill in review.skills}
    assert sum(skill.startswith("form:") for skill in skills) <= 2
    assert sum(skill.startswith("root:") for skill in skills) <= 4
    forms = [skill for skill in skills if skill.startswith("form:")]
    alike = one.drill.planner.rules.look_alikes
    assert all(other not in alike.get(form, ()) for form in forms for other in forms)


@pytest.mark.parametrize("deck", ["first", "minor", "fourteen", "triads", "keys", "set-432", "scales", "grips-drop2"])
def test_a_root_at_the_same_place_never_comes_twice_running_and_a_quality_on_a_set_seldom(sitting, deck):
    """From the first card of the first day on, lessons counted: the one is absolute, the other yields to gain."""
    one = sitting(deck=deck)
    one.start()
    shown = []
    while not one.state.over and one.state.phase.value != "music":
        shown.append(one.state.card)
        one.press("enter", seconds=20) if one.state.phase.value == "lesson" else one.play()
    pairs = list(zip(shown, shown[1:], strict=False))
    assert len(pairs) > 15
    assert not [before.id for before, after in pairs if set(before.apart) & set(after.apart)]
    # Three questions on the first shape come in a row before the second shape is met.
    alike = sum(before.alike == after.alike for before, after in pairs[3:])
    assert alike <= len(pairs) / 4


def test_a_focus_on_one_quality_and_one_set_may_repeat_it(sitting):
    """So narrow a focus leaves nothing else; even then no card comes twice running."""
    narrow = sitting(quality="m7", strings="543")
    narrow.start()
    cards = [narrow.play().id for _ in range(6)]
    assert all(a != b for a, b in zip(cards, cards[1:], strict=False))


def test_undo_takes_back_exactly_the_last_grade(sitting):
    """In memory and in the log, with the repeat that followed it; the answer is shown to be graded again."""
    one = sitting()
    one.start()
    while one.state.met("root") < 4:  # all that is new today is met, so that no lesson comes between
        one.play()
    one.play()
    before, memory = list(one.log.reviews()), one.drill.planner.snapshot()
    card = one.play("l")
    assert len(list(one.log.reviews())) == len(before) + 2
    one.press("u")
    assert list(one.log.reviews()) == before
    assert one.drill.planner.snapshot() == memory
    assert one.state.phase.value == "answer"
    assert one.state.card is card
    one.press("t")
    assert one.firsts()[-1].grade is Grade.IN_TIME


def test_a_log_rebuilds_the_same_memory(sitting):
    """A planner made from the log alone knows what the session's own planner knows, to the last bit."""
    one = sitting()
    one.start()
    for key in "clftcclc":
        one.play(key)
    one.press("u")
    rebuilt = Planner(one.material.specs(), 0, one.log.reviews(), one.material.rules())
    assert rebuilt.memory.skills == one.drill.planner.memory.skills
    assert rebuilt.memory.player.log_weights == one.drill.planner.memory.player.log_weights


def test_a_slip_is_stored_with_its_review(sitting):
    """One optional key after Looked, or, after Found it, on the next prompt or lesson."""
    one = sitting()
    one.start()
    one.through_lessons()
    one.press("enter")
    one.press("l")
    one.press("1")
    one.press("enter")
    one.through_lessons()
    one.press("enter")
    one.press("f")
    one.press("3")
    assert [review.slip for review in one.firsts()] == ["root", "fingering"]


def test_time_to_reveal_is_recorded_and_capped(sitting):
    """From prompt to reveal, at most 60 s; a pause stops the clock."""
    one = sitting()
    one.start()
    one.play(look=7.0)
    one.play(look=300.0)
    one.through_lessons()
    one.press("p", seconds=3)
    one.press("x", seconds=300)
    one.press("enter", seconds=2)
    one.press("c")
    assert [review.seconds for review in one.firsts()] == [7, 60, 5]


def test_skip_and_rest_keep_a_card_away(sitting):
    """A skipped card is not asked again in this sitting; a rested one not until it is woken."""
    one = sitting()
    one.start()
    one.through_lessons()
    skipped = one.state.card.id
    one.press("n")
    one.through_lessons()
    rested = one.state.card.id
    assert rested != skipped
    one.press("r")
    asked = []
    while (card := one.play()) is not None:
        asked.append(card.id)
    assert rested not in asked
    later = sitting(clock=one.clock)
    assert rested in later.drill.planner.rules.rested


def test_another_fingering_is_kept_for_the_form_in_all_keys(sitting):
    """One key turns to the next fingering and keeps it at once, in every key, until it is turned back."""
    one = sitting()
    one.start()
    card = one.state.card
    usual = one.drill.shapes()[0].fingers
    one.press("a", "a")
    chosen = one.drill.shapes()[0].fingers
    assert chosen != usual
    assert list(one.log.standing().locks.values()) == [" ".join(map(str, chosen))]
    others = [c for c in one.material.cards.values() if c.skills[0] == card.skills[0]]
    assert {f for c in others if 0 not in (f := one.material.answer(c).fingers)} == {chosen}
    seen = {usual, chosen}
    for _ in range(10):
        one.press("a", "a")
        if one.drill.shapes()[0].fingers == usual:
            break
        seen.add(one.drill.shapes()[0].fingers)
    assert one.drill.shapes()[0].fingers == usual
    assert one.log.standing().locks == {}
    assert len(seen) >= 3


def test_another_fingering_is_said_before_it_is_kept(sitting):
    """The first press names new and old and keeps nothing; any other key leaves it; kept, it says how to go back."""
    one = sitting()
    one.start()
    usual = " ".join(map(str, one.drill.shapes()[0].fingers))
    one.press("a")
    offer = one.state.note
    assert f"instead of {usual}, for this form in all keys?" in offer
    new = offer.removeprefix("Fingers ").split(" instead")[0]
    assert new != usual
    one.press("x", "a")
    assert one.state.note == offer
    assert one.log.standing().locks == {}
    one.press("a", seconds=0.1)  # held down it keeps nothing
    assert one.log.standing().locks == {}
    one.press("a")
    assert list(one.log.standing().locks.values()) == [new]
    assert one.state.note.startswith(f"Fingers {new} in all keys. Before: {usual}. To go back, a until {usual} come")
    for _ in range(20):
        one.press("a", "a")
        if not one.log.standing().locks:
            break
    assert one.state.note == f"Fingers {usual} in all keys. The usual ones again."


def test_a_rested_card_is_never_the_warm_up(sitting):
    """Of what was met the easiest is warmed up on, and another one once that rests."""
    one = sitting()
    one.start()
    for _ in range(8):
        one.play()
    easy = one.drill.warm_up()
    same = [card.id for card in one.material.cards.values() if card.is_shape and one.material.answer(card) == easy]
    for card in same:
        one.log.rest(card, one.clock())
    one.clock.tick(86_400)
    assert sitting(clock=one.clock).drill.warm_up() not in (easy, None)


def test_a_short_first_session_does_not_ask_one_card_again_and_again(sitting):
    """Even in a minute there are several roots to find; no card is asked twice running."""
    one = sitting(minutes=2)
    one.start()
    cards = []
    while (card := one.play(look=2, spent=2)) is not None:
        cards.append(card.id)
    assert len(set(cards)) >= 3
    assert all(a != b for a, b in zip(cards, cards[1:], strict=False))


def test_quitting_loses_nothing(sitting):
    """Seven grades, then gone: seven are in the log, whatever happened after."""
    one = sitting()
    one.start()
    for _ in range(7):
        one.play()
    assert len(one.firsts()) == 7
    one.press("q")
    assert one.state.phase.value == "end"
    one.press("enter")
    assert one.state.phase.value == "done"


def test_the_pedals_alone_play_a_session(sitting):
    """One reveals and accepts Clean, the other marks Looked and raises the last grade on the next prompt."""
    back, on = "pageup", "pagedown"
    one = sitting()
    while one.state.card is None:
        one.press(on)
    for number in range(12):
        while one.state.phase.value == "lesson":
            one.press(on, seconds=10)
        one.press(on, seconds=5)
        one.press(back if number % 4 == 0 else on, seconds=5)
        if one.state.phase.value == "repeat":
            one.press(on, seconds=10)
    grades = [review.grade for review in one.firsts()]
    assert grades.count(Grade.LOOKED) == 3
    assert grades.count(Grade.CLEAN) == 9
    while one.state.phase.value == "lesson":
        one.press(on, seconds=10)
    one.press(back)
    assert one.firsts()[-1].grade is Grade.IN_TIME
    assert one.state.note.endswith("raised to In time.")
    one.press(back)
    assert one.firsts()[-1].grade is Grade.IN_TIME
    assert one.state.note == "In time was raised already."
    assert len(one.firsts()) == 12


def test_a_held_pedal_never_grades_twice(sitting):
    """A key held down repeats many times a second; only its first press counts, and grades rest after a reveal."""
    one = sitting()
    while one.state.card is None:
        one.press("enter")
    one.through_lessons()
    for _ in range(200):
        one.press("pagedown", seconds=0.04)
    assert len(one.firsts()) == 0
    one.clock.tick(1)
    for _ in range(200):
        one.press("pagedown", seconds=0.04)
    assert len(one.firsts()) == 1
    # reveal and grade in one movement: the grade rests for 300 ms
    one.clock.tick(1)
    one.through_lessons()
    one.press("right", seconds=0.1)
    if one.state.phase.value == "answer":
        one.press("c", seconds=0.1)
        assert len(one.firsts()) == 1


def test_fourteen_days_away_is_ten_minutes_again(sitting):
    """Rule G24: no wall, no reproach, long-known fragile cards first, nothing new before them."""
    one = sitting()
    for _ in range(5):
        day = sitting(clock=one.clock)
        day.start()
        while day.play() is not None:
            pass
        one.clock.tick(86_400 - 600)
    known = {review.card for review in one.log.reviews()}
    one.clock.tick(14 * 86_400)
    back = sitting(clock=one.clock)
    back.start()
    started = back.clock()
    cards = []
    while (card := back.play()) is not None:
        cards.append(card.id)
    assert back.clock() - started < timedelta(minutes=11.5)
    assert all(card in known for card in cards)
    assert back.drill.returned.days_away == 14
    assert back.drill.returned.sessions is None or 0 <= back.drill.returned.sessions[0] <= 10
    longest = {card for card in known if back.drill.planner.first_met(card) <= one.clock() - timedelta(days=15.5)}
    assert back.drill.returned.narrowed == (set(cards) <= longest) == (len(longest) >= 24)
    said = "What you have known longest" if back.drill.returned.narrowed else "Nothing new today"
    assert back.drill.returned.line.startswith(said)


def test_the_csv_reconciles_with_the_screen(sitting, tmp_path):
    """Rule G25: 2, 6, 9 and 3 grades give 12 of 20, and the CSV brings back the same memory."""
    import csv

    from scheduler.log.interchange import import_file
    from scheduler.log.review_log import ReviewLog
    from scheduler.statistics.log_digest import digest_of_log
    from scheduler.statistics.review_counts import count_by
    from tests.log_exports import export_csv

    one = sitting(minutes=30)
    one.start()
    for key in "lfcct" + "cfcfc" + "tcfcf" + "lcfct":
        one.play(key)
    counted = count_by((review for review in one.log.reviews()), lambda review: "all")["all"]
    whole = digest_of_log(one.log, 4.0)
    assert str(whole.total + whole.again + whole.new) == "12 of 20"
    assert counted == whole.total
    out = io.StringIO(newline="")
    export_csv(one.log, out)
    rows = list(csv.DictReader(io.StringIO(out.getvalue())))
    graded = [row["grade"] for row in rows if row["grade"]]
    assert len(graded) == 20
    assert [graded.count(grade) for grade in "1234"] == [2, 6, 9, 3]
    assert all(row["attempt"] == "repeat" for row in rows if not row["grade"])
    path = tmp_path / "reviews.csv"
    path.write_text(out.getvalue(), encoding="utf-8", newline="")
    with ReviewLog(tmp_path / "other.sqlite3") as other:
        import_file(other, path)
        assert list(other.reviews()) == list(one.log.reviews())
        rebuilt = Planner(one.material.specs(), 0, other.reviews(), one.material.rules())
    assert rebuilt.memory.skills == one.drill.planner.memory.skills


def mixed_player(sitting, days: int):
    """A log of some days by a player whose m7b5 and 7 fail every other time; the last sitting, a day later."""
    one = sitting()
    clock = one.clock
    for _ in range(days):
        began, number = clock(), 0
        day = sitting(clock=clock)
        day.start()
        while True:
            day.through_lessons()
            number += 1
            hard = day.state.card is not None and day.state.card.quality in ("7", "m7b5")
            if day.play("l" if hard and number % 2 else "c") is None:
                break
        clock.at = began + timedelta(days=1)
    return one


@pytest.mark.parametrize("away", [14, 60])
def test_after_an_absence_the_most_fragile_long_known_cards_come_first(sitting, away):
    """Rule G24: fragile is a low chance of a clean first try by the memory; long known, met two days before.

    The order is not strictly by recall, for look-alikes are kept apart: the first card is of the most fragile
    quarter, none of the first eight is of the firmest third, and their mean lies under that of all that was met.
    """
    one = mixed_player(sitting, days=8)
    left = one.clock()
    first_met = {}
    for review in one.log.reviews():
        first_met.setdefault(review.card, review.at)
    one.clock.tick(away * 86_400)
    back = sitting(clock=one.clock)
    recall = {card: back.drill.planner.recall(card, one.clock()) for card in first_met}
    from_fragile = sorted(recall, key=recall.get)
    assert len(from_fragile) >= 16
    assert recall[from_fragile[-1]] - recall[from_fragile[0]] > 0.3  # there is something to choose between
    back.start()
    asked = []
    while len(asked) < 8:
        card = back.play("c")
        if card.id not in asked:
            asked.append(card.id)
    assert all(left - first_met[card] >= timedelta(days=2) for card in asked)
    assert from_fragile.index(asked[0]) < len(from_fragile) / 4
    assert max(map(from_fragile.index, asked)) < len(from_fragile) * 2 / 3
    assert sum(recall[card] for card in asked) / 8 < sum(recall.values()) / len(recall)


@pytest.mark.parametrize("key", ["n", "r"])
def test_a_card_set_aside_when_the_time_is_up_brings_no_other(sitting, key):
    """The box is ten minutes after the card in hand: another card in its place would begin outside it."""
    one = sitting()
    one.start()
    one.play("c")
    one.through_lessons()
    one.clock.tick(620)
    one.press(key)
    assert one.state.phase.value in ("music", "end")
