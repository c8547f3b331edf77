"""Acts on players and what they wear; one transaction each."""
