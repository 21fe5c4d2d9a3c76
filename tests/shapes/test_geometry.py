"""Where shapes lie: the smallest stretch against trying everything, drops by their definition, other instruments."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.errors import NotPlayableError
from drills.neck.neck import Neck
from drills.neck.strings import parse_strings
from drills.neck.tuning import parse_tuning, read_tunings
from drills.shapes.finder import ShapeFinder
from drills.shapes.form import ARPEGGIO, Form, parse_form
from drills.shapes.layout import layouts
from drills.shapes.same_place import grip_inside, mode_over
from drills.shapes.tones import rising_tones, voicing_tones
from drills.theory.chord import Chord
from drills.theory.interval import transpose_note
from drills.theory.key import parse_key
from drills.theory.mode import modes
from drills.theory.note import Note
from drills.theory.quality import shipped_qualities
from drills.theory.spelling import free_roots
from drills.theory.symbol import parse_chord
from tests import strategies as own

FINDER = ShapeFinder(Neck())
CORE = ("654", "543", "432")


def written(shape):
    """A shape as the rules write it, e.g. C(6/8) E(5/7)."""
    return " ".join(f"{note.pitch.note}({note.string}/{note.fret})" for note in shape.notes)


def find(chord, strings, form=ARPEGGIO, finder=FINDER):
    """A shape by chord symbol and string set."""
    return finder.find(parse_chord(chord), form, parse_strings(strings))


# ---- layouts

RISES = st.lists(st.integers(1, 5), min_size=2, max_size=7).map(
    lambda steps: [sum(steps[:i]) for i in range(len(steps) + 1)]
)


@given(RISES, st.lists(st.integers(1, 8), min_size=1, max_size=3), st.integers(2, 9))
def test_layouts_are_all_there_are(rise, gaps, widest):
    """Every way to lay a rising line on strings is found once, no wider than asked, the narrowest first."""
    if len(rise) <= len(gaps):
        assert layouts(rise, gaps, widest) == []
        return
    opens = [sum(gaps[:index]) for index in range(len(gaps) + 1)]
    expected = set()
    for on in product(range(len(opens)), repeat=len(rise)):
        if list(on) == sorted(on) and set(on) == set(range(len(opens))):
            offsets = tuple(note - opens[index] for note, index in zip(rise, on, strict=True))
            if max(offsets) - min(offsets) <= widest:
                expected.add((on, offsets))
    found = layouts(rise, gaps, widest)
    assert {(layout.strings, layout.offsets) for layout in found} == expected and len(found) == len(expected)
    assert [layout.span for layout in found] == sorted(layout.span for layout in found)


# Arpeggios whose narrowest layout is not the only one, with how many there are (counted over all placements, computed
# from the open strings); every other quality of tiers 1 to 3 but dimMaj7 has one narrowest layout on each set.
TIED = {
    ("654", "dim7"): 3, ("654", "maj7#5"): 3, ("654", "7#5"): 3, ("654", "m6"): 3,
    ("543", "dim7"): 3, ("543", "maj7#5"): 3, ("543", "7#5"): 3, ("543", "m6"): 3,
    ("432", "maj7"): 2, ("432", "7"): 2, ("432", "maj7#5"): 3, ("432", "7#5"): 3, ("432", "6"): 3, ("432", "7b5"): 2,
    ("432", "maj7b5"): 2, ("321", "maj7#5"): 3, ("321", "7#5"): 3,
}  # fmt: skip


@pytest.mark.parametrize("strings", [*CORE, "321"])
def test_narrowest_layouts_are_as_many_as_counted(strings):
    """The number of equally narrow layouts of each arpeggio equals the published count."""
    gaps = parse_strings(strings).gaps(FINDER.tuning)
    compared = 0
    for quality in shipped_qualities():
        if len(quality.intervals) == 4 and quality.name != "dimMaj7":
            found = layouts([*quality.semitones, 12], gaps, 9)
            narrowest = [layout for layout in found if layout.span == found[0].span]
            assert len(narrowest) == TIED.get((strings, quality.name), 1), quality.name
            compared += 1
    assert compared == 13


@pytest.mark.parametrize("strings", [*CORE, "321"])
@pytest.mark.parametrize(
    "form", [Form(start=start, closed=closed) for start in range(4) for closed in (True, False)], ids=str
)
def test_the_usual_layout_is_a_narrowest_one(form, strings):
    """The usual arpeggio spans no more frets than any other layout of its notes on the strings."""
    gaps = parse_strings(strings).gaps(FINDER.tuning)
    for quality in shipped_qualities():
        if form.start >= len(quality.intervals):
            continue
        tones = [tone.semitones for tone in rising_tones(quality, form)]
        narrowest = layouts([tone - tones[0] for tone in tones], gaps, 12)[0].span
        for root in free_roots(quality):
            try:
                shape = FINDER.find(Chord(root, quality), form, parse_strings(strings))
            except NotPlayableError:
                continue
            assert shape.highest_fret - shape.lowest_fret == narrowest


# ---- grips


@pytest.mark.parametrize(("voicing", "voice"), [("drop2", 2), ("drop3", 3)])
@pytest.mark.parametrize(
    "quality", [quality for quality in shipped_qualities() if len(quality.intervals) == 4], ids=str
)
def test_a_drop_chord_is_a_close_chord_with_one_voice_down(voicing, voice, quality):
    """Its bass raised an octave, a drop chord is close: within an octave, that note second or third from the top."""
    for inversion in range(4):
        tones = [tone.semitones for tone in voicing_tones(quality, Form("grip", voicing=voicing, inversion=inversion))]
        assert tones == sorted(tones) and tones[0] == quality.semitones[inversion]
        close = sorted([*tones[1:], tones[0] + 12])
        assert close[-1] - close[0] < 12
        assert close[-voice] == tones[0] + 12
        assert sorted(tone % 12 for tone in tones) == list(quality.semitones)


# Order of voices from the bass up (common practice; the name of an inversion is its bass).
@pytest.mark.parametrize(
    ("voicing", "orders"),
    [("drop2", ["1 5 7 3", "3 7 1 5", "5 1 3 7", "7 3 5 1"]), ("drop3", ["1 7 3 5", "3 1 5 7", "5 3 7 1", "7 5 1 3"])],
)
def test_drop_chords_stack_in_the_known_orders(voicing, orders):
    """Drop 2 stacks R 5 7 3 and drop 3 R 7 3 5, and so on for each bass note."""
    for inversion, order in enumerate(orders):
        form = Form("grip", voicing=voicing, inversion=inversion)
        assert [tone.simple.degree for tone in voicing_tones(parse_chord("Cmaj7").quality, form)] == order.split()


def test_shells_hold_root_third_and_seventh():
    """A shell is R 7 3, C(6/8) Bb(4/8) E(3/9), or R 3 7, C(5/3) E(4/2) Bb(3/3), the root lowest (rule B3)."""
    assert written(find("C7", "643", Form("grip", voicing="shell"))) == "C(6/8) Bb(4/8) E(3/9)"
    assert written(find("C7", "543", Form("grip", voicing="shell", inversion=1))) == "C(5/3) E(4/2) Bb(3/3)"


# ---- signatures: what is the same movable form


@pytest.mark.parametrize("quality", list(shipped_qualities()), ids=str)
def test_sets_tuned_alike_share_one_form(quality):
    """6-5-4 and 5-4-3 share a form, 4-3-2 has its own; in all fourths every set shares one (rules, section C)."""
    fourths = ShapeFinder(Neck(read_tunings()["fourths"].tuning))
    roots = {"654": "C", "543": "F", "432": "Bb", "321": "Eb"}
    usual, alike = {}, set()
    for on, root in roots.items():
        chord = Chord(Note.parse(root), quality)
        usual[on] = FINDER.find(chord, ARPEGGIO, parse_strings(on)).signature
        alike.add(fourths.at(chord, ARPEGGIO, parse_strings(on), 8).signature)
    assert usual["654"] == usual["543"] != usual["432"]
    assert alike == {usual["654"]}


@given(own.qualities(), st.sampled_from(CORE), st.integers(0, 11), st.integers(0, 11))
def test_a_form_keeps_its_signature_in_every_key(quality, strings, one, other):
    """Moved to another root a form keeps its signature, and its frets move together."""
    roots = free_roots(quality)
    try:
        first = FINDER.find(Chord(roots[one], quality), ARPEGGIO, parse_strings(strings))
        second = FINDER.find(Chord(roots[other], quality), ARPEGGIO, parse_strings(strings))
    except NotPlayableError:
        return
    assert first.signature == second.signature
    moved = second.frets[0] - first.frets[0]
    assert second.frets == tuple(fret + moved for fret in first.frets)


@given(own.qualities(), st.sampled_from(CORE), st.integers(0, 11))
def test_different_forms_have_different_signatures(quality, strings, pitch_class):
    """Another direction, another start or another ending is another form."""
    chord = Chord(free_roots(quality)[pitch_class], quality)
    forms = [ARPEGGIO, Form(down=True), Form(closed=False), Form(start=1), Form(start=2)]
    found = []
    for form in forms:
        try:
            found.append(FINDER.find(chord, form, parse_strings(strings)).signature)
        except NotPlayableError as error:
            assert str(error)
    assert len(set(found)) == len(found)


def test_three_sets_of_one_key_reduce_to_eight_forms():
    """The seven chords of a key on three sets make eight forms, four of them on 4-3-2 (rules, section G)."""
    neck = Neck(top_fret=17)
    finder = ShapeFinder(neck)
    forms = {
        on: {finder.find(chord, ARPEGGIO, parse_strings(on)).signature for chord in parse_key("C").chords()}
        for on in CORE
    }
    assert [len(forms[on]) for on in CORE] == [4, 4, 4]
    assert len(set().union(*forms.values())) == 8


# ---- rules, section G, and C5 to C7 (frets computed there)


@pytest.mark.parametrize(
    ("chord", "strings", "expected"),
    [
        ("Cmaj7", "654", "C(6/8) E(5/7) G(5/10) B(4/9) C(4/10)"),
        ("F#m7", "543", "F#(5/9) A(5/12) C#(4/11) E(3/9) F#(3/11)"),
        ("Bbmaj7", "432", "Bb(4/8) D(3/7) F(3/10) A(2/10) Bb(2/11)"),
        ("C7", "654", "C(6/8) E(5/7) G(5/10) Bb(4/8) C(4/10)"),
        ("F7", "543", "F(5/8) A(4/7) C(4/10) Eb(3/8) F(3/10)"),
        ("Bb7", "432", "Bb(4/8) D(3/7) F(3/10) Ab(2/9) Bb(2/11)"),
        ("G#m7", "654", "G#(6/4) B(6/7) D#(5/6) F#(4/4) G#(4/6)"),
        ("Cbmaj7", "543", "Cb(5/2) Eb(4/1) Gb(4/4) Bb(3/3) Cb(3/4)"),
        ("Am7b5", "432", "A(4/7) C(4/10) Eb(3/8) G(2/8) A(2/10)"),
        ("Cdim7", "432", "C(4/10) Eb(4/13) Gb(3/11) Bbb(2/10) C(2/13)"),
        ("Cdim7", "654", "C(6/8) Eb(6/11) Gb(5/9) Bbb(4/7) C(4/10)"),
        ("Fmaj7", "654", "F(6/1) A(5/0) C(5/3) E(4/2) F(4/3)"),
        ("Emaj7", "654", "E(6/12) G#(5/11) B(5/14) D#(4/13) E(4/14)"),
        ("C6", "654", "C(6/8) E(5/7) G(5/10) A(4/7) C(4/10)"),
        ("C#m7", "432", "C#(4/11) E(4/14) G#(3/13) B(2/12) C#(2/14)"),
        ("Dm7", "543", "D(5/5) F(5/8) A(4/7) C(3/5) D(3/7)"),
        ("Cmaj7", "321", "C(3/5) E(2/5) G(2/8) B(1/7) C(1/8)"),
        ("Bm7b5", "432", "B(4/9) D(4/12) F(3/10) A(2/10) B(2/12)"),
    ],
)
def test_cards_of_the_rules(chord, strings, expected):
    """The cards of the rules' checks lie where it says, spelled as it says (rules B4, C3 and G)."""
    assert written(find(chord, strings)) == expected


