"""Looking gear over: checklists, inspections, and the demo. Knows fitting and gearlife."""
