"""Clubs' own files: text to a table, headings to a kind of file, cells to values, and every fault by its place."""
