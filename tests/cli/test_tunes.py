"""`neckwork tune`, `path`, `stages`, `etude`, `choruses` and `track`: what a player types and what comes back."""

from __future__ import annotations

import importlib.util
import json
import re
import wave
from pathlib import Path

import mido
import pytest
import xmlschema

from drills.cli import main
from drills.harmony.neck_layout import three_strings
from drills.neck.tuning import STANDARD
from drills.shapes.form import ARPEGGIO
from scheduler.log.review_log import ReviewLog

TWO_FIVE_ONE = "Cm7 F7 Bbmaj7"
BLUES_ROOTS = "F7 Bb7 F7 F7 Bb7 Bdim7 F7 D7 Gm7 C7 F7 C7"


def data(ran):
    """What a command answered as JSON; it must have worked."""
    assert ran.code == 0, ran.err
    return json.loads(ran.out)


def places(line) -> list[str]:
    """Notes of a line by bar, as the rules print them."""
    bars: dict[int, list[str]] = {}
    for note in line["notes"]:
        name = note["note"].rstrip("0123456789")
        bars.setdefault(note["bar"], []).append(f"{name}({note['string']}/{note['fret']})")
    return [" ".join(bar) for bar in bars.values()]


# ---- a page of changes


def test_the_pages_that_ship_are_listed_with_the_players_own(neckwork, tmp_path):
    """Blues in F, minor blues, ii-V-I through the keys and a 32-bar form are there; a page put beside them too."""
    neckwork("setup", "--top-fret", "15")
    own = tmp_path / "home" / "decks"
    own.mkdir(parents=True, exist_ok=True)
    (own / "mine.changes").write_text("| Cm7 | F7 |", encoding="utf-8")
    rows = {row["name"]: row["bars"] for row in data(neckwork("tune", "--json"))}
    assert rows["blues-in-f"] == rows["blues-in-bb"] == rows["minor-blues-in-c"] == 12
    assert rows["two-five-one-round"] == 48 and rows["four-chord-round"] == rows["thirty-two-bars-in-eb"] == 32
    assert rows["mine"] == 2
    assert "mine" in neckwork("tune").out


def test_a_page_shows_bars_keys_and_modes(neckwork):
    """The rules' minor ii-V-i modes (D2, stage 7), the key of each chord, and all bars in order."""
    ran = neckwork("tune", "Dm7b5 G7b9 Cm6")
    for words in ("ii of C minor: Locrian", "V of C minor: Phrygian dominant", "i of C minor: melodic minor"):
        assert words in ran.out
    found = data(neckwork("tune", "blues-in-f", "--json"))
    assert " ".join(bar["chords"][0]["chord"] for bar in found["bars"]) == BLUES_ROOTS
    assert found["modes"][0]["mode"] == "Mixolydian"


def test_the_players_mode_is_taken_and_shown(neckwork):
    """A mode in braces after the chord stands, and is marked as the player's choice."""
    ran = neckwork("tune", "| Cm7{Aeolian} | F7 |")
    assert re.search(r"Cm7 +ii of Bb: Aeolian \(your choice\); bar 1", ran.out)


def test_a_page_moves_to_another_key(neckwork):
    """The blues in F, moved to Bb, is the blues in Bb, letter for letter."""
    moved = data(neckwork("tune", "blues-in-f", "--transpose", "Bb", "--json"))
    there = data(neckwork("tune", "blues-in-bb", "--json"))
    assert [bar["chords"] for bar in moved["bars"]] == [bar["chords"] for bar in there["bars"]]


def test_some_bars_by_themselves(neckwork):
    """Bars 17 to 24 of the AABA form are its bridge, chord for chord, in every command; others are refused."""
    bridge = data(neckwork("tune", "four-chord-round", "--bars", "17-24", "--json"))
    whole = data(neckwork("tune", "four-chord-round", "--json"))
    assert [bar["chords"] for bar in bridge["bars"]] == [bar["chords"] for bar in whole["bars"][16:24]]
    assert {bar["section"] for bar in bridge["bars"]} == {"B"}
    assert [bar["bar"] for bar in bridge["bars"]] == [*range(1, 9)]
    for name in ("path", "stages", "etude", "choruses", "track"):
        assert neckwork(name, "four-chord-round", "--bars", "8", "--json").code == 0
    assert "within 1 to 32" in neckwork("tune", "four-chord-round", "--bars", "30-40").err
    assert "such as 3-9" in neckwork("tune", "four-chord-round", "--bars", "9-3").err
    assert neckwork("tune", "four-chord-round", "--bars", "bridge").code == 2


