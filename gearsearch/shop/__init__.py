"""The shop as it stands: machine, routes, gears, quadrant and dividing head, and the file they are read from."""
