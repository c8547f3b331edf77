"""The pages of gear: what is stopped, due, and recorded of each item."""