def test_the_whole_neck_of_a_bar(neckwork):
    """Every place of every chord tone of bar 6 (Bdim7), counted from open pitches; root in brackets."""
    (found,) = data(neckwork("tune", "blues-in-f", "--map", "--bar", "6", "--json"))
    classes = {11, 2, 5, 8}  # B D F Ab
    there = {(s, f) for s in range(1, 7) for f in range(16) if STANDARD.midi(s, f) % 12 in classes}
    assert {(place["string"], place["fret"]) for place in found["places"]} == there
    assert neckwork("tune", "blues-in-f", "--map", "--bar", "6").out.count("[1]") == sum(
        place["degree"] == "1" for place in found["places"]
    )
    assert neckwork("tune", "blues-in-f", "--map", "--bar", "99").code == 1
    assert neckwork("tune", "blues-in-f", "--bar", "6").code == 2


@pytest.mark.parametrize("columns", [40, 80])
@pytest.mark.parametrize(
    "args",
    [
        ("tune", "four-chord-round"), ("tune", "blues-in-f", "--map", "--labels", "notes"),
        ("path", "thirty-two-bars-in-eb"), ("stages", "blues-in-f"),
        ("stages", "thirty-two-bars-in-eb", "--stage", "7"), ("stages", "blues-in-f", "--stage", "2"),
        ("etude", "blues-in-f", "--density", "triplets", "--why"),
        ("choruses", TWO_FIVE_ONE),
    ],
    ids=lambda args: " ".join(args),
)  # fmt: skip
def test_nothing_is_wider_than_the_screen(neckwork, monkeypatch, columns, args):
    """At 40 and at 80 columns no line of any view passes the edge."""
    monkeypatch.setenv("COLUMNS", str(columns))
    ran = neckwork(*args)
    assert ran.code == 0
    assert max(map(len, ran.out.splitlines())) <= columns


@pytest.mark.parametrize(
    "args",
    [
        ("tune", "| C△7 | B♭7 Eø7 |"), ("tune", "B♭△7", "--map"), ("path", "| C△7 | B♭7 |"),
        ("stages", "| C△7 | B♭7 |", "--stage", "3"), ("etude", "| C△7 | B♭7 |", "--why"), ("choruses", "| C△7 | B♭7 |"),
    ],
    ids=lambda args: " ".join(args),
)  # fmt: skip
def test_an_ascii_reader_gets_plain_characters(neckwork, args):
    """Set to plain characters, the player sees Cmaj7 and Bb7 however they were written."""
    neckwork("setup", "--ascii")
    ran = neckwork(*args)
    assert ran.code == 0 and ran.out.isascii()
    assert "Bb" in ran.out


# ---- paths


def test_three_passes_at_once_and_their_speech(neckwork):
    """Without a start, three passes, from strings 6, 5 and 4 (drills/RULES.md, G18), as data and spoken."""
    found = data(neckwork("path", TWO_FIVE_ONE, "--json"))["passes"]
    assert [path["total_frets"] for path in found] == [0, 2, 2]
    spoken = neckwork("path", TWO_FIVE_ONE, "--plain").out
    assert spoken.count("Path step by step") == 3 and "|" not in spoken


