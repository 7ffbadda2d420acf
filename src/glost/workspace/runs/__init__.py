"""Many recipes at once, on every core where that pays: checked, laid out, converted, gathered into one table."""
