"""From raw materials by mass to what is left in the kiln: oxides, loss on ignition, the unity (Seger) formula.

Pure: no input or output but the reading of its own data files, nothing of the layers above or beside, the standard
library only. Compositions are the plain records of the catalogue or of a materials.yaml, amounts are Decimal.

Where figures are rounded: formula units are counted exactly; every division or multiplication after that is
done in Decimal with ``elements.DIGITS`` significant figures. From the recipe to the unity formula no binary float
is used, so the figures are the same on every machine; ``steps`` rounds to what is printed, and says so. The
estimates (``additive``, ``expansion``, ``softening``) are calculated in float, for their factors are known to two or
three figures only.

Import the module that is meant (``glost.chemistry.melt``); nothing is gathered here.
"""
