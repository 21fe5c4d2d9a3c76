"""A shape as a picture or a sentence: one grid value behind every drawing, so that screen and paper agree."""