@pytest.mark.parametrize("strings", [*CORE, "321"])
def test_the_root_is_lowest(strings):
    """A root-position arpeggio has its root as lowest note, on the lowest string of its set (rules, section G)."""
    seen = 0
    for quality in shipped_qualities():
        for root in free_roots(quality):
            try:
                shape = FINDER.find(Chord(root, quality), ARPEGGIO, parse_strings(strings))
            except NotPlayableError:
                continue
            lowest = min(shape.notes, key=lambda note: note.pitch.midi)
            assert (lowest.degree, lowest.string, lowest) == ("1", int(strings[0]), shape.root)
            seen += 1
    assert seen > 180


def test_chord_arpeggio_and_mode_in_one_place():
    """From Dm7 on 5-4-3 the grip and D Dorian lie at the same frets, the arpeggio inside the mode (rule G15)."""
    arpeggio = find("Dm7", "543")
    mode = mode_over(FINDER, arpeggio, "Dorian")
    assert written(grip_inside(FINDER, arpeggio)) == "D(5/5) A(4/7) C(3/5) F(2/6)"
    assert written(mode) == "D(5/5) E(5/7) F(5/8) G(4/5) A(4/7) B(3/4) C(3/5) D(3/7)"
    assert set(written(arpeggio).split()) <= set(written(mode).split())


