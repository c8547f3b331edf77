"""The API of checklists and inspections."""
