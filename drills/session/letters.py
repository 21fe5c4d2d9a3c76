"""Block letters, drawn here as pictures, so that a prompt can be read from 1.5 m away."""

from __future__ import annotations

__all__ = ["HEIGHT", "big"]

HEIGHT = 5

_PICTURES = """
A .##. #..# #### #..# #..#
B ###. #..# ###. #..# ###.
C .### #... #... #... .###
D ###. #..# #..# #..# ###.
E #### #... ###. #... ####
F #### #... ###. #... #...
G .### #... #.## #..# .###
I ### .#. .#. .#. ###
V #...# #...# #...# .#.#. ..#..
R ###. #..# ###. #.#. #..#
L #... #... #... #... ####
M #...# ##.## #.#.# #...# #...#
P ###. #..# ###. #... #...
a .... .##. #..# #..# .###
b #... ###. #..# #..# ###.
c .... .### #... #... .###
d ...# .### #..# #..# .###
e .##. #..# #### #... .##.
f .## #.. ### #.. #..
g .### #..# .### ...# ###.
h #... ###. #..# #..# #..#
i # . # # #
j ..# ... ..# #.# .#.
k #..# #.#. ##.. #.#. #..#
l # # # # #
m ..... ##.#. #.#.# #.#.# #.#.#
n .... ###. #..# #..# #..#
o .... .##. #..# #..# .##.
p .... ###. #..# ###. #...
q .... .### #..# .### ...#
r ... #.# ##. #.. #..
s .... .### ##.. ..## ###.
t .#. ### .#. .#. .##
u .... #..# #..# #..# .###
v ..... #...# #...# .#.#. ..#..
w ..... #...# #.#.# #.#.# .#.#.
x .... #..# .##. .##. #..#
y .... #..# .### ...# ###.
0 .##. #..# #..# #..# .##.
1 .#. ##. .#. .#. ###
2 ###. ...# .##. #... ####
3 ###. ...# .##. ...# ###.
4 #..# #..# #### ...# ...#
5 #### #... ###. ...# ###.
6 .##. #... ###. #..# .##.
7 #### ...# ..#. .#.. .#..
8 .##. #..# .##. #..# .##.
9 .##. #..# .### ...# .##.
# .#.#. ##### .#.#. ##### .#.#.
- ... ... ### ... ...
+ ... .#. ### .#. ...
/ ...# ..#. ..#. .#.. #...
( .# #. #. #. .#
) #. .# .# .# #.
"""


def _parse(pictures: str) -> dict[str, tuple[str, ...]]:
    """Letters by character; every picture must have HEIGHT rows of one width."""
    letters = {" ": ("..",) * HEIGHT}
    for line in pictures.strip().splitlines():
        character, *rows = line.split()
        if len(rows) != HEIGHT or len({len(row) for row in rows}) != 1:
            raise ValueError(f"letter {character!r}: expected {HEIGHT} rows of one width, got {rows}")
        letters[character] = tuple(rows)
    return letters


_LETTERS = _parse(_PICTURES)


def _row(dots: str, block: str, across: int) -> str:
    return "".join((block if dot == "#" else " ") * across for dot in dots)


def big(text: str, width: int, block: str = "█", tall: int = 1) -> list[str] | None:
    """The text in block letters, or None when it is too wide or holds a character that is not drawn.

    width: columns available. tall: rows for each dot. A dot is two columns for every row,
    which looks square; at one row it shrinks to one column when there is no room.
    """
    if not all(character in _LETTERS for character in text):
        return None
    for across in (2 * tall,) if tall > 1 else (2, 1):
        rows = [
            (" " * across).join(_row(_LETTERS[character][row // tall], block, across) for character in text)
            for row in range(HEIGHT * tall)
        ]
        if max(len(row) for row in rows) <= width:
            return rows
    return None
