"""The set-up sheet: what stands on it, block by block."""
