"""The tests: a package of its own, since a test oracle brings along one of the same name."""