@pytest.mark.parametrize("strings", CORE)
def test_the_usual_mode_is_laid_over_every_arpeggio(strings):
    """Wherever the usual mode fits over an arpeggio it rises from the same root and keeps every note's place."""
    seen = 0
    for quality in shipped_qualities():
        for root in free_roots(quality):
            try:
                arpeggio = FINDER.find(Chord(root, quality), ARPEGGIO, parse_strings(strings))
            except NotPlayableError:
                continue
            mode = mode_over(FINDER, arpeggio)
            if mode is None:
                continue
            sounding = [note.pitch.midi for note in mode.notes]
            assert sounding == sorted(sounding) and mode.notes[0].pitch == arpeggio.notes[0].pitch
            assert [note.pitch.note for note in mode.notes[:-1]] == list(_spelled(mode, quality, root))
            assert set(written(arpeggio).split()) <= set(written(mode).split())
            seen += 1
    assert seen > 180


def _spelled(shape, quality, root):
    """The mode's notes, a chord tone keeping the chord's spelling."""
    tones = {interval.semitones: interval for interval in quality.intervals}
    for interval in modes()[shape.form.mode].intervals:
        yield transpose_note(root, tones.get(interval.semitones, interval))


def test_the_classic_mistake_is_never_shown():
    """Frets 9 and 10 of string 2 are never given as 7th and octave of Bbmaj7 on 4-3-2 (rules C3 and G)."""
    shape = find("Bbmaj7", "432")
    assert [(note.degree, note.fret, note.pitch.note.name) for note in shape.notes if note.string == 2] == [
        ("7", 10, "A"),
        ("8", 11, "Bb"),
    ]


