"""What was read from a log is saved beside it, so that a long log is not read again. Deleting it costs only time."""
