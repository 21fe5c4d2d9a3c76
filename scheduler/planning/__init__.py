"""Which card to play now, under which rules, and why."""
