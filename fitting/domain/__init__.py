"""Pure rules of fitting: players, measurements, who wears what."""
