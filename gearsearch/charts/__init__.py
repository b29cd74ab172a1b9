"""Lead charts: every lead, a list of leads, a grid of diameters and angles; and saved charts read back."""
