"""What changed between two recipes, in meaning: compared, told, merged, and followed through their history."""