def test_a_path_from_a_place_in_a_window_on_chosen_strings(neckwork):
    """A chosen start, two root strings, a fret window and another measure reach the plan (rules D1, G20)."""
    found = data(neckwork("path", "Cmaj7 Am7 Dm7 G7 Cmaj7", "--from", "6/8", "--planned", "--json"))
    steps = [f"{step['note']}({step['string']}/{step['fret']})" for step in found["steps"]]
    assert steps == ["C(6/8)", "A(4/7)", "D(6/10)", "G(5/10)", "C(4/10)"] and found["total_frets"] == 4
    narrow = data(
        neckwork(
            "path", "blues-in-f", "--root-strings", "65", "--frets", "1-9", "--planned", "--measure", "mm", "--json"
        )
    )["passes"]
    assert {path["measure"] for path in narrow} == {"mm"}
    assert {step["string"] for path in narrow for step in path["steps"]} == {6, 5}
    assert all(1 <= step["fret"] <= 9 for path in narrow for step in path["steps"])
    for wrong in (("--from", "13"), ("--frets", "9-1"), ("--root-strings", "66"), ("--measure", "mm")):
        assert neckwork("path", TWO_FIVE_ONE, *wrong).code == 2
    assert neckwork("path", TWO_FIVE_ONE, "--from", "4/3").code == 1
    for said in ("65", "654"):
        refused = neckwork("path", TWO_FIVE_ONE, "--strings", said)
        assert refused.code == 2 and "--root-strings 65" in refused.err  # a string set means one thing everywhere
    assert "--root-strings" in neckwork("path", "--help").out and " --strings" not in neckwork("path", "--help").out


# ---- stages


def test_stages_are_the_rules(neckwork):
    """Stages 3 and 5 of ii-V-I in Bb, note for note (rules D2 and G21)."""
    (stage,) = data(neckwork("stages", TWO_FIVE_ONE, "--stage", "3", "--json"))["stages"]
    assert places(stage["lines"][0]) == [
        "C(6/8) Eb(6/11) G(5/10) Bb(4/8)", "F(5/8) A(4/7) C(4/10) Eb(3/8)", "Bb(4/8) D(3/7) F(3/10) A(2/10)",
    ]  # fmt: skip
    (stage,) = data(neckwork("stages", TWO_FIVE_ONE, "--stage", "5", "--json"))["stages"]
    assert places(stage["lines"][0]) == [
        "C(6/8) Eb(6/11) G(5/10) Bb(4/8)", "A(4/7) F(5/8) Eb(5/6) C(6/8)", "Bb(6/6) D(5/5) F(5/8) A(4/7)",
    ]  # fmt: skip
    assert [stage["stage"] for stage in data(neckwork("stages", TWO_FIVE_ONE, "--json"))["stages"]] == list(
        range(1, 11)
    )


def test_a_stage_is_shown_spoken_and_looked_ahead_at(neckwork):
    """Tablature with counts on screen; sentences for a screen reader; a stage not yet open says what opens it."""
    shown = neckwork("stages", TWO_FIVE_ONE, "--stage", "3").out
    assert "Not open yet: a look ahead." in shown and " 6 |8-11-" in shown
    spoken = neckwork("stages", TWO_FIVE_ONE, "--stage", "1", "--plain").out
    assert "beat 1: string 6 fret 8, C, 1, finger 2, four beats." in spoken and "Not open" not in spoken


def test_in_time_twice_opens_the_next_stage_and_the_log_keeps_it(neckwork, tmp_path):
    """The entry ticket: once is not enough, twice is; a stage that is not open cannot be ticked off (rule D2)."""
    assert "opens when stage 1 was in time once more" in neckwork("stages", TWO_FIVE_ONE, "--in-time").out
    assert neckwork("stages", TWO_FIVE_ONE, "--stage", "4", "--in-time").code == 1
    assert "Stage 3, Spell up, opens when stage 2" in neckwork("stages", TWO_FIVE_ONE, "--in-time").out
    assert data(neckwork("stages", TWO_FIVE_ONE, "--json"))["ticket"] == {"stage": 2, "passes": 0}
    overview = neckwork("stages", TWO_FIVE_ONE).out
    assert re.search(r"^ +1 Roots +in time$", overview, re.M) and re.search(r"^> 2 Grips +open", overview, re.M)
    # Other changes have a ticket of their own.
    assert data(neckwork("stages", "blues-in-f", "--json"))["ticket"] == {"stage": 1, "passes": 0}
    with ReviewLog(tmp_path / "home" / "log.sqlite3") as log:
        (value,) = log.standing().tickets.values()
    assert value == "stage 2, 0 in time"


