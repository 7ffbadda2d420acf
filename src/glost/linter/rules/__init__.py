"""One module a rule. A new file here is a new rule; nothing else is touched."""
