"""Runs the command line: ``python -m drills.cli``."""

from drills.cli import main

main()
