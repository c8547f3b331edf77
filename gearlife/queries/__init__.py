"""Questions asked of the database."""
