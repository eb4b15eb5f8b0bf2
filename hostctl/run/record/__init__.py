"""What is kept of a run as it goes, and read again when it is taken up."""
