"""What to do when too much went in."""
