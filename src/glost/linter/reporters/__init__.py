"""The forms in which findings are reported: one module a form, each a function from findings to text."""
