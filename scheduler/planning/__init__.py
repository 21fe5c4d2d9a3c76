"""Planning says which card to play now, under which rules, and why."""
