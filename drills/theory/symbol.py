"""Reads chord symbols as musicians write them. An error names the first character that is not understood."""

from __future__ import annotations

import re

from drills.errors import SymbolError
from drills.theory.chord import Chord
from drills.theory.note import LETTERS, Note, plain_accidentals
from drills.theory.quality import Quality, QualityTable, normal_symbol, odd_bracket, shipped_qualities

__all__ = ["parse_chord"]

_LONGEST = 40
"""No symbol is longer; it bounds the work and what a message repeats."""

_TENSION = r"add(?:[b#]?(?:9|11|13)|2|4)|(?:b9|#9|#11|b13|9|11|13)|/9"
_EXTENDED = (
    r"(?P<stem>|maj|major|M|ma|Δ|m|-|min|mi|minor|mMaj|mM|-Δ|-M|-maj|minMaj|minmaj|mmaj|mΔ|dom|ø|\+|aug|dim|o)"
    r"(?P<number>9|11|13)(?P<rest>.*)"
)
_WORDS = r"(?i)major|minor|maj|min|half-?diminished|half-?dim|diminished|dim|augmented|aug|sus|dom|alt|add|ma|mi"
# Kept as text: compiling them costs a start of the tool more than reading most symbols, which need none.
_STACKED = {"9": ("9",), "11": ("9", "11"), "13": ("9", "13")}
# Most players drop the 11th of a 13th chord (common practice), so 13 stacks 9 and 13 only.


def parse_chord(text: str, table: QualityTable | None = None, *, reduce: bool = False) -> Chord:
    """The chord a symbol names: ``C``, ``F#m7``, ``B♭Δ7``, ``c#-7``, ``C7/E``.

    table: qualities to accept, the shipped ones by default.
    reduce: also accept extended and altered chords, reduced to their seventh
        chord with the rest kept as tensions (C13 to C7, G7alt to G7).

    Raises SymbolError with the place of the first character not understood
    and the nearest accepted symbols.
    """
    table = table or shipped_qualities()
    if len(text) > _LONGEST:
        raise SymbolError(
            f"chord {_quoted(text)}: expected at most {_LONGEST} characters, got {len(text):,}; "
            "write one chord, such as Cmaj7",
            text,
            _LONGEST,
            ("Cmaj7",),
        )
    symbol = plain_accidentals(text)
    start = len(symbol) - len(symbol.lstrip(" "))
    symbol = symbol.rstrip(" ")
    match = re.compile(r"([A-Ga-g])(b{1,3}|#{1,3}|)").match(symbol, start)
    if match is None or text[start : start + 1] not in tuple("ABCDEFGabcdefg"):
        raise _refusal(text, start, "a root A to G", _near_roots(symbol[start:]))
    root = Note(LETTERS.index(match[1].upper()), match[2].count("#") - match[2].count("b"))
    suffix, slash, bass_text = _split_bass(symbol[match.end() :])
    quality, tensions = _read_suffix(suffix, table, reduce)
    if quality is None:
        raise _unknown_suffix(text, symbol, match.end(), root, suffix, table, reduce)
    bass = None
    if slash:
        # The pattern matches at least nothing, so that there always is a match; mypy cannot know.
        read = re.match(r" *([A-Ga-g](?:b{1,3}|#{1,3}|)|) *", bass_text)
        name, read_to = (read[1], read.end()) if read is not None else ("", 0)
        if not name or read_to < len(bass_text):
            place = _typed_place(text, len(symbol) - len(bass_text) + read_to)
            expected = "nothing after the bass note" if name else "a bass note after the /"
            raise _refusal(text, place, expected, _near_bass(Chord(root, quality)))
        bass = Note.parse(name)
    return Chord(root, quality, bass, tensions)


def _near_bass(chord: Chord) -> tuple[str, ...]:
    """The chord over its third, or over the root when that needs more accidentals than can be typed."""
    plain = (note for note in (chord.notes[1], chord.root) if abs(note.alter) <= 3)
    return tuple(f"{chord.name}/{note}" for note in plain)[:1]


def _split_bass(rest: str) -> tuple[str, str, str]:
    # The / of 6/9 belongs to the quality.
    cut = rest.rfind("/")
    if cut < 0 or re.match(r"/ ?9", rest[cut:]):
        return rest, "", ""
    return rest[:cut], "/", rest[cut + 1 :]


def _read_suffix(suffix: str, table: QualityTable, reduce: bool) -> tuple[Quality | None, tuple[str, ...]]:
    if odd_bracket(suffix) is not None:
        return None, ()
    for normal in _cases(suffix):
        if quality := table.with_symbol(normal):
            return quality, ()
    if reduce:
        for normal in _cases(suffix):
            quality, tensions = _reduced(normal, table)
            if quality is not None:
                return quality, tensions
    return None, ()


