"""The same fired oxides out of other materials: when one runs out, or a supplier's analysis has changed. Pure: text and
data out of data, no file is touched."""
