"""A page of changes as a value: read from text and lead sheets, written again, taken in part."""
