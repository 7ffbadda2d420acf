"""What a page means: a recipe, its variations and series, and the tests they stand for."""
