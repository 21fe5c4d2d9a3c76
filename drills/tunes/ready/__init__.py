"""How ready a tune is, now and by a date: what is known of its chords and joints, and what the days to come add."""
