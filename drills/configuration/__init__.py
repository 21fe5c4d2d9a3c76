"""What a player has set, where a player's files are, and the tables that ship with the tool."""
