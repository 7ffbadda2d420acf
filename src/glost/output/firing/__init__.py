"""A firing as people and programs read it: its schedule worked out, its tiles; and a page for one to come."""