def test_a_stage_is_played_by_letters(neckwork, monkeypatch):
    """Piped letters: two passes in time open stage 2, o goes there, u takes back, and the end of input stops."""
    typed = iter(["t", "t", "o", "t", "u", "x", "h"])

    def answer(_prompt=""):
        try:
            return next(typed)
        except StopIteration:
            raise EOFError from None

    monkeypatch.setattr("builtins.input", answer)
    ran = neckwork("stages", TWO_FIVE_ONE, "--play", "--quiet")
    assert ran.code == 0
    assert "In time, twice: stage 2, Grips, is open." in ran.out and "Stage 2, Grips." in ran.out
    assert "Raise the tempo only after three clean passes on different days" in ran.out
    assert "Taken back." in ran.out
    assert data(neckwork("stages", TWO_FIVE_ONE, "--json"))["ticket"] == {"stage": 2, "passes": 0}


@pytest.fixture(scope="module")
def schema():
    """The MusicXML 4.0 schema, as the W3C published it."""
    root = Path(importlib.util.find_spec("musicxml").origin).parent
    return xmlschema.XMLSchema(str(root / "generate_classes" / "musicxml_4_0.xsd"), allow="local")


def test_every_stage_goes_to_files(neckwork, tmp_path, schema):
    """All lines of all stages as MusicXML valid by the XSD and as MIDI, numbered; tempo and swing are in both."""
    sheet, song = str(tmp_path / "page.musicxml"), str(tmp_path / "page.mid")
    ran = neckwork("stages", TWO_FIVE_ONE, "--tempo", "66", "--swing", "--musicxml", sheet, "--midi", song)
    assert ran.code == 0
    sheets, songs = sorted(tmp_path.glob("page-*.musicxml")), sorted(tmp_path.glob("page-*.mid"))
    lines = [line for stage in data(neckwork("stages", TWO_FIVE_ONE, "--json"))["stages"] for line in stage["lines"]]
    assert len(sheets) == len(lines) and len(songs) == len(lines) + 1  # stage 10 is the track alone
    for path in sheets:
        assert [error.reason for error in schema.iter_errors(str(path))] == []
        text = path.read_text(encoding="utf-8")
        assert "<per-minute>66</per-minute>" in text and "<swing-type>eighth</swing-type>" in text
    for path in songs:
        tempi = [
            message.tempo for track in mido.MidiFile(path).tracks for message in track if message.type == "set_tempo"
        ]
        assert tempi == [round(60_000_000 / 66)]


def test_a_line_alone_has_one_part(neckwork, tmp_path):
    """With --alone the file holds the guitar's part and no count-in; without it count-in and band too."""
    parts = {}
    for name, more in (("alone", ("--alone",)), ("track", ())):
        song = tmp_path / f"{name}.mid"
        assert neckwork("etude", TWO_FIVE_ONE, "--midi", str(song), *more).code == 0
        parts[name] = {track.name for track in mido.MidiFile(song).tracks[1:]}
    assert parts == {"alone": {"Guitar"}, "track": {"Guitar", "Bass", "Click", "Comping", "Drums"}}


def test_one_stage_as_sound(neckwork, tmp_path):
    """One line of one stage is one file: a bar of count-in and three bars at 120 last about eight seconds."""
    wav = tmp_path / "up.wav"
    assert neckwork("stages", TWO_FIVE_ONE, "--stage", "2", "--tempo", "120", "--wav", str(wav)).code == 0
    with wave.open(str(wav)) as file:
        assert 8.0 <= file.getnframes() / file.getframerate() <= 9.0


# ---- etude lines


def test_an_etude_line_is_the_same_each_time_and_says_why(neckwork):
    """The same question, the same line; every note has its place and its reason; never called anything grander."""
    first = neckwork("etude", TWO_FIVE_ONE, "--frets", "5-10", "--seed", "3", "--why")
    assert (
        first.code == 0 and first.out == neckwork("etude", TWO_FIVE_ONE, "--frets", "5-10", "--seed", "3", "--why").out
    )
    found = data(neckwork("etude", TWO_FIVE_ONE, "--frets", "5-10", "--seed", "3", "--json"))
    assert found["kind"] == "etude line"
    reasons = re.findall(r"^\d+:\d[&eatl]? [A-G][b#]?\(\d/\d+\): ", first.out, re.M)
    assert len(reasons) == len(found["notes"])
    assert "improvis" not in (first.out + json.dumps(found)).lower()


