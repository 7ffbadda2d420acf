"""Recipes in other forms: batch sheets, pages, tables, data. Text in, text out; nothing here reads or writes
files."""
