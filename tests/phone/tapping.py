"""Taps through a phone page as a player would, in whichever browser, and sets its session beside the terminal's."""

from tests.session.sittings import Sitting

__all__ = ["GRADES", "RESTS", "assert_as_in_the_terminal", "document", "tapped"]

RESTS = "new Promise(done => setTimeout(() => done(true), {}))"
GRADES = {"Looked": 1, "Found it": 2, "Clean": 3, "In time": 4}
KEYS = {"Looked": "l", "Found it": "f", "Clean": "c", "In time": "t"}


def tapped(tab, grades, steps):
    """Plays so many steps with grades in turn; what was done, as (what, the card's words, grade)."""
    done, turn = [], iter(grades)
    while len(done) < steps:
        shown = tab.text()
        words = str(tab.run("document.querySelector('h1').innerText")).replace("\n", " ")
        if "Done, twice" in shown:
            tab.tap("Done, twice")
            done.append(("lesson", words, 0))
        elif "Show the answer" in shown:
            tab.tap("Show the answer")
            tab.run(RESTS.format(320))
            grade = next(turn)
            tab.tap(grade)
            done.append(("ask", words, GRADES[grade]))
            if grade == "Looked":
                tab.run(RESTS.format(320))
                tab.tap("Done")
        else:
            break
    return done


def document(tab):
    """The grades as the page gives them."""
    tab.tap("Show as text")
    return str(tab.run("document.getElementById('copy').value"))


def assert_as_in_the_terminal(done, reviews, folder):
    """The same cards, in the same order, graded alike in the terminal, leave the same reviews."""
    order = [review.card for review in reviews if review.attempt == "first" or review.spent is not None]
    assert len(order) == len(done)
    turns = iter(order)
    sitting = Sitting(folder / "terminal.sqlite3", chooser=lambda *_: lambda now, without: next(turns, None))
    sitting.start()
    for what, _, grade in done:
        if what == "lesson":
            sitting.press("enter", seconds=20)
        else:
            key = KEYS[next(name for name, value in GRADES.items() if value == grade)]
            sitting.press("enter", seconds=8)
            sitting.press(key, seconds=8)
            if grade == 1:
                sitting.press("enter", seconds=8)

    def told(review):
        return review.card, review.grade, review.attempt, review.skills, review.slip

    assert [told(review) for review in reviews] == [told(review) for review in sitting.log.reviews()]
    sitting.log.close()
