"""A tune to practise: its cards and joints, its stages, and how ready it will be by a date."""
