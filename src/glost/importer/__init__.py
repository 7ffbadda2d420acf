"""Old notes made into recipes: plain text and tables as people keep them. Text in, pages and remarks out."""
