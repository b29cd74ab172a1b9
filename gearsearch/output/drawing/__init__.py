"""Pictures and pages, on the drawing library."""