def test_one_note_is_changed_by_its_place(neckwork):
    """Asked for C on beat 3 of bar 2 it stands there; a note the chord has not is refused with those it has."""
    asked = ("etude", TWO_FIVE_ONE, "--frets", "5-10", "--density", "eighths")
    changed = data(neckwork(*asked, "--change", "2:3=C", "--json"))
    assert [note["note"][0] for note in changed["notes"] if (note["bar"], note["beat"]) == (2, 3)] == ["C"]
    before = data(neckwork(*asked, "--json"))
    other = data(neckwork(*asked, "--change", "1:2&", "--json"))
    at = next(i for i, note in enumerate(before["notes"]) if (note["bar"], note["beat"]) == (1, 2.5))
    assert other["notes"][at]["midi"] != before["notes"][at]["midi"]
    refused = neckwork(*asked, "--change", "2:3=B")
    assert refused.code == 1 and "what may stand there is F, A, C, Eb" in refused.err
    assert "it has 2:1, 2:1&" in neckwork(*asked, "--change", "2:9").err
    assert neckwork(*asked, "--change", "third").code == 2


def test_range_and_owned_forms(neckwork, tmp_path):
    """No note leaves the range; with nothing firm in the log the first chord without a form is named."""
    found = data(neckwork("etude", TWO_FIVE_ONE, "--range", "C3-C5", "--json"))
    assert all(48 <= note["midi"] <= 72 for note in found["notes"])
    ran = neckwork("etude", TWO_FIVE_ONE, "--owned")
    assert ran.code == 1 and "bar 1, Cm7: none of the forms you own" in ran.err
    assert neckwork("etude", TWO_FIVE_ONE, "--range", "5-9").code == 2


def test_firm_forms_are_owned(neckwork, tmp_path):
    """After weeks of clean passes an arpeggio is owned, and an owned line over its chord keeps to its places."""
    from datetime import UTC, datetime, timedelta

    from drills.cli.player_files import player_of
    from scheduler.grade import Grade
    from scheduler.review import Review

    player = player_of()
    finder = player.finder(player.neck())
    from drills.changes.changes_reading import parse_changes

    chord = parse_changes("Cm7").slots[0][1].chord
    shape = finder.find(chord, ARPEGGIO, three_strings(6))
    skill = f"form:{shape.signature}"
    start = datetime(2026, 1, 5, 18, tzinfo=UTC)
    with player.open_log() as log:
        for day in (0, 1, 3, 6, 10, 17, 27, 40, 60):
            log.record(Review("card", Grade.IN_TIME, start + timedelta(days=day), 9.0, skills=(skill,)))
    assert player.firm_forms() == {shape.signature}
    ran = neckwork("etude", "| Cm7 | Cm7 |", "--owned", "--difficulty", "1", "--density", "quarters", "--json")
    places_of = {(note.string, note.fret) for note in shape.notes}
    # The form is movable: on 5-4-3 it is the same drawing, so its places count too.
    other = finder.find(chord, ARPEGGIO, three_strings(5))
    places_of |= {(note.string, note.fret) for note in other.notes} if other.signature == shape.signature else set()
    assert {(note["string"], note["fret"]) for note in data(ran)["notes"]} <= places_of


def test_two_demonstration_choruses(neckwork):
    """The first is chord tones only, note for note; the second only notes of each mode, chord tones on 1 and 3
    (rule G32)."""
    first, second = data(neckwork("choruses", TWO_FIVE_ONE, "--json"))
    chords = {1: "C Eb G Bb", 2: "F A C Eb", 3: "Bb D F A"}

    def belongs(note):
        """Bar and beat: of a note struck early those it anticipates."""
        beat = note["beat"] + note.get("early", 0)
        return (note["bar"] + 1, beat - 4) if beat >= 5 else (note["bar"], beat)

    for note in first["notes"]:
        assert note["note"].rstrip("0123456789") in chords[belongs(note)[0]].split()
    modes = {1: "C D Eb F G A Bb", 2: "F G A Bb C D Eb", 3: "Bb C D Eb F G A"}  # Dorian, Mixolydian, Ionian
    for note in second["notes"]:
        bar, beat = belongs(note)
        wanted = chords if beat in (1, 3) else modes
        assert note["note"].rstrip("0123456789") in wanted[bar].split()
    assert any(note["role"] == "mode note" for note in second["notes"])


