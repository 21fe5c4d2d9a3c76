"""Decks and cards: what is asked, how it is called out, and which skills it needs."""