@pytest.mark.parametrize(
    ("tuning", "chord", "strings", "expected"),
    [
        ("D2 A2 D3 G3 B3 E4", "Cmaj7", "654", "C(6/10) E(5/7) G(5/10) B(4/9) C(4/10)"),
        ("D2 A2 D3 G3 B3 E4", "Cm7", "654", "C(6/10) Eb(6/13) G(5/10) Bb(5/13) C(4/10)"),
        ("E2 A2 D3 G3 C4 F4", "Bbmaj7", "432", "Bb(4/8) D(3/7) F(3/10) A(2/9) Bb(2/10)"),
        ("B1 E2 A2 D3 G3 B3 E4", "Cm7", "765", "C(7/1) Eb(7/4) G(6/3) Bb(5/1) C(5/3)"),
        ("A1 E2 A2 D3 G3 B3 E4", "Cmaj7", "765", "C(7/3) E(6/0) G(6/3) B(5/2) C(5/3)"),
        ("E1 A1 D2 G2", "Cmaj7", "432", "C(4/8) E(3/7) G(3/10) B(2/9) C(2/10)"),
        ("G3 C4 E4 A4", "Cm7", "432", "C(4/5) Eb(4/8) G(3/7) Bb(2/6) C(2/8)"),
    ],
)
def test_other_tunings(tuning, chord, strings, expected):
    """In other tunings shapes lie where the pitches are, never where a guitar's would (rules C7 and G)."""
    assert written(find(chord, strings, finder=ShapeFinder(Neck(parse_tuning(tuning))))) == expected


def test_mandolin():
    """On a mandolin's fifths, Cmaj7 on 4-3-2 is C(4/5) E(3/2) G(3/5) B(2/2) C(2/3) (rule C7)."""
    row = read_tunings()["mandolin"]
    finder = ShapeFinder(Neck(row.tuning, scale_mm=row.scale_mm))
    assert written(find("Cmaj7", "432", finder=finder)) == "C(4/5) E(3/2) G(3/5) B(2/2) C(2/3)"


