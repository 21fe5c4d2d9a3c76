"""State saved beside a log, so that a long log need not be read again. Deleting it costs only time."""
