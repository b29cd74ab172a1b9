"""The engine: every train of a set of gears; the nearest for a lead, and one train checked."""
