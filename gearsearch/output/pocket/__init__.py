"""The pocket chart: leads and trains in one HTML file that looks them up by itself, for the tablet at the machine."""
