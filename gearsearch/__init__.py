"""gearsearch: the best change-gear train for a lead, from the gears the shop owns."""

__version__ = "0.1.0"
