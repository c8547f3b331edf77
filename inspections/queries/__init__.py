"""Questions asked of checklists and inspections."""
