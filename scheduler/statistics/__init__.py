"""What can honestly be counted in reviews, and what a count is compatible with."""