def _cases(suffix: str) -> tuple[str, ...]:
    """The normal forms of a suffix to try: as typed, then with words in lower case, then with minor-major restored.

    M and m alone differ, so only words of two letters and more are folded (CMAJ7, CMi7).
    """
    normal = normal_symbol(suffix)
    folded = re.sub(_WORDS, lambda word: word[0].lower(), normal)
    return normal, folded, re.sub(r"(?<=m|n|o|i)maj", "Maj", folded)


def _reduced(normal: str, table: QualityTable) -> tuple[Quality | None, tuple[str, ...]]:
    """The seventh chord inside an extended or altered symbol, and the tensions left over."""
    tensions: list[str] = []
    if normal.endswith("alt") and normal[:-3] in ("7", ""):
        return table.with_symbol("7"), ("b9", "#9", "#11", "b13")
    normal = re.sub(r"^sus4?(?=9|13)", "7sus", normal)
    match = re.fullmatch(_EXTENDED, normal)
    if match:
        tensions.extend(_STACKED[match["number"]])
        normal = f"{match['stem']}7{match['rest']}"
    rest: list[str] = []
    place = 0
    base = re.match(r"(?:(?!add)[^0-9])*(?:6|7|)(?:sus[24]?|[b#+-]5)*", normal)
    stem = base[0] if base else ""
    place = len(stem)
    # A stem may have swallowed the accidental of its first tension: C7b9 is 7 then b9.
    while stem and stem[-1] in "b#" and not table.with_symbol(stem):
        stem, place = stem[:-1], place - 1
    while place < len(normal):
        if normal[place] in ",":
            place += 1
            continue
        tension = re.compile(_TENSION).match(normal, place)
        if tension is None:
            fifth_or_sus = re.compile(r"sus4?|[b#+-]5").match(normal, place)
            if fifth_or_sus is None:
                return None, ()
            rest.append(fifth_or_sus[0].replace("+5", "#5").replace("-5", "b5"))
            place = fifth_or_sus.end()
            continue
        label = tension[0].removeprefix("add").lstrip("/")
        tensions.append({"2": "9", "4": "11"}.get(label, label))
        place = tension.end()
    quality = table.with_symbol(stem + "".join(rest))
    if quality is None and stem == "":
        return None, ()
    return quality, tuple(dict.fromkeys(tensions))


def _quoted(text: str) -> str:
    """The text as a message may repeat it: short, control characters escaped."""
    return repr(text if len(text) <= 24 else text[:24] + "...")


def _refusal(text: str, position: int, expected: str, near: tuple[str, ...]) -> SymbolError:
    came = f"got {text[position]!r}" if position < len(text) else "the text ends there"
    hint = f"; did you mean {' or '.join(near)}?" if near else ""
    return SymbolError(
        f"chord {_quoted(text)}, character {position + 1}: expected {expected}, {came}{hint}", text, position, near
    )


def _near_roots(rest: str) -> tuple[str, ...]:
    # In German notation H is B natural: the one foreign letter with a plain answer (common practice).
    if rest[:1] in ("H", "h"):
        return ("B" + rest[1:],) if rest[1:] in shipped_qualities().symbols else ("B",)
    return ("C", "Cmaj7", "Cm7")


def _unknown_suffix(
    text: str, symbol: str, start: int, root: Note, suffix: str, table: QualityTable, reduce: bool
) -> SymbolError:
    from difflib import get_close_matches  # only a wrong symbol pays for it

    folded = _cases(suffix)[1]
    understood = next(
        length
        for length in range(len(suffix), -1, -1)
        if any(known.startswith(head) for head in set(_cases(suffix[:length])) for known in table.symbols)
        or (reduce and _reduced(normal_symbol(suffix[:length]), table)[0])
    )
    bracket = odd_bracket(suffix)
    if bracket is not None:
        understood = min(understood, bracket)
    reduced, _ = _reduced(folded, table)
    near: list[str] = [reduced.symbol] if reduced else []
    if not reduced and understood == 0:  # junk right after the root: what follows it may be whole (Cjunk7)
        tails = (table.with_symbol(folded[place:]) for place in range(1, len(folded)))
        near = [quality.symbol for quality in tails if quality][:1]
    for known in get_close_matches(folded, [s for s in table.symbols if s], n=6, cutoff=0.3):
        meant = table.with_symbol(known)
        if meant is not None and meant.symbol not in near:
            near.append(meant.symbol)
    if not near:
        near = ["", "maj7", "m7"]
    # The place is counted in what was typed: accidental signs of two plain characters shift it.
    position = min(_typed_place(text, start + understood), len(text))
    return _refusal(text, position, "a chord quality", tuple(f"{root}{shown}" for shown in near[:3]))


def _typed_place(text: str, plain_place: int) -> int:
    plain = 0
    for index, character in enumerate(text):
        if plain >= plain_place:
            return index
        plain += len(plain_accidentals(character))
    return len(text)
