"""What the dry materials of tests cost: for people, as a table, for programs."""
