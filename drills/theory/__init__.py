"""The theory of music without an instrument: spelled pitch, interval, quality, chord symbol, key and mode."""
