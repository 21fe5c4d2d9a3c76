"""Prompts that take a typed answer: letters are text, a machine judges, the player may overrule."""

from __future__ import annotations

import pytest

from drills.cards.kinds import KEYSTROKE_S, KINDS
from drills.configuration.diagram_style import DiagramStyle
from drills.session.plain import spoken
from drills.session.screens import screen
from drills.session.session_state import Phase, TypedVerdict
from drills.session.terminal import run_lines
from scheduler.grade import Grade

NARROW = {"strings": "654", "quality": "maj7"}


def typing(sitting, prompt="diagram", **options):
    one = sitting(prompt=prompt, **NARROW, **options)
    one.start()
    one.through_lessons()
    assert one.state.typing
    return one


def shown(one, width=80, height=24):
    return "\n".join(line.text for line in screen(one.drill, DiagramStyle(), width, height))


def test_letters_are_text_and_enter_hands_in(sitting):
    """q, u, n and the digits are typed, not obeyed; Backspace takes one back; Enter takes the verdict."""
    one = typing(sitting)
    name = one.state.card.chord.name
    one.press(*"qun1", *["backspace"] * 4, seconds=0.1)
    one.press(*name, "enter", seconds=0.1)
    assert one.state.verdict == TypedVerdict(Grade.IN_TIME, f"Right: {name}.")
    one.press("enter")
    assert [review.grade for review in one.firsts()] == [Grade.IN_TIME]


def test_a_double_letter_is_not_a_held_key(sitting):
    """The same letter twice within a moment is two letters."""
    one = typing(sitting)
    one.press(*"ff", seconds=0.05)
    assert one.state.typed == "ff"


@pytest.mark.parametrize("prompt", ["note", "diagram", "spell"])
def test_right_and_quick_right_but_slow_and_wrong(sitting, prompt):
    """The lower end of the rules' seconds (B6), typing apart, divides In time from Clean; wrong is Looked."""
    given = []
    for spare in (-0.5, 0.5):
        one = typing(sitting, prompt)
        answer = RIGHT[prompt](one)
        limit = KINDS[prompt].quick_s + KEYSTROKE_S * (len(answer) + 1)
        one.press(*answer, seconds=0.0)
        one.press("enter", seconds=limit + spare)
        given.append(one.state.verdict.grade)
        one.log.close()
    one = typing(sitting, prompt)
    one.press(*WRONG[prompt](one), "enter", seconds=0.1)
    given.append(one.state.verdict.grade)
    assert given == [Grade.IN_TIME, Grade.CLEAN, Grade.LOOKED]


def _fret(one):
    card = one.state.card
    return (card.more.pitch_class - one.material.finder.tuning.midi(card.strings.numbers[0], 0)) % 12


RIGHT = {
    "note": lambda one: str(_fret(one)),
    "diagram": lambda one: one.state.card.chord.name,
    "spell": lambda one: " ".join(note.name for note in one.state.card.chord.notes),
}
WRONG = {
    "note": lambda one: str(_fret(one) + 1),
    "diagram": lambda one: one.state.card.chord.root.name + "dim7",
    "spell": lambda one: "C D E F",
}


def test_the_player_overrules_with_one_key(sitting):
    """Whatever the machine thought, a grade key says otherwise."""
    one = typing(sitting)
    one.press(*"Gdim7", "enter")
    assert one.state.verdict.grade is Grade.LOOKED
    assert spoken(one.drill)[0].startswith("Not G diminished seven: ")
    one.press("f")
    assert [review.grade for review in one.firsts()] == [Grade.FOUND]


@pytest.mark.parametrize(
    ("prompt", "nonsense", "expected"),
    [("note", "H", "Type a fret"), ("diagram", "X9", "Type a chord's name"), ("spell", "C & E", "Type the notes")],
)
def test_what_cannot_be_read_is_explained_and_asked_again(sitting, prompt, nonsense, expected):
    """Nothing is graded, the same prompt stays with an empty line, and the reason is said, also in lines."""
    one = typing(sitting, prompt)
    card = one.state.card
    one.press(*nonsense, "enter")
    assert one.state.phase is Phase.PROMPT and one.state.card is card and one.state.typed == ""
    assert one.state.note.startswith(expected)
    assert expected in shown(one).replace("\n", " ")
    assert any(expected in line for line in spoken(one.drill))
    one.press(*RIGHT[prompt](one), "enter")
    assert one.state.verdict.grade >= Grade.CLEAN and one.state.note == ""