# ---- tracks


def test_a_track_as_midi_goes_through_the_keys(neckwork, tmp_path):
    """Two keys by fourths, twice each: the bass of each chorus begins on F F Bb Bb; the count-in is one bar."""
    song = tmp_path / "blues.mid"
    args = ("--round", "fourths", "--keys", "2", "--times", "2", "--tempo", "120", "--straight", "--midi", str(song))
    assert neckwork("track", "blues-in-f", *args).code == 0
    file = mido.MidiFile(song, clip=False)
    bass = next(track for track in file.tracks if track.name == "Bass")
    at, found = 0, {}
    for message in bass:
        at += message.time
        if message.type == "note_on" and message.velocity:
            found.setdefault(at / file.ticks_per_beat, message.note % 12)
    assert [found[4 + 48 * turn] for turn in range(4)] == [5, 5, 10, 10]


def test_drone_vamp_volume_and_refusals(neckwork, tmp_path):
    """A drone of the seconds asked, softer at less volume; a vamp of the bars asked; both at once is wrong usage."""
    peaks = []
    for volume in ("100", "25"):
        wav = tmp_path / f"{volume}.wav"
        assert neckwork("track", "Cm7", "--drone", "3", "--volume", volume, "--wav", str(wav)).code == 0
        with wave.open(str(wav)) as file:
            assert file.getnframes() / file.getframerate() == pytest.approx(3.0, abs=0.3)
            raw = file.readframes(file.getnframes())
        peaks.append(max(abs(int.from_bytes(raw[i : i + 2], "little", signed=True)) for i in range(0, len(raw), 2)))
    assert peaks[0] <= 0.5 * 32767 + 1 and peaks[1] == pytest.approx(peaks[0] / 4, rel=0.05)
    chords = data(neckwork("track", "Cm7 F7", "--vamp", "5", "--json"))
    assert [each["bass"] % 12 for each in chords] == [0] * 5 + [5] * 5
    assert neckwork("track", "Cm7", "--drone", "3", "--vamp", "3").code == 2
    assert neckwork("track", "| N.C. |", "--midi", str(tmp_path / "x.mid")).code == 1


@pytest.mark.parametrize("name", ["tune", "path", "stages", "etude", "choruses", "track"])
@pytest.mark.parametrize("text", ["nothing.changes", "| Cm7 | F7x |", "|", "", "\x00", "missing.musicxml", "Cm7|F7||:"])
def test_wrong_changes_are_refused_in_one_line(neckwork, name, text, capsys):
    """Whatever cannot be read is said in a line that names the place, never with a traceback."""
    ran = neckwork(name, text)
    assert ran.code in (0, 1) and "Traceback" not in ran.err and "fault inside" not in ran.err
    if ran.code:
        assert ran.err.startswith("neckwork: ")


def test_each_command_says_how_in_its_help(capsys):
    """Help has an example and, where a tempo can be set, the word on raising it."""
    for name in ("tune", "path", "stages", "etude", "choruses", "track"):
        capsys.readouterr()
        assert main([name, "--help"]) == 0
        assert f"Examples: neckwork {name}" in " ".join(capsys.readouterr().out.split())


def test_a_stage_without_a_line_writes_no_score_and_says_so(neckwork, tmp_path):
    """Stage 10 is played freely: a score of it is refused with what there is instead, and no file is made."""
    score = tmp_path / "ten.musicxml"
    ran = neckwork("stages", "Cm7", "--stage", "10", "--musicxml", str(score))
    assert ran.code == 2 and "--midi and --wav give its track" in ran.err
    assert not score.exists()
    track = tmp_path / "ten.mid"
    assert neckwork("stages", "Cm7", "--stage", "10", "--midi", str(track)).code == 0 and track.exists()
