"""The kinds of prompt, each in a module of its own."""
