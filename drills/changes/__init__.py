"""Changes are the chords of a tune by bars. This package reads them and takes parts of them."""
