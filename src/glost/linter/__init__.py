"""Checking: rules, the engine that runs them, fixes, and the forms in which findings are reported."""
