"""A player's own files, with anything in them: read, or refused in one line naming the file."""

import json

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from drills.errors import TableError
from drills.neck.tuning import read_tunings
from drills.theory.quality import read_qualities

LABELS = ["1", "b3", "3", "4", "5", "b5", "#5", "6", "b7", "7", "bb7", "9", "x", ""]
SCALARS = st.sampled_from(
    [
        -1,
        0,
        3,
        7,
        15,
        10**30,
        True,
        False,
        1.5,
        -0.0,
        "",
        "a",
        "\n",
        "é",
        "b5",
        "/",
        "(",
        "7#4",
        "m7",
        "Ionian",
        "E2",
        "H2",
        *LABELS,
    ]
)
VALUES = SCALARS | st.lists(SCALARS, max_size=5) | st.lists(st.lists(SCALARS, max_size=2), max_size=2)
NAMES = st.sampled_from(["mine", "m7", "7", "M7", "my own", "a\nb", "\x1b[2J", "é", "drop-d", "", "a" * 300])

QUALITY_FIELDS = st.fixed_dictionaries(
    {},
    optional={
        "degrees": VALUES | st.lists(st.sampled_from(LABELS), max_size=5) | st.just(["1", "3", "5", "6", "b7"]),
        "semitones": VALUES | st.lists(st.integers(0, 12), max_size=5) | st.just([0, 4, 7, 9, 10]),
        "tier": VALUES,
        "symbols": VALUES | st.just(["7add6"]),
        "modes": VALUES | st.just(["Mixolydian"]),
        "met": VALUES | st.just("here"),
        "odd": VALUES,
    },
)
TUNING_FIELDS = st.fixed_dictionaries(
    {},
    optional={
        "open": VALUES | st.lists(st.sampled_from(["E2", "A2", "D3", "G9", "C-1", "Bb1", "H1"]), max_size=14),
        "title": VALUES,
        "scale_mm": VALUES | st.integers(100, 1500),
        "odd": VALUES,
    },
)


def toml_of(kind, rows):
    """A TOML file of rows; JSON writes every value we draw as TOML would."""
    lines = []
    for name, fields in rows.items():
        lines.append(f"[{kind}.{json.dumps(name)}]")
        lines += [f"{field} = {json.dumps(value)}" for field, value in fields.items()]
    return "\n".join(lines)


def read_or_refused(read, path, content):
    """Whether a file was read; a refusal must be one line that names the file."""
    path.write_bytes(content)
    try:
        read(path)
    except TableError as error:
        message = str(error)
        assert str(path) in message and message.isprintable() and len(message) < 1500
        return False
    return True


fresh_file = settings(suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])


@settings(fresh_file, max_examples=400)
@given(st.dictionaries(NAMES, QUALITY_FIELDS, min_size=1, max_size=2))
def test_any_quality_table_is_read_or_refused_in_one_line(tmp_path, rows):
    """Whatever the rows of a quality file hold, they are read or refused in one line naming the file."""
    read_or_refused(read_qualities, tmp_path / "qualities.toml", toml_of("quality", rows).encode())


@settings(fresh_file, max_examples=400)
@given(st.dictionaries(NAMES, TUNING_FIELDS, min_size=1, max_size=2))
def test_any_tuning_table_is_read_or_refused_in_one_line(tmp_path, rows):
    """Whatever the rows of a tuning file hold, they are read or refused in one line naming the file."""
    read_or_refused(read_tunings, tmp_path / "tunings.toml", toml_of("tuning", rows).encode())


@settings(fresh_file, max_examples=500)
@given(
    st.binary(max_size=60) | st.text(st.sampled_from("[].\"=quality tuning\n{}'\\u#1,"), max_size=60).map(str.encode)
)
def test_any_bytes_are_read_or_refused_in_one_line(tmp_path, content):
    """Any bytes in the place of a table are read as an empty one or refused in one line."""
    read_or_refused(read_qualities, tmp_path / "q.toml", content)
    read_or_refused(read_tunings, tmp_path / "t.toml", content)


@settings(fresh_file, max_examples=300)
@given(
    st.sampled_from(["a", "b7", "9x"]),
    st.sets(st.integers(1, 11), min_size=2, max_size=5),
    st.integers(0, 9),
)
def test_a_sound_row_is_always_read(tmp_path, name, above, tier):
    """A row whose formula and semitones agree is read, whatever tones it holds, and means those tones."""
    labels = ["1", "b2", "2", "b3", "3", "4", "b5", "5", "b6", "6", "b7", "7"]
    semitones = [0, *sorted(above)]
    row = {
        "degrees": [labels[semitone] for semitone in semitones],
        "semitones": semitones,
        "tier": tier,
        "symbols": [f"own{name}"],
        "modes": [],
        "met": "",
    }
    path = tmp_path / "qualities.toml"
    assert read_or_refused(read_qualities, path, toml_of("quality", {f"q{name}": row}).encode())
    assert list(read_qualities(path).named(f"q{name}").semitones) == semitones
