"""Every command and example that the documents show is run."""

from __future__ import annotations

import importlib
import inspect
import re
import shlex
import shutil
from pathlib import Path

import click
import pytest

from drills.cards.deck import read_deck
from drills.cards.material import gather
from drills.cli import COMMANDS, group, main
from drills.neck.neck import Neck
from tests.listening.plucked import save, take

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
COMMAND_LINES = [
    line
    for block in re.findall(r"```sh\n(.*?)```", README, re.S)
    for line in block.splitlines()
    if line.startswith("neckwork ")
]


def _help_texts(command: click.Command, name: str) -> dict[str, str]:
    """The help of a command and of the commands below it, by what is typed."""
    texts = {name: inspect.cleandoc(command.help or "")}
    if isinstance(command, click.Group):
        for below, one in command.commands.items():
            texts |= _help_texts(one, f"{name} {below}")
    return texts


def _of(name: str) -> click.Command:
    module = importlib.import_module(f"drills.cli.{name.replace('import', 'import_')}")
    return module.command


HELP_TEXTS = {"neckwork": inspect.cleandoc(group.help or "")}
for _name in COMMANDS:
    HELP_TEXTS |= _help_texts(_of(_name), f"neckwork {_name}")
EXAMPLES = {
    name: [line.strip() for line in text.splitlines() if line.startswith("  neckwork ")]
    for name, text in HELP_TEXTS.items()
}
TOO_EARLY = {"neckwork refit": "Too early", "neckwork sample everything": "Come back after some weeks"}
"""What a player of one session is told instead."""

HELP_LINES = sorted({line for lines in EXAMPLES.values() for line in lines} | set(COMMAND_LINES))


def _nothing_more(answers=()):
    """Standard input that ends after some lines."""
    left = iter(answers)

    def answer(_prompt=""):
        try:
            return next(left)
        except StopIteration:
            raise EOFError from None

    return answer


@pytest.fixture(scope="module")
def played(tmp_path_factory):
    """A folder with a home whose player has begun a session, its export, and one sent by a student."""
    folder = tmp_path_factory.mktemp("played")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("NECKWORK_HOME", str(folder / "home"))
        patch.setenv("TERM", "dumb")
        patch.chdir(folder)
        patch.setattr("builtins.input", _nothing_more(["", "", "", "", "", "c", "q", ""]))
        assert main(["session", "--minutes", "3"]) in (0, 130)
        main(["export", "-o", "log.json"])
        (folder / "lessons").mkdir()
        main(["export", "-o", "lessons/Student 1.json"])
    save(
        folder / "cm7b5-played.wav",
        take([(0.6 + number / 2, midi) for number, midi in enumerate((48, 51, 54, 58, 60))]),
    )
    save(folder / "blues-played.wav", take([(3.0, 53), (3.75, 57)]))
    save(folder / "strings.wav", take([(0.6 + number, midi) for number, midi in enumerate((40, 45, 50, 55, 59, 64))]))
    return folder


@pytest.fixture
def home(played, tmp_path, monkeypatch):
    """The same for one test alone, and nothing to read on standard input."""
    shutil.copytree(played, tmp_path, dirs_exist_ok=True)
    monkeypatch.setenv("NECKWORK_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("TERM", "dumb")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("builtins.input", _nothing_more())
    return tmp_path


@pytest.mark.parametrize("name", HELP_TEXTS)
def test_every_command_helps_with_examples_of_its_own(name):
    """`--help` shows at least one example, and every example calls the command it stands under."""
    lines = EXAMPLES[name]
    assert lines
    assert name == "neckwork" or all(line == name or line.startswith(f"{name} ") for line in lines)


@pytest.mark.parametrize("line", HELP_LINES)
def test_every_command_shown_runs(line, home, capsys):
    """As a reader would type it; a session may end for want of input, nothing else may fail."""
    args = shlex.split(line)[1:]
    if "student-1" in args and "new" not in args:  # the deck the line before has made
        assert main(["decks", "new", "student-1", "--quality", "m7", "--later", "3:7"]) == 0
    code = main(args)
    if line in TOO_EARLY:  # months of practice are not made up here
        assert code == 1 and TOO_EARLY[line] in capsys.readouterr().err
        return
    assert code in ((0, 130) if args[0] in ("session", "placement", "round") else (0,)), capsys.readouterr().err


def test_the_two_set_up_commands_are_what_ci_runs():
    """README's first two code blocks set everything up; .ci/run calls the second."""
    first, second = re.findall(r"```sh\n(.*?)\n```", README, re.S)[:2]
    assert first.startswith("python3 -m venv") and first.endswith("neckwork")
    assert "-m pytest" in second
    assert "README.md" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


def test_the_deck_in_the_deck_page_is_a_deck(tmp_path):
    """The example of decks/README.md reads, and makes the cards it says."""
    text = (ROOT / "decks" / "README.md").read_text(encoding="utf-8")
    path = tmp_path / "student.toml"
    path.write_text(re.search(r"```toml\n(.*?)```", text, re.S)[1], encoding="utf-8")
    deck = read_deck(path)
    found = gather(deck, Neck())
    assert {card.chord.name for card in found.cards.values()} >= {"F-7", "Bbm7b5"}
    assert all(card.strings.id == "432" for card in found.cards.values())


def test_the_readme_is_short():
    """Under 900 words, code and tables counted; the rest stands in `--help` and on pages beside what they describe."""
    assert len(README.split()) < 900


def test_the_readme_leads_to_every_command():
    """`neckwork --help` lists every command, and README says so."""
    assert "neckwork --help" in README


DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md", "decks/README.md", "data/pictures/README.md"])
def test_links_of_a_page_lead_to_files(page):
    """Every link that is no address of the web names a file that is there."""
    path = ROOT / page
    targets = re.findall(r"\]\(([^)#:]+)\)", path.read_text(encoding="utf-8"))
    assert targets or page == "decks/README.md"
    assert [target for target in targets if not (path.parent / target).exists()] == []


def test_names_in_developers_are_where_it_says():
    """A function or class linked to a file is defined in it; the page is read in about five minutes."""
    named = re.findall(r"\[`(\w+)`\]\(([^)]+\.py)\)", DEVELOPERS)
    assert len(named) > 10
    for name, target in named:
        text = (ROOT / target).read_text(encoding="utf-8")
        assert re.search(rf"^(?:def|class) {name}\b", text, re.M), (name, target)
    assert len(DEVELOPERS.split()) < 1400
