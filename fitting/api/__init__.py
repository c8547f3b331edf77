"""The part of the API that knows players."""
