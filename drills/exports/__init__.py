"""The log written out for people and programs: CSV, JSON, Markdown and HTML, whole or a part of it."""
