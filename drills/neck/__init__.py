"""The instrument: tuning, strings, frets and their distances. Nothing here knows a chord."""
