"""Pages to print: handouts with their blanks and keys, booklets, empty paper, and packs with sound."""
