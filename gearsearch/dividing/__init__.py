"""Spacing the work: index circles, differential trains, stepped ramps, starts by the teeth of a gear."""
