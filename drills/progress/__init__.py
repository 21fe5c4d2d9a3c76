"""The player's progress in the words of the neck: by string set, quality and root."""
