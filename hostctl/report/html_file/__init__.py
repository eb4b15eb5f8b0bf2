"""A document as one HTML file that needs nothing else."""
