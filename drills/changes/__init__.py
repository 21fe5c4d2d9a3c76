"""Changes are the chords of a tune by bars. This package reads them, writes them, and takes parts of them."""
