"""Spelled pitch, interval, quality, chord symbol, key and mode: music on paper, no instrument."""
