"""Arpeggios, scales and grips on the neck, found by search, with fingerings chosen by cost."""
