"""Questions about players and what they wear."""
