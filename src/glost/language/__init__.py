"""Text to tree and back: source, grammar, tree, accidents, layout. Knows nothing of what a recipe means."""
