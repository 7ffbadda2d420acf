"""Checking: rules, the engine that runs them, mends, and the forms in which findings are reported."""
