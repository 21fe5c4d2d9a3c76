"""The music of neckwork: theory, neck, shapes, cards, diagrams, sound, paper and the session."""

__version__ = "0.1.0"
