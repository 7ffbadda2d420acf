"""Hazard statements, which of them call for a handling note, and the usual cautions.

These are the usual cautions and nothing more: local codes, the supplier's safety data sheet and licensed
practice come first.
"""