def test_a_reentrant_set_is_refused_with_the_reason():
    """A re-entrant ukulele's root-on-4 arpeggios are refused, and the reason names the strings (rules, section G)."""
    finder = ShapeFinder(Neck(read_tunings()["ukulele"].tuning))
    with pytest.raises(NotPlayableError, match=r"string 4 .* is not below string 3 .* cannot cross"):
        find("C7", "432", finder=finder)
    assert find("C7", "321", finder=finder).notes[0].string == 3


# Frets needed above and below the root (rule C5).
NEEDED = {
    "maj7": (-1, 2), "7": (-1, 2), "6": (-1, 2), "7sus4": (0, 2), "m7": (0, 3), "m7b5": (0, 3), "dim7": (-1, 3),
    "mMaj7": (0, 3), "m6": (-1, 3), "7#5": (-1, 3),
}  # fmt: skip
NEEDED_432 = {**dict.fromkeys(NEEDED, (0, 3)), **dict.fromkeys(("maj7", "7", "6", "7#5"), (-1, 3))}


@pytest.mark.parametrize("strings", CORE)
def test_frets_needed_around_the_root(strings):
    """Each quality needs the frets below and above its root that rule C5 lists."""
    for name, (low, high) in (NEEDED_432 if strings == "432" else NEEDED).items():
        quality = shipped_qualities().named(name)
        for root in free_roots(quality):
            try:
                shape = FINDER.find(Chord(root, quality), ARPEGGIO, parse_strings(strings))
            except NotPlayableError as error:
                assert "needs fret" in str(error)
                continue
            assert (shape.lowest_fret - shape.frets[0], shape.highest_fret - shape.frets[0]) == (low, high)


def test_which_roots_at_fret_one_use_an_open_string():
    """At fret 1, maj7, 7 and 6 use an open string on every set; m7, m7b5 and mMaj7 stay closed (rule C5)."""
    for strings, root in zip(CORE, ("F", "Bb", "Eb"), strict=True):
        for name in ("maj7", "7", "6"):
            assert 0 in find(root + name, strings).frets
        for name in ("m7", "m7b5", "mMaj7"):
            assert 0 not in find(root + name, strings).frets
        for name in ("dim7", "m6"):
            assert (0 in find(root + name, strings).frets) == (strings != "432")


def test_the_key_goes_up_one_set():
    """G on 6-5-4, C on 5-4-3 and F on 4-3-2 rise through frets 3 5 7 8 10 12 14; or the vii at 2 (rules, section G)."""
    high = ShapeFinder(Neck(top_fret=17))
    for strings, key in zip(CORE, ("G", "C", "F"), strict=True):
        chords = parse_key(key).chords()
        rising = [
            high.at(chord, ARPEGGIO, parse_strings(strings), fret)
            for chord, fret in zip(chords, (3, 5, 7, 8, 10, 12, 14), strict=True)
        ]
        assert [shape.chord for shape in rising] == list(chords)
        assert rising[-1].highest_fret == 17
        assert [FINDER.find(chord, ARPEGGIO, parse_strings(strings)).frets[0] for chord in chords[:3]] == [3, 5, 7]
        assert FINDER.find(chords[6], ARPEGGIO, parse_strings(strings)).frets[0] == 2


# ---- settings and refusals


def test_a_capo_moves_the_shape_and_the_sound():
    """With a capo at 3, a shape keeps its frets from the capo and sounds a minor third higher."""
    bare, capo = ShapeFinder(Neck()), ShapeFinder(Neck(capo=3))
    one, two = find("Cmaj7", "654", finder=bare), find("Ebmaj7", "654", finder=capo)
    assert two.frets == one.frets and two.fingers == one.fingers
    assert [b.pitch.midi - a.pitch.midi for a, b in zip(one.notes, two.notes, strict=True)] == [3] * 5


