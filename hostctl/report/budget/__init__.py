"""What adds up to the uncertainty of a reading: result and document."""
