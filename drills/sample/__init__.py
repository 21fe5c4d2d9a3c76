"""A blind sample: a random draw from what is thought firm, and what it says of the whole."""
