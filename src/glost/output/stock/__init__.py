"""The stock of a collection: for people, as a table, for programs."""
