"""Where a lot went: for people, as a table, for programs."""
