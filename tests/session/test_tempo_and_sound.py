"""The tempo on a card rises by one rule only; what is sounded comes from the card's own strings and frets."""

from __future__ import annotations

from datetime import timedelta

from sittings import START, gathered

from drills.session.sounding import Speaker, two_five_one
from drills.session.tempi import FormTempi
from scheduler.grade import Grade
from scheduler.review import Review

FORM = ("form:arpeggio/x", "root:y")


def review(day, grade=Grade.IN_TIME, tempo=60.0, skills=FORM):
    return Review("card", grade, START + timedelta(days=day), 5.0, skills=skills, tempo_bpm=tempo)


def tempi(*reviews):
    found = FormTempi(60.0, lambda review: review.at.toordinal())
    for review in reviews:
        found.record(review)
    return found.risen


def test_three_clean_days_raise_the_tempo_by_four_to_eight():
    """Only In time at the tempo counts, and only on different days (drills/RULES.md, E, common practice)."""
    assert tempi(review(0), review(0), review(0), review(1)) == {}
    risen = tempi(review(0), review(1), review(2))[FORM[0]]
    assert 64 <= risen <= 68


def test_a_miss_stands_in_the_way_until_the_next_pass():
    """After a miss the last pass must be clean again."""
    missed = (review(0), review(1), review(2, Grade.LOOKED, None))
    assert tempi(*missed) == {}
    assert tempi(*missed, review(3)) != {}


def test_slow_and_clean_never_raises():
    """Clean is slow by its meaning; it neither raises the tempo nor hinders it."""
    assert tempi(*(review(day, Grade.CLEAN, None) for day in range(9))) == {}
    assert tempi(review(0), review(1, Grade.CLEAN, None), review(2), review(3)) != {}


def test_every_form_rises_by_itself():
    """Another form stays where it was."""
    other = ("form:arpeggio/z",)
    assert set(tempi(review(0), review(1), review(2), review(2, skills=other))) == {FORM[0]}


def test_a_grade_in_time_is_stored_with_its_tempo(sitting):
    """The log says at which tempo; the other grades say none."""
    one = sitting(tempo_of=lambda _: 72.0, strings="654", quality="maj7")
    one.start()
    one.play("t")
    one.play("c")
    assert [r.tempo_bpm for r in one.firsts()] == [72.0, None]


def test_the_two_five_one_of_a_chord():
    """maj7 is its one, m7 its two, 7 its five, m7b5 the two of minor (rule B1), in grips that lie near."""
    material = gathered()
    by_name = {card.chord.name: card for card in material.cards.values() if str(card.strings) == "6-5-4"}
    wanted = ("Bbmaj7", "Cm7", "F7", "Am7b5")
    names = {name: [grip.name for grip in two_five_one(material, by_name[name])] for name in wanted}
    assert names["Bbmaj7"] == names["Cm7"] == names["F7"] == ["Cm7", "F7", "Bbmaj7"]
    assert names["Am7b5"] == ["Am7b5", "D7", "Gm6"]
    frets = [grip.root.fret for grip in two_five_one(material, by_name["Bbmaj7"])]
    assert max(frets) - min(frets) <= 4


def test_a_machine_without_sound_is_told_of_once_and_announces_nothing():
    """The reason once; after that a wish to hear something is answered shortly, and no click is announced."""
    speaker = Speaker(find=lambda: [])
    speaker.click(60.0)
    assert speaker._made.wait(20)
    assert speaker.notice().startswith("No sound: nothing on this machine plays it")
    assert speaker.notice() == ""
    assert speaker.click(60.0) == "No sound on this machine."
    material = gathered(strings="654", quality="maj7")
    shape = material.answer(next(iter(material.cards.values())))
    assert speaker.hear(shape, None, None) == speaker.drone(shape, 3.0) == "No sound on this machine."
    assert speaker._made.wait(0)
    assert speaker.notice() == ""
    speaker.close()


class _Kept:
    """An outlet that keeps what it is given."""

    def __init__(self):
        self.lengths = []

    def start(self, path):
        self.lengths.append(path.stat().st_size)
        return self

    def poll(self):
        return 0

    def stop(self):
        return None


def test_the_speaker_sounds_everything_a_session_asks_for():
    """Place, single line, grip, drone, click and changes are rendered on the speaker's own thread."""
    material = gathered(strings="654", quality="maj7")
    card = next(iter(material.cards.values()))
    shape, grip, mode = material.answer(card), material.grip(card), material.mode(card)
    kept = _Kept()
    speaker = Speaker(find=lambda: [kept])
    assert speaker.notice() == ""
    for ask in (
        lambda: speaker.hear(shape, grip, mode),
        lambda: speaker.hear(shape, None, None),
        lambda: speaker.hear(grip, None, None),
        lambda: speaker.drone(shape, 3.0),
        lambda: speaker.click(120.0),
        lambda: speaker.changes([grip, grip, grip], 120.0, 4.0),
    ):
        ask()
        assert speaker._made.wait(20)
    speaker.close()
    assert len(kept.lengths) == 6
    assert min(kept.lengths) > 20_000
