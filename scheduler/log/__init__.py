"""The log: events, what they add up to, the file that holds them, and files for other programs."""
