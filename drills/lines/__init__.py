"""Lines over changes: the value, the searches that make them, the checkers, and how they are shown and sounded."""
