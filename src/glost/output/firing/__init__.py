"""A firing as people and programs read it: its schedule worked out, its tiles; and a page to fill in for one to come."""
