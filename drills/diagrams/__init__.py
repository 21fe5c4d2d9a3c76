"""Draws a shape or says it. Every drawing starts from one grid value, so that screen and paper agree."""
