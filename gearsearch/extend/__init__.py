"""Which gears to add to the box, which to spare, and a set from nothing."""