@pytest.mark.parametrize(
    ("chord", "strings", "form", "neck", "told"),
    [
        ("Emaj7", "654", "arpeggio", Neck(top_fret=12), "Emaj7 on 6-5-4 needs fret 14; the top fret is 12"),
        ("F#maj7", "654", "arpeggio", Neck(capo=4), "the top fret is 11 from the capo"),
        ("C", "654", "arpeggio-from7", Neck(), "maj has 3 notes: there is no 7th to start on"),
        ("C", "5432", "grip-drop2", Neck(), "a drop 2 grip, root in the bass needs a chord of 4 notes; maj has 3"),
        ("Cmaj7", "543", "grip-drop2", Neck(), "needs 4 strings, got 5-4-3"),
        ("Cmaj7", "765", "arpeggio", Neck(), "string 7: this tuning has strings 6 to 1"),
        ("C7", "654", "scale-ionian", Neck(), "Ionian does not contain the b7 of 7"),
        ("Cmaj7", "654321", "arpeggio", Neck(), "maj7 has too few notes for the strings 6-5-4-3-2-1"),
        ("Cmaj7", "6", "arpeggio", Neck(), "lie too far apart"),
        ("Cmaj7", "621", "arpeggio", Neck(), "lie too far apart"),
        ("Cmaj7", "654", "arpeggio", Neck(root_frets=(1, 3)), "no C on string 6 at frets 1 to 3"),
        ("Cmaj7", "5432", "grip-drop2-inv1", Neck(reach_limit_mm=60), "is beyond the reach limit of 60 mm"),
    ],
)  # fmt: skip
def test_what_does_not_fit_is_refused_with_the_reason(chord, strings, form, neck, told):
    """A shape that the neck, the strings or the hand cannot have is refused in one line that says why."""
    with pytest.raises(NotPlayableError) as refusal:
        find(chord, strings, parse_form(form), ShapeFinder(neck))
    assert told in str(refusal.value)
    assert str(refusal.value).isprintable()


@given(own.qualities(), st.integers(0, 11), st.sampled_from(CORE), st.integers(0, 15))
def test_at_a_fret_means_there_or_not_at_all(quality, pitch_class, strings, fret):
    """Asked for a shape at a fret, its first note lies there, or it is refused."""
    chord = Chord(free_roots(quality)[pitch_class], quality)
    try:
        shape = FINDER.at(chord, ARPEGGIO, parse_strings(strings), fret)
    except NotPlayableError as error:
        assert str(error).isprintable()
    else:
        assert shape.frets[0] == fret and shape.notes[0].pitch.note == chord.root


def test_finding_twice_is_finding_once():
    """The same question gives the same answer, from one finder or another, in any order of asking."""
    chords = [Chord(root, quality) for quality in list(shipped_qualities())[:14] for root in free_roots(quality)]
    one, two = ShapeFinder(Neck(top_fret=22)), ShapeFinder(Neck(top_fret=22))
    forward = [one.find(chord, ARPEGGIO, parse_strings("654")) for chord in chords]
    for chord in chords[::7]:
        two.alternates(chord, ARPEGGIO, parse_strings("654"))
    backward = [two.find(chord, ARPEGGIO, parse_strings("654")) for chord in chords[::-1]]
    assert forward == backward[::-1]


FORMS = [
    *(
        Form(start=start, octaves=octaves, closed=closed, down=down)
        for start in range(4)
        for octaves in (1, 2)
        for closed in (True, False)
        for down in (True, False)
    ),
    *(Form("scale", octaves=octaves, mode=mode) for octaves in (1, 2) for mode in modes()),
    *(Form("scale", start, mode="minor pentatonic", per_string=2) for start in range(5)),
    Form("scale", 4, mode="major pentatonic", per_string=2, down=True),
    *(Form("scale", mode=mode, per_string=3) for mode in modes() if len(modes()[mode].intervals) >= 7),
    *(Form("grip", voicing=voicing, inversion=inversion) for voicing in ("drop2", "drop3") for inversion in range(4)),
    *(Form("grip", voicing="close", inversion=inversion) for inversion in range(3)),
    *(Form("grip", voicing="shell", inversion=inversion) for inversion in range(2)),
]


@pytest.mark.parametrize("form", FORMS, ids=str)
def test_a_form_reads_back_from_its_id(form):
    """A form's id, which stands in card ids for years, reads back to the form and has a title in words."""
    assert parse_form(form.id) == form == parse_form(f" {form.id.upper()} ")
    assert form.title and "/" not in form.id and " " not in form.id


def test_form_ids_are_all_different():
    """No two forms share an id or a title."""
    assert len({form.id for form in FORMS}) == len(FORMS) == len({form.title for form in FORMS})
