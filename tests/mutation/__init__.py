"""Mutants of single lines, drawn by seed, and whether the tests notice them: a script, run by name."""
