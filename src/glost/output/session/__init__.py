"""Many cups at one go."""
