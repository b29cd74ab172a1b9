"""What the part needs: the wanted lead and where it comes from, its tolerance, and what an error does to the part."""
