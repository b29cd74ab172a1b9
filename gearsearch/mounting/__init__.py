"""Will a train go on: the judge of arrangements, where studs stand, and why not."""
