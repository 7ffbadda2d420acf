"""Everything in the checkout that is written by a program, and the programs: ``python -m tests.generate``."""
