"""A collection as one table: a row for every recipe and each of its tests."""
