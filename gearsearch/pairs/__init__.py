"""Two helical gears that must mesh."""
