"""From parts by mass to what is weighed out: masses, balances, rounding, the plan of one batch.

Pure: no input or output, nothing of the layers above, the standard library only. All masses are grams.
Import the module that is meant (``glost.weighing.batch``); nothing is gathered here, so that a command that
only reads a mass does not load the rest.
"""
