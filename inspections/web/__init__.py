"""The pages of inspections: the weekly check."""
