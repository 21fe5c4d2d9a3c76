"""What the chords of a page do: keys, functions and modes, and the paths of roots through them."""
