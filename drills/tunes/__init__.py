"""Tunes: a page of changes, the key of every chord, and the path of roots through them."""
