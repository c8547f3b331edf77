"""Pure rules of looking gear over: grades, depths, outcomes."""
