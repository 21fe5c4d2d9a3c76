"""A teacher's students, from the files they sent: one sheet for all, one page for each."""
