"""What an editor shows while a page is written: findings, fixes, layout, completion, names and amounts.

Every module but server.py turns text into records with spans and knows nothing of an editor; server.py speaks the
Language Server Protocol with it. Nothing here starts a program or writes a file: edits are handed to the editor.
"""