def test_with_nothing_typed_the_player_grades(sitting):
    """An empty answer is an ordinary reveal: pedals alone can play these prompts too."""
    one = typing(sitting)
    one.press("pagedown")
    assert one.state.verdict is None
    one.press("pagedown")
    assert [review.grade for review in one.firsts()] == [Grade.CLEAN]


def test_a_slip_is_asked_only_where_causes_can_be_told_apart(sitting):
    """After a wrong name root or shape may have slipped, never 3 or 4; after a wrong fret nothing is asked."""
    one = typing(sitting)
    one.press(*"Gdim7", "enter", "enter")
    assert one.state.phase is Phase.REPEAT
    assert "1 root  2 shape" in shown(one) and "fingering" not in shown(one).split("slipped?")[1]
    one.press("3")
    assert one.state.given[-1].slip is None
    one.press("2")
    assert one.state.given[-1].slip == "shape"
    two = typing(sitting, "note")
    two.press(*"99"[:1], "backspace", *WRONG["note"](two), "enter", "enter")
    assert two.state.phase is Phase.REPEAT and "slipped" not in shown(two)
    two.press("1")
    assert two.state.given[-1].slip is None


def test_a_grade_taken_back_shows_the_same_question(sitting):
    """u brings back the answer of the question that was asked, to be graded by hand."""
    one = typing(sitting)
    question = one.state.question
    one.press(*"Gdim7", "enter", "enter")
    one.press("u")
    assert one.state.question is question and one.state.phase is Phase.ANSWER and one.state.verdict is None
    one.press("c")
    assert [review.grade for review in one.firsts()] == [Grade.CLEAN]


def test_no_tempo_and_no_rise_of_it_from_what_is_typed(sitting):
    """A typed answer carries no tempo, however quick: it was not played."""
    one = typing(sitting)
    one.press(*one.state.card.chord.name, "enter", "enter", seconds=0.4)
    assert [(review.grade, review.tempo_bpm) for review in one.firsts()] == [(Grade.IN_TIME, None)]


def test_a_session_away_from_the_guitar_asks_for_no_playing(sitting):
    """No warm-up and no musical minute; the end counts what was answered apart from what was played."""
    one = sitting(away=True, strings="654", quality="maj7")
    one.press("enter")
    assert one.state.phase in (Phase.LESSON, Phase.PROMPT)
    one.through_lessons()
    one.press("enter", "c")
    one.clock.tick(480)
    while not one.state.over:
        one.through_lessons()
        if not one.state.over:
            one.press("enter", "c", seconds=50)
            assert one.state.phase in (Phase.LESSON, Phase.PROMPT, Phase.END)
    assert one.state.phase is Phase.END
    tries = len(one.state.given)
    assert tries >= 2
    said = " ".join(shown(one).split())
    assert f"{tries} cards away from the guitar, " in said
    assert "first try right 2 of 2" in said
    assert "played" not in shown(one)


def test_tab_passes_and_escape_stops(sitting):
    """The two keys that are never text."""
    one = typing(sitting)
    first = one.state.card
    one.press(*"ab", "tab")
    one.through_lessons()
    assert one.state.card is not first
    assert one.state.typed == ""
    one.press("escape")
    assert one.state.phase.value in ("end", "done")


def test_typed_answers_work_in_lines(sitting):
    """In spoken lines the whole line is the answer, Enter takes the verdict, and quit still stops."""
    one = typing(sitting)
    lines = iter([one.state.card.chord.name, "", "", "", "quit", "", ""])

    def read():
        one.clock.tick(3)
        try:
            return next(lines)
        except StopIteration:
            raise EOFError from None

    said = []
    run_lines(one.drill, read, said.append)
    assert any(line.startswith("Right: ") for line in said)
    assert len(one.firsts()) >= 1


@pytest.mark.parametrize("minutes", [3, 10])
@pytest.mark.parametrize("deck", ["transitions", "finding"])
def test_a_deck_that_needs_two_new_forms_at_once_begins_all_the_same(sitting, deck, minutes):
    """A short session lets one new form in; a joint of two would otherwise never be met."""
    one = sitting(deck=deck, minutes=minutes)
    one.start()
    assert one.state.phase is Phase.LESSON
