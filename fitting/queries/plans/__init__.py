"""What a plan is made from, and how it is shown."""
