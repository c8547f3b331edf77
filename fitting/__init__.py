"""Players, what they wear, and the gate in use."""
