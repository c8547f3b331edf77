"""The HTTP API: parse, obtain, one call into queries or operations, render."""
