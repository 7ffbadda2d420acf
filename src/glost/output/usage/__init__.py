"""What was used: for people, as a table, for programs."""
